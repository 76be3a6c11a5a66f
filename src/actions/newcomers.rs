//! New people: a guest or junior whom a member answers for, somebody invited by link; and what each needs before
//! borrowing: an induction.

use crate::actions::links::{INVITE_DAYS, make_link};
use crate::actions::membership::{Kept, PersonRefusal, answering, done_for};
use crate::actions::set_up::plain_name;
use crate::actions::{By, log, once};
use crate::club::induction::{self, Shower, Shown};
use crate::club::membership::{self, MembershipRefusal};
use crate::club::people::Roles;
use crate::ids;
use crate::store::inductions::{self, Record};
use crate::store::links::Kind;
use crate::store::people::{self, Person};
use crate::store::{Db, Tx, standings};
use serde::Serialize;
use uuid::Uuid;

fn new_person(by: &By, name: String, roles: Roles, responsible_id: Option<Uuid>) -> Person {
    Person {
        id: ids::new_id(),
        name: Some(name),
        sign_in: None,
        password_hash: None,
        table_code_hash: None,
        is_member: roles.is_member,
        is_quartermaster: roles.is_quartermaster,
        is_organiser: roles.is_organiser,
        responsible_id,
        created_ms: by.at,
        deactivated_ms: None,
        erased_ms: None,
    }
}

async fn add(tx: &mut Tx, by: &By, verb: &str, person: &Person) -> Result<(), PersonRefusal> {
    people::add(tx, person).await?;
    let change = (&(), &Kept::from(person));
    log(tx, by, verb, ("person", person.id), change).await?;
    once::keep(tx, by, &person.id.to_string()).await?;
    Ok(())
}

/// Somebody without a sign-in, for whom `responsible` answers.
pub async fn add_guest(
    db: &Db,
    by: &By,
    name: &str,
    responsible: Option<Uuid>,
) -> Result<Uuid, PersonRefusal> {
    let mut tx = db.write().await?;
    if let Some(id) = done_for(&mut tx, by).await? {
        return Ok(id);
    }
    if !by.actor.roles.is_quartermaster {
        return Err(MembershipRefusal::QuartermastersOnly.into());
    }
    let name = plain_name(name).ok_or(PersonRefusal::Name)?;
    let answering = answering(&mut tx, responsible)
        .await?
        .ok_or(MembershipRefusal::NobodyAnswers)?;
    membership::may_answer(&answering)?;
    let guest = new_person(by, name, Roles::default(), responsible);
    add(&mut tx, by, "added a guest", &guest).await?;
    tx.save().await?;
    Ok(guest.id)
}

/// Somebody who chooses a sign-in by the link that `token` makes, within a week.
pub async fn invite(
    db: &Db,
    by: &By,
    name: &str,
    roles: Roles,
    token: &str,
) -> Result<Uuid, PersonRefusal> {
    let mut tx = db.write().await?;
    if let Some(id) = done_for(&mut tx, by).await? {
        return Ok(id);
    }
    membership::may_invite(&by.actor, roles)?;
    let name = plain_name(name).ok_or(PersonRefusal::Name)?;
    let person = new_person(by, name, roles, None);
    add(&mut tx, by, "invited", &person).await?;
    let ends = by.at.plus_days(INVITE_DAYS);
    make_link(&mut tx, by, Kind::Invite, person.id, (token, ends)).await?;
    tx.save().await?;
    Ok(person.id)
}

#[derive(Serialize)]
struct KeptShown {
    shown_by: Uuid,
    shown_on: String,
    ends_on: Option<String>,
}

/// Notes that `shown_by` showed the person safe charging and handling.
pub async fn note_induction(
    db: &Db,
    by: &By,
    person_id: Uuid,
    shown_by: Uuid,
    shown: Shown,
) -> Result<Uuid, PersonRefusal> {
    let mut tx = db.write().await?;
    if let Some(id) = done_for(&mut tx, by).await? {
        return Ok(id);
    }
    if !by.actor.roles.is_quartermaster {
        return Err(MembershipRefusal::QuartermastersOnly.into());
    }
    let person = standings::of(&mut tx, person_id)
        .await?
        .ok_or(PersonRefusal::Nobody)?;
    if !person.is_active {
        return Err(MembershipRefusal::Deactivated.into());
    }
    let shower = shower(&mut tx, shown_by).await?;
    induction::may_note(person_id, shower, shown, by.zone.day_of(by.at))?;
    let record = Record {
        id: ids::new_id(),
        person_id,
        shown_by,
        shown,
        noted_ms: by.at,
    };
    inductions::add(&mut tx, &record).await?;
    let kept = KeptShown {
        shown_by,
        shown_on: shown.on.to_string(),
        ends_on: shown.ends_on.map(|day| day.to_string()),
    };
    log(
        &mut tx,
        by,
        "noted an induction",
        ("person", person_id),
        (&(), &kept),
    )
    .await?;
    once::finish(tx, by, &person_id.to_string()).await?;
    Ok(person_id)
}

async fn shower(tx: &mut Tx, id: Uuid) -> Result<Shower, PersonRefusal> {
    let standing = standings::of(tx, id)
        .await?
        .ok_or(induction::InductionRefusal::NoShower)?;
    Ok(Shower {
        id,
        is_active: standing.is_active,
        has_role: !standing.roles.is_none(),
        is_only_quartermaster: standing.roles.is_quartermaster && standing.quartermasters <= 1,
    })
}

//! Roles, deactivating, reactivating and erasing. Deactivating ends a person's sessions and links at once; erasing takes
//! name and ways in and leaves the ids that history is told by.

use crate::actions::book::erasing;
use crate::actions::once::{self, Repeat};
use crate::actions::{By, erase_reports, log, remind};
use crate::bench::form::{Against, Refusal};
use crate::club::induction::InductionRefusal;
use crate::club::membership::{self, MembershipRefusal, Standing};
use crate::club::people::Roles;
use crate::store::people::{self, Person};
use crate::store::{Conn, Db, StoreError, Tx, calendars, links, sessions, standings, tokens};
use serde::Serialize;
use uuid::Uuid;

#[derive(Debug, thiserror::Error)]
pub enum PersonRefusal {
    #[error("There is no such person, or they were erased.")]
    Nobody,
    #[error("Give a name of up to 80 characters.")]
    Name,
    #[error(transparent)]
    Rule(#[from] MembershipRefusal),
    #[error(transparent)]
    Induction(#[from] InductionRefusal),
    #[error("The page was too old. Open it again and start afresh.")]
    StalePage,
    #[error(transparent)]
    Repeat(Repeat),
    #[error(transparent)]
    Store(#[from] StoreError),
}

impl Refusal for PersonRefusal {
    fn against(&self) -> Against {
        match self {
            Self::Rule(rule) => rule.against(),
            _ => Against::Typed,
        }
    }
}

impl PersonRefusal {
    /// The field it belongs to.
    pub const fn field(&self) -> &'static str {
        match self {
            Self::Rule(MembershipRefusal::NobodyAnswers | MembershipRefusal::CannotAnswer) => {
                "responsible"
            }
            Self::Rule(_) => "roles",
            Self::Induction(InductionRefusal::NoShower | InductionRefusal::BySelf) => "shown_by",
            Self::Induction(InductionRefusal::Ahead) => "shown_on",
            Self::Induction(InductionRefusal::EndsFirst) => "ends_on",
            _ => "name",
        }
    }
}

/// What the log keeps of a person: ids and flags, never names.
#[derive(Serialize)]
pub(super) struct Kept {
    roles: String,
    responsible_id: Option<Uuid>,
    has_sign_in: bool,
    is_active: bool,
    is_erased: bool,
}

impl From<&Person> for Kept {
    fn from(person: &Person) -> Self {
        Self {
            roles: person.roles().words(),
            responsible_id: person.responsible_id,
            has_sign_in: person.sign_in.is_some(),
            is_active: person.is_active(),
            is_erased: person.erased_ms.is_some(),
        }
    }
}

/// Whom this form was carried out for already, if it was sent before.
pub(super) async fn done_for(tx: &mut Tx, by: &By) -> Result<Option<Uuid>, PersonRefusal> {
    match once::check(tx, by).await? {
        None => Ok(None),
        Some(Repeat::Done(answer)) => {
            let id = answer.parse().map_err(|_| PersonRefusal::StalePage)?;
            Ok(Some(id))
        }
        Some(other) => Err(PersonRefusal::Repeat(other)),
    }
}

/// The person and how they stand; erased people are nobody.
pub(super) async fn load(conn: &mut Conn, id: Uuid) -> Result<(Person, Standing), PersonRefusal> {
    let person = people::by_id(conn, id)
        .await?
        .filter(|person| person.erased_ms.is_none());
    let standing = standings::of(conn, id).await?;
    person.zip(standing).ok_or(PersonRefusal::Nobody)
}

/// How whoever is to answer for somebody stands; None when nobody is to.
pub(super) async fn answering(
    conn: &mut Conn,
    id: Option<Uuid>,
) -> Result<Option<Standing>, PersonRefusal> {
    let Some(id) = id else { return Ok(None) };
    let found = standings::of(conn, id).await?;
    found
        .map(Some)
        .ok_or(PersonRefusal::Rule(MembershipRefusal::CannotAnswer))
}

/// Stores the changed person with an entry, and keeps the form's answer.
async fn store(
    mut tx: Tx,
    by: &By,
    verb: &str,
    change: (&Person, &Person),
) -> Result<Uuid, PersonRefusal> {
    let (before, after) = change;
    people::save(&mut tx, after).await?;
    let kept = (&Kept::from(before), &Kept::from(after));
    log(&mut tx, by, verb, ("person", after.id), kept).await?;
    once::finish(tx, by, &after.id.to_string()).await?;
    Ok(after.id)
}

/// Roles, and who answers for them. A new organiser's earlier links stop working: others have seen them.
pub async fn set_roles(
    db: &Db,
    by: &By,
    id: Uuid,
    roles: Roles,
    responsible: Option<Uuid>,
) -> Result<Uuid, PersonRefusal> {
    let mut tx = db.write().await?;
    if let Some(id) = done_for(&mut tx, by).await? {
        return Ok(id);
    }
    let (before, standing) = load(&mut tx, id).await?;
    let answering = answering(&mut tx, responsible).await?;
    membership::may_set_roles(&by.actor, &standing, roles, answering.as_ref())?;
    let mut after = before.clone();
    after.is_member = roles.is_member;
    after.is_quartermaster = roles.is_quartermaster;
    after.is_organiser = roles.is_organiser;
    after.responsible_id = responsible;
    if roles.is_organiser && !before.is_organiser {
        links::drop_all(&mut tx, id).await?;
    }
    store(tx, by, "changed the roles", (&before, &after)).await
}

pub async fn deactivate(db: &Db, by: &By, id: Uuid) -> Result<Uuid, PersonRefusal> {
    let mut tx = db.write().await?;
    if let Some(id) = done_for(&mut tx, by).await? {
        return Ok(id);
    }
    let (before, standing) = load(&mut tx, id).await?;
    membership::may_deactivate(&by.actor, &standing)?;
    let after = Person {
        deactivated_ms: Some(by.at),
        ..before.clone()
    };
    shut_out(&mut tx, id).await?;
    store(tx, by, "deactivated", (&before, &after)).await
}

pub async fn reactivate(db: &Db, by: &By, id: Uuid) -> Result<Uuid, PersonRefusal> {
    let mut tx = db.write().await?;
    if let Some(id) = done_for(&mut tx, by).await? {
        return Ok(id);
    }
    let (before, standing) = load(&mut tx, id).await?;
    let answering = answering(&mut tx, before.responsible_id).await?;
    membership::may_reactivate(&by.actor, &standing, answering.as_ref())?;
    let after = Person {
        deactivated_ms: None,
        ..before.clone()
    };
    store(tx, by, "reactivated", (&before, &after)).await
}

/// Name, sign-in, password, code and roles go, what their tokens were called, and what names
/// them in reports and in the incident book. Loans, readings and inductions keep the id.
pub async fn erase(db: &Db, by: &By, id: Uuid) -> Result<Uuid, PersonRefusal> {
    let mut tx = db.write().await?;
    if let Some(id) = done_for(&mut tx, by).await? {
        return Ok(id);
    }
    let (before, standing) = load(&mut tx, id).await?;
    membership::may_erase(&by.actor, &standing)?;
    let after = Person {
        id,
        name: None,
        sign_in: None,
        password_hash: None,
        table_code_hash: None,
        is_member: false,
        is_quartermaster: false,
        is_organiser: false,
        responsible_id: None,
        created_ms: before.created_ms,
        deactivated_ms: before.deactivated_ms.or(Some(by.at)),
        erased_ms: Some(by.at),
    };
    shut_out(&mut tx, id).await?;
    tokens::forget_names(&mut tx, id).await?;
    remind::forget(&mut tx, id).await?;
    erasing::erase(&mut tx, by, &before).await?;
    erase_reports::of_person(&mut tx, by, &before).await?;
    store(tx, by, "erased", (&before, &after)).await
}

async fn shut_out(tx: &mut Tx, id: Uuid) -> Result<(), StoreError> {
    sessions::end_all(tx, id, None).await?;
    tokens::end_all(tx, id).await?;
    calendars::end(tx, id).await?;
    links::drop_all(tx, id).await
}

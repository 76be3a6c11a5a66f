//! The shared tablet at the table: a quartermaster makes a browser the table's own, people change over on it with a code,
//! and it ends when the quartermaster says so. A session there idles out after five minutes.

use crate::actions::passwords::Hasher;
use crate::actions::set_up::plain_name;
use crate::actions::{By, log};
use crate::club::calendar::Instant;
use crate::ids;
use crate::store::people::{self, Person};
use crate::store::sessions::{self, Session};
use crate::store::tablets::{self, InUse, Tablet};
use crate::store::{Db, StoreError};
use uuid::Uuid;

/// A person walks away without a word; five minutes later nobody stands in for them. Four hours: one evening.
const IDLE_MINUTES: i64 = 5;
const LONGEST_HOURS: i64 = 4;

#[derive(Debug, thiserror::Error)]
pub enum TabletRefusal {
    #[error("Give the tablet a name, like “Table by the door”.")]
    Name,
    #[error(
        "That is not the code. A new one is set on your own page, signed in with your password."
    )]
    WrongCode,
    #[error("You are signed out here already. Sign in again to make this a tablet.")]
    SignedOut,
    #[error("There is no such tablet in use.")]
    NotInUse,
    #[error(transparent)]
    Store(#[from] StoreError),
}

/// Makes the asking browser the table's tablet; the quartermaster's own session on it ends, so that it is nobody's.
/// A form sent twice opens one tablet: the session it came from can end once only.
pub async fn open_tablet(
    db: &Db,
    by: &By,
    name: &str,
    session_id: Uuid,
) -> Result<String, TabletRefusal> {
    let name = plain_name(name).ok_or(TabletRefusal::Name)?;
    let token = ids::new_token();
    let tablet = Tablet {
        id: ids::new_id(),
        name,
        token_hash: ids::digest(&token),
        opened_by: by.actor.id,
        opened_ms: by.at,
    };
    let mut tx = db.write().await?;
    tablets::open(&mut tx, &tablet).await?;
    if !sessions::end(&mut tx, session_id, by.actor.id).await? {
        return Err(TabletRefusal::SignedOut);
    }
    log(
        &mut tx,
        by,
        "opened a shared tablet",
        ("tablet", tablet.id),
        (&(), &()),
    )
    .await?;
    tx.save().await?;
    Ok(token)
}

/// Sent twice, the second finds it ended.
pub async fn end_tablet(db: &Db, by: &By, id: Uuid) -> Result<(), TabletRefusal> {
    let mut tx = db.write().await?;
    if !tablets::end(&mut tx, id, by.at).await? {
        return Err(TabletRefusal::NotInUse);
    }
    log(
        &mut tx,
        by,
        "ended a shared tablet",
        ("tablet", id),
        (&(), &()),
    )
    .await?;
    Ok(tx.save().await?)
}

fn may_sit_down(person: &Person) -> bool {
    person.is_active() && (person.is_member || person.is_quartermaster)
}

/// Begins a session on the tablet for whoever knows the code, ending the one that was there; gives its token. Sent
/// twice, one session is left.
pub async fn change_over(
    db: &Db,
    hasher: &Hasher,
    tablet: &InUse,
    typed: (Uuid, &str),
    at: Instant,
) -> Result<String, TabletRefusal> {
    let (person_id, code) = typed;
    let code: String = code.chars().filter(|c| !c.is_whitespace()).collect();
    let person = people::by_id(&mut db.read().await?, person_id)
        .await?
        .filter(may_sit_down);
    let hash = person.and_then(|person| person.table_code_hash);
    if !hasher.verify(&code, hash).await {
        return Err(TabletRefusal::WrongCode);
    }
    let token = ids::new_token();
    let session = Session {
        id: ids::new_id(),
        token_hash: ids::digest(&token),
        person_id,
        tablet_id: Some(tablet.id),
        device: format!("shared tablet: {}", tablet.name),
        created_ms: at,
        seen_ms: at,
        idle_minutes: IDLE_MINUTES,
        ends_ms: at.plus_hours(LONGEST_HOURS),
    };
    let mut tx = db.write().await?;
    sessions::end_on_tablet(&mut tx, tablet.id).await?;
    sessions::begin(&mut tx, &session).await?;
    tx.save().await?;
    Ok(token)
}

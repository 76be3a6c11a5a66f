//! In and out: a session begins with the right password and ends when the person, or the clock, says so.

use crate::actions::passwords::Hasher;
use crate::actions::set_up::plain_sign_in;
use crate::club::calendar::Instant;
use crate::ids;
use crate::store::people;
use crate::store::sessions::{self, Session};
use crate::store::{Db, StoreError};
use uuid::Uuid;

/// Two weeks untouched, ninety days in all.
const IDLE_MINUTES: i64 = 14 * 24 * 60;
const LONGEST_DAYS: i64 = 90;

#[derive(Debug, thiserror::Error)]
pub enum SignInRefusal {
    #[error("Sign-in or password is wrong. A quartermaster can make you a new link.")]
    Wrong,
    #[error(transparent)]
    Store(#[from] StoreError),
}

/// The new session's token. Known and unknown names take the same time and get the same answer.
pub async fn sign_in(
    db: &Db,
    hasher: &Hasher,
    typed: (&str, &str),
    device: &str,
    at: Instant,
) -> Result<String, SignInRefusal> {
    let (name, password) = typed;
    let person = match plain_sign_in(name) {
        Some(plain) => people::by_sign_in(&mut db.read().await?, &plain).await?,
        None => None,
    };
    let hash = person
        .as_ref()
        .filter(|person| person.is_active())
        .and_then(|person| person.password_hash.clone());
    if !hasher.verify(password, hash.clone()).await {
        return Err(SignInRefusal::Wrong);
    }
    let Some(person) = person else {
        return Err(SignInRefusal::Wrong);
    };
    strengthen(db, hasher, person.id, hash, password).await?;
    Ok(begin_session(db, person.id, device, at).await?)
}

/// Makes the stored hash anew when today's costs are higher than those it was made with; whatever changed meanwhile stays.
async fn strengthen(
    db: &Db,
    hasher: &Hasher,
    person_id: Uuid,
    hash: Option<String>,
    password: &str,
) -> Result<(), StoreError> {
    if !hash.as_ref().is_some_and(|hash| hasher.is_weak(hash)) {
        return Ok(());
    }
    let stronger = hasher.hash(password).await;
    let mut tx = db.write().await?;
    let Some(mut person) = people::by_id(&mut tx, person_id).await? else {
        return Ok(());
    };
    if stronger.is_none() || person.password_hash != hash {
        return Ok(());
    }
    person.password_hash = stronger;
    people::save(&mut tx, &person).await?;
    tx.save().await
}

/// A form sent twice begins two sessions of one person, as two devices would: the register is not touched, each ends by
/// itself, and both stand on the person's own page.
pub async fn begin_session(
    db: &Db,
    person_id: Uuid,
    device: &str,
    at: Instant,
) -> Result<String, StoreError> {
    let token = ids::new_token();
    let session = Session {
        id: ids::new_id(),
        token_hash: ids::digest(&token),
        person_id,
        tablet_id: None,
        device: device.chars().take(120).collect(),
        created_ms: at,
        seen_ms: at,
        idle_minutes: IDLE_MINUTES,
        ends_ms: at.plus_days(LONGEST_DAYS),
    };
    let mut tx = db.write().await?;
    sessions::begin(&mut tx, &session).await?;
    tx.save().await?;
    Ok(token)
}

pub async fn sign_out(db: &Db, session_id: Uuid, person_id: Uuid) -> Result<(), StoreError> {
    let mut tx = db.write().await?;
    sessions::end(&mut tx, session_id, person_id).await?;
    tx.save().await
}

//! What people change about themselves: name, password, the code for the table, their sessions. A new way in is only
//! given to whoever knows the password; it ends the sessions begun before. Forms that carry a password keep no one-time
//! key: its record would hold a quick digest of the password. They say 'done' when what they ask for is so already.

use crate::actions::once::{self, Repeat};
use crate::actions::passwords::{Hasher, hashed};
use crate::actions::set_up::plain_name;
use crate::actions::{By, log};
use crate::club::passwords::{self, PasswordRefusal};
use crate::club::table_code::{self, CodeRefusal};
use crate::store::people::{self, Person};
use crate::store::{Db, StoreError, Tx, sessions};
use uuid::Uuid;

#[derive(Debug, thiserror::Error)]
pub enum ProfileRefusal {
    #[error("Give your name, up to 80 characters.")]
    Name,
    #[error("That is not your password.")]
    WrongPassword,
    #[error("{0}")]
    Password(#[from] PasswordRefusal),
    #[error("{0}")]
    Code(#[from] CodeRefusal),
    #[error("You are not in the list any more.")]
    Gone,
    #[error("It was changed on another page meanwhile. Try again.")]
    Meanwhile,
    #[error(transparent)]
    Repeat(#[from] Repeat),
    #[error(transparent)]
    Store(#[from] StoreError),
}

/// The person as they stand inside the transaction: a hash took time to make, and they may have gone meanwhile.
async fn myself(tx: &mut Tx, by: &By) -> Result<Person, ProfileRefusal> {
    people::by_id(tx, by.actor.id)
        .await?
        .filter(Person::is_active)
        .ok_or(ProfileRefusal::Gone)
}

async fn keep(mut tx: Tx, by: &By, verb: &str, person: &Person) -> Result<(), ProfileRefusal> {
    people::save(&mut tx, person).await?;
    log(&mut tx, by, verb, ("person", person.id), (&(), &())).await?;
    Ok(tx.save().await?)
}

/// Where the page of one's own tells of it.
const RENAMED: &str = "/me?done=name";

pub async fn rename(db: &Db, by: &By, name: &str) -> Result<(), ProfileRefusal> {
    let name = plain_name(name).ok_or(ProfileRefusal::Name)?;
    let mut tx = once::begin::<ProfileRefusal>(db, by).await?;
    let mut person = myself(&mut tx, by).await?;
    person.name = Some(name);
    once::keep(&mut tx, by, RENAMED).await?;
    keep(tx, by, "changed their name", &person).await
}

/// The person, if `password` is theirs. Hashing happens outside any transaction.
async fn prove(
    db: &Db,
    hasher: &Hasher,
    by: &By,
    password: &str,
) -> Result<Person, ProfileRefusal> {
    let person = people::by_id(&mut db.read().await?, by.actor.id)
        .await?
        .filter(Person::is_active)
        .ok_or(ProfileRefusal::Gone)?;
    if hasher.verify(password, person.password_hash.clone()).await {
        Ok(person)
    } else {
        Err(ProfileRefusal::WrongPassword)
    }
}

/// `passwords`: the old and the new one. All other sessions end; `session_id` is the one that stays. Sent again, the
/// new one is the password already: it was done.
pub async fn change_password(
    db: &Db,
    hasher: &Hasher,
    by: &By,
    passwords: (&str, &str),
    session_id: Uuid,
) -> Result<(), ProfileRefusal> {
    let (old, new) = passwords;
    let person = match prove(db, hasher, by, old).await {
        Err(ProfileRefusal::WrongPassword) => {
            return is_password_already(db, hasher, by, new).await;
        }
        other => other?,
    };
    let sign_in = person.sign_in.as_deref().unwrap_or_default();
    passwords::check(new, &[&by.club.name, person.called(), sign_in])?;
    let hash = hashed(hasher, new).await?;
    let mut tx = db.write().await?;
    let mut now = myself(&mut tx, by).await?;
    if now.password_hash != person.password_hash {
        drop(tx);
        return is_password_already(db, hasher, by, new).await;
    }
    now.password_hash = hash;
    sessions::end_all(&mut tx, now.id, Some(session_id)).await?;
    keep(tx, by, "changed the password", &now).await
}

async fn is_password_already(
    db: &Db,
    hasher: &Hasher,
    by: &By,
    new: &str,
) -> Result<(), ProfileRefusal> {
    prove(db, hasher, by, new).await.map(|_| ())
}

/// A code for the table's tablet; `code` empty takes it away. Sent again it changes nothing: that is the code already.
pub async fn set_table_code(
    db: &Db,
    hasher: &Hasher,
    by: &By,
    password: &str,
    code: &str,
) -> Result<(), ProfileRefusal> {
    let wanted = match code.trim() {
        "" => None,
        code => Some(table_code::check(code)?),
    };
    let before = prove(db, hasher, by, password).await?.table_code_hash;
    let is_so_already = match (&wanted, &before) {
        (Some(code), Some(hash)) => hasher.verify(code, Some(hash.clone())).await,
        (wanted, before) => wanted.is_none() && before.is_none(),
    };
    if is_so_already {
        return Ok(());
    }
    let hash = match &wanted {
        Some(code) => hashed(hasher, code).await?,
        None => None,
    };
    let mut tx = db.write().await?;
    let mut person = myself(&mut tx, by).await?;
    if person.table_code_hash != before {
        return Err(ProfileRefusal::Meanwhile);
    }
    person.table_code_hash = hash;
    sessions::end_at_tablets(&mut tx, person.id).await?;
    keep(tx, by, "changed the table code", &person).await
}

/// Ending what has ended changes nothing, however often it is sent; the same holds for all others.
pub async fn end_session(db: &Db, by: &By, session_id: Uuid) -> Result<(), ProfileRefusal> {
    let mut tx = db.write().await?;
    sessions::end(&mut tx, session_id, by.actor.id).await?;
    Ok(tx.save().await?)
}

pub async fn end_other_sessions(db: &Db, by: &By, keep: Uuid) -> Result<(), ProfileRefusal> {
    let mut tx = db.write().await?;
    sessions::end_all(&mut tx, by.actor.id, Some(keep)).await?;
    Ok(tx.save().await?)
}

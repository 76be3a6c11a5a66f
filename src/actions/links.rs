//! Links that let somebody in once: an invitation for a week, a reset for an hour. The token is drawn when the form is
//! shown and comes back with it, so that a form sent twice shows the same link; only its hash is kept.

use crate::actions::membership::{PersonRefusal, done_for, load};
use crate::actions::passwords::{Hasher, hashed};
use crate::actions::set_up::plain_sign_in;
use crate::actions::{By, log, once};
use crate::club::calendar::Instant;
use crate::club::membership;
use crate::club::passwords::{self, PasswordRefusal};
use crate::ids;
use crate::store::links::{self, Kind, Link, Open};
use crate::store::log::{self as entries, Entry};
use crate::store::{Db, StoreError, Tx, calendars, club, people, sessions, tokens};
use uuid::Uuid;

pub const INVITE_DAYS: i64 = 7;
pub const RESET_HOURS: i64 = 1;

#[derive(Debug, thiserror::Error)]
pub enum LinkRefusal {
    /// Alike for unknown, used and too old.
    #[error("This link does not work: it was used, is too old, or was mistyped.")]
    Gone,
    #[error("Choose a sign-in of 2 to 80 characters without spaces; a mail address will do.")]
    SignIn,
    #[error("That sign-in is taken. Choose another.")]
    Taken,
    #[error("{0}")]
    Password(#[from] PasswordRefusal),
    #[error(transparent)]
    Store(#[from] StoreError),
}

impl LinkRefusal {
    pub const fn field(&self) -> &'static str {
        match self {
            Self::Password(_) => "password",
            _ => "sign_in",
        }
    }
}

/// `link`: the token, and the instant it ends.
pub(super) async fn make_link(
    tx: &mut Tx,
    by: &By,
    kind: Kind,
    person_id: Uuid,
    link: (&str, Instant),
) -> Result<(), PersonRefusal> {
    let (token, ends_ms) = link;
    if !ids::is_token(token) {
        return Err(PersonRefusal::StalePage);
    }
    let link = Link {
        id: ids::new_id(),
        token_hash: ids::digest(token),
        kind,
        person_id,
        made_by: by.actor.id,
        made_ms: by.at,
        ends_ms,
    };
    Ok(links::make(tx, &link).await?)
}

/// A new link for somebody who is in the list already: an invitation while they never signed in, else a reset.
pub async fn renew_link(
    db: &Db,
    by: &By,
    id: Uuid,
    token: &str,
) -> Result<(Uuid, Kind), PersonRefusal> {
    let mut tx = db.write().await?;
    let is_done = done_for(&mut tx, by).await?.is_some();
    let (person, standing) = load(&mut tx, id).await?;
    let kind = if person.password_hash.is_some() {
        Kind::Reset
    } else {
        Kind::Invite
    };
    if is_done {
        return Ok((id, kind));
    }
    let ends = match kind {
        Kind::Reset => {
            membership::may_reset(&by.actor, &standing)?;
            by.at.plus_hours(RESET_HOURS)
        }
        Kind::Invite => {
            membership::may_invite_again(&by.actor, &standing)?;
            by.at.plus_days(INVITE_DAYS)
        }
    };
    make_link(&mut tx, by, kind, id, (token, ends)).await?;
    let verb = match kind {
        Kind::Reset => "made a reset link",
        Kind::Invite => "made an invitation link",
    };
    log(&mut tx, by, verb, ("person", id), (&(), &())).await?;
    once::finish(tx, by, &id.to_string()).await?;
    Ok((id, kind))
}

#[derive(Debug, thiserror::Error)]
pub enum LetInRefusal {
    #[error(
        "there is no club in this database yet; its first page asks for the set-up code that the server prints."
    )]
    NoClub,
    #[error("nobody signs in as “{0}” here.")]
    Unknown(String),
    #[error("{0} is deactivated; a quartermaster or organiser lets them back in on their page.")]
    Deactivated(String),
    #[error("{0}")]
    Store(#[from] StoreError),
}

/// A reset for whoever forgot the password when nobody is left to make one: asked for at the console, by whoever holds
/// the database. The log says so, by nobody. Gives back the token; it works as long as any reset.
pub async fn let_in(db: &Db, sign_in: &str, at: Instant) -> Result<String, LetInRefusal> {
    let unknown = || LetInRefusal::Unknown(sign_in.trim().to_owned());
    let plain = plain_sign_in(sign_in).ok_or_else(unknown)?;
    let mut tx = db.write().await?;
    if club::read(&mut tx).await?.is_none() {
        return Err(LetInRefusal::NoClub);
    }
    let person = people::by_sign_in(&mut tx, &plain)
        .await?
        .filter(|person| person.erased_ms.is_none())
        .ok_or_else(unknown)?;
    if !person.is_active() {
        return Err(LetInRefusal::Deactivated(plain));
    }
    let token = ids::new_token();
    let link = Link {
        id: ids::new_id(),
        token_hash: ids::digest(&token),
        kind: Kind::Reset,
        person_id: person.id,
        // A link is somebody's; the log says who really asked for it.
        made_by: person.id,
        made_ms: at,
        ends_ms: at.plus_hours(RESET_HOURS),
    };
    links::make(&mut tx, &link).await?;
    let entry = Entry {
        at,
        by: None,
        by_token: None,
        verb: "made a reset link at the console",
        subject: "person",
        subject_id: person.id,
        before: "null".to_owned(),
        after: "null".to_owned(),
    };
    entries::add(&mut tx, &entry).await?;
    tx.save().await?;
    Ok(token)
}

/// Whose link the token is, while it works.
pub async fn look_up(
    db: &Db,
    kind: Kind,
    token: &str,
    at: Instant,
) -> Result<Option<Open>, StoreError> {
    links::open(&mut db.read().await?, kind, &ids::digest(token), at).await
}

pub struct Chosen<'a> {
    pub sign_in: &'a str,
    pub password: &'a str,
    pub club_name: &'a str,
}

/// Uses an invitation up, so that sending it twice has one effect: the person has a sign-in and a password from now on.
pub async fn join(
    db: &Db,
    hasher: &Hasher,
    token: &str,
    chosen: Chosen<'_>,
    at: Instant,
) -> Result<Uuid, LinkRefusal> {
    let link = look_up(db, Kind::Invite, token, at)
        .await?
        .ok_or(LinkRefusal::Gone)?;
    let sign_in = plain_sign_in(chosen.sign_in).ok_or(LinkRefusal::SignIn)?;
    let names = [chosen.club_name, link.person_name.as_str(), &sign_in];
    passwords::check(chosen.password, &names)?;
    if people::by_sign_in(&mut db.read().await?, &sign_in)
        .await?
        .is_some()
    {
        return Err(LinkRefusal::Taken);
    }
    let hash = hashed(hasher, chosen.password).await?;
    use_link(db, &link, at, "joined", |person| {
        person.sign_in = Some(sign_in);
        person.password_hash = hash;
    })
    .await
    .map_err(|refusal| match refusal {
        LinkRefusal::Store(StoreError::Conflict) => LinkRefusal::Taken,
        other => other,
    })
}

/// Uses a reset up: a new password, and every session begun with the old one ends, and every token.
pub async fn reset(
    db: &Db,
    hasher: &Hasher,
    token: &str,
    chosen: Chosen<'_>,
    at: Instant,
) -> Result<Uuid, LinkRefusal> {
    let link = look_up(db, Kind::Reset, token, at)
        .await?
        .ok_or(LinkRefusal::Gone)?;
    let sign_in = link.sign_in.as_deref().unwrap_or_default();
    let names = [chosen.club_name, link.person_name.as_str(), sign_in];
    passwords::check(chosen.password, &names)?;
    let hash = hashed(hasher, chosen.password).await?;
    use_link(db, &link, at, "reset the password", |person| {
        person.password_hash = hash;
        person.table_code_hash = None;
    })
    .await
}

async fn use_link(
    db: &Db,
    link: &Open,
    at: Instant,
    verb: &str,
    change: impl FnOnce(&mut people::Person),
) -> Result<Uuid, LinkRefusal> {
    let mut tx = db.write().await?;
    let mut person = people::by_id(&mut tx, link.person_id)
        .await?
        .filter(people::Person::is_active)
        .ok_or(LinkRefusal::Gone)?;
    if !links::use_up(&mut tx, link.id, at).await? {
        return Err(LinkRefusal::Gone);
    }
    change(&mut person);
    people::save(&mut tx, &person).await?;
    sessions::end_all(&mut tx, person.id, None).await?;
    tokens::end_all(&mut tx, person.id).await?;
    calendars::end(&mut tx, person.id).await?;
    let entry = Entry {
        at,
        by: Some(person.id),
        by_token: None,
        verb,
        subject: "person",
        subject_id: person.id,
        before: "null".to_owned(),
        after: "null".to_owned(),
    };
    entries::add(&mut tx, &entry).await?;
    tx.save().await?;
    Ok(person.id)
}

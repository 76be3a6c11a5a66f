//! A phone asks to be reminded, or is told to stop. The log keeps that it did, never the address of its push service.

use crate::actions::once::{self, Repeat};
use crate::actions::{By, log};
use crate::club::phone::{Endpoint, Keys, PHONES_MAX, PhoneRefusal};
use crate::config::Settings;
use crate::store::phones::{self, New};
use crate::store::{Db, StoreError};
use uuid::Uuid;

#[derive(Debug, thiserror::Error)]
pub enum AskRefusal {
    #[error(transparent)]
    Phone(#[from] PhoneRefusal),
    #[error(transparent)]
    Repeat(#[from] Repeat),
    #[error(transparent)]
    Store(#[from] StoreError),
}

/// What a browser gives for a subscription (Push API, PushSubscriptionJSON).
pub struct Asked {
    pub endpoint: String,
    pub p256dh: String,
    pub auth: String,
    /// Its browser says by itself that it is at another address now: of a phone that had asked, in this sign-in.
    pub has_moved: bool,
}

pub const ADDED: &str = "/me/reminders?kept=phone";
pub const ENDED: &str = "/me/reminders?kept=ended";

/// From now on the phone of this sign-in is reminded: in place of what it asked for before.
pub async fn ask(
    db: &Db,
    by: &By,
    session_id: Uuid,
    (asked, settings): (&Asked, &Settings),
) -> Result<&'static str, AskRefusal> {
    let endpoint = Endpoint::of(&asked.endpoint).ok_or(PhoneRefusal::Endpoint)?;
    endpoint.check(&settings.mail_host(), |ip| settings.is_push_network(ip))?;
    Keys::of(&asked.p256dh, &asked.auth)?;
    let mut tx = once::begin::<AskRefusal>(db, by).await?;
    let others = phones::others(&mut tx, by.actor.id, session_id).await?;
    if asked.has_moved && !phones::is_of_session(&mut tx, session_id).await? {
        return Err(PhoneRefusal::DidNotAsk.into());
    }
    if others >= PHONES_MAX as i64 {
        return Err(PhoneRefusal::TooMany.into());
    }
    let new = New {
        person_id: by.actor.id,
        session_id,
        endpoint: &asked.endpoint,
        p256dh: &asked.p256dh,
        auth: &asked.auth,
    };
    phones::add(&mut tx, &new, by.at).await?;
    let subject = ("person", by.actor.id);
    let verb = if asked.has_moved {
        "is reminded at another address of a phone"
    } else {
        "asked for reminders on a phone"
    };
    log(&mut tx, by, verb, subject, (&(), &())).await?;
    once::finish(tx, by, ADDED).await?;
    Ok(ADDED)
}

/// One that is not there any more is ended already.
pub async fn end(db: &Db, by: &By, id: Uuid) -> Result<&'static str, AskRefusal> {
    let mut tx = once::begin::<AskRefusal>(db, by).await?;
    if phones::end(&mut tx, id, by.actor.id).await? {
        let subject = ("person", by.actor.id);
        log(
            &mut tx,
            by,
            "ended reminders on a phone",
            subject,
            (&(), &()),
        )
        .await?;
    }
    once::finish(tx, by, ENDED).await?;
    Ok(ENDED)
}

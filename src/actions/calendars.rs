//! Making, renewing and ending the secret address of one's own calendar. The secret is drawn when the form is shown, so that the
//! same form sent again shows the same address; it is kept as a hash.

use crate::actions::once::{self, Repeat};
use crate::actions::{By, log};
use crate::ids;
use crate::store::calendars;
use crate::store::{Db, StoreError};

#[derive(Debug, thiserror::Error)]
pub enum CalendarRefusal {
    #[error("The page was too old. Open it again and start afresh.")]
    StalePage,
    #[error(transparent)]
    Repeat(#[from] Repeat),
    #[error(transparent)]
    Store(#[from] StoreError),
}

const PAGE: &str = "/me/calendar";

/// From now on the calendar is at this secret and nowhere else. `secret`: drawn by [`ids::new_token`].
pub async fn renew(db: &Db, by: &By, secret: &str) -> Result<(), CalendarRefusal> {
    if !ids::is_token(secret) {
        return Err(CalendarRefusal::StalePage);
    }
    let mut tx = once::begin::<CalendarRefusal>(db, by).await?;
    match calendars::renew(&mut tx, by.actor.id, &ids::digest(secret), by.at).await {
        Err(StoreError::Conflict) => return Err(CalendarRefusal::StalePage),
        renewed => renewed?,
    }
    let subject = ("person", by.actor.id);
    let words = "made a calendar address";
    log(&mut tx, by, words, subject, (&(), &())).await?;
    once::finish(tx, by, PAGE).await?;
    Ok(())
}

/// One that is not there any more is ended already.
pub async fn end(db: &Db, by: &By) -> Result<(), CalendarRefusal> {
    let mut tx = once::begin::<CalendarRefusal>(db, by).await?;
    if calendars::end(&mut tx, by.actor.id).await? {
        let subject = ("person", by.actor.id);
        let words = "ended the calendar address";
        log(&mut tx, by, words, subject, (&(), &())).await?;
    }
    once::finish(tx, by, PAGE).await?;
    Ok(())
}

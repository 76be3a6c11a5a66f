//! Making and ending tokens of the API. The secret is drawn when the form is shown, so that the same form sent again
//! shows the same secret; it is kept as a hash.

use crate::actions::once::{self, Repeat};
use crate::actions::{By, log};
use crate::club::tokens::{MOST, May, Wish};
use crate::ids;
use crate::store::tokens::{self, Token};
use crate::store::{Db, StoreError};
use serde::Serialize;
use uuid::Uuid;

#[derive(Debug, thiserror::Error)]
pub enum TokenRefusal {
    #[error("You have {MOST} tokens. End one that is not used any more.")]
    TooMany,
    #[error("The page was too old. Open it again and start afresh.")]
    StalePage,
    #[error(transparent)]
    Repeat(#[from] Repeat),
    #[error(transparent)]
    Store(#[from] StoreError),
}

/// What the log keeps of a token: not its secret, nor its name, which goes when its person is erased.
#[derive(Serialize)]
struct Kept {
    token_id: Uuid,
    may_change: bool,
}

const PAGE: &str = "/me/tokens";

/// `secret`: drawn by [`ids::new_token`].
pub async fn make(db: &Db, by: &By, wish: &Wish, secret: &str) -> Result<(), TokenRefusal> {
    if !ids::is_token(secret) {
        return Err(TokenRefusal::StalePage);
    }
    let mut tx = once::begin::<TokenRefusal>(db, by).await?;
    if tokens::of_person(&mut tx, by.actor.id, by.at).await?.len() >= MOST {
        return Err(TokenRefusal::TooMany);
    }
    let token = Token {
        id: ids::new_id(),
        person_id: by.actor.id,
        name: wish.name.clone(),
        may_change: wish.may == May::Change,
        made_ms: by.at,
        used_ms: None,
        ends_ms: by.at.plus_days(wish.days),
    };
    match tokens::add(&mut tx, &token, &ids::digest(secret)).await {
        Err(StoreError::Conflict) => return Err(TokenRefusal::StalePage),
        added => added?,
    }
    let kept = Kept {
        token_id: token.id,
        may_change: token.may_change,
    };
    let subject = ("person", by.actor.id);
    log(&mut tx, by, "made a token", subject, (&(), &kept)).await?;
    once::finish(tx, by, PAGE).await?;
    Ok(())
}

/// One of one's own. One that is not there any more is ended already.
pub async fn end(db: &Db, by: &By, id: Uuid) -> Result<(), TokenRefusal> {
    let mut tx = once::begin::<TokenRefusal>(db, by).await?;
    if tokens::end(&mut tx, id, by.actor.id).await? {
        let subject = ("person", by.actor.id);
        log(&mut tx, by, "ended a token", subject, (&(), &())).await?;
    }
    once::finish(tx, by, PAGE).await?;
    Ok(())
}

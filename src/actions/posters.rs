//! Codes on the wall of the hall: made, and ended when one is lost or copied. What one opens is told by its page.

use crate::actions::once::{self, Repeat};
use crate::actions::{By, log};
use crate::bench::form::{Against, Refusal};
use crate::ids;
use crate::store::book::posters::{self, Poster};
use crate::store::{Db, StoreError};
use serde::Serialize;
use uuid::Uuid;

const NAME_MOST: usize = 80;

#[derive(Debug, thiserror::Error)]
pub enum PosterFailed {
    #[error("There is no such poster.")]
    NoPoster,
    #[error("Only a quartermaster or an organiser does this.")]
    NotYours,
    #[error("Say in 1 to {NAME_MOST} letters where it hangs.")]
    Name,
    #[error(transparent)]
    Repeat(#[from] Repeat),
    #[error(transparent)]
    Store(#[from] StoreError),
}

impl Refusal for PosterFailed {
    fn against(&self) -> Against {
        match self {
            Self::NotYours => Against::Right,
            _ => Against::Typed,
        }
    }
}

/// What the log keeps of a poster; not its code, which opens its page.
#[derive(Serialize)]
struct Told<'a> {
    name: &'a str,
}

/// `base`: what its address begins with. Gives back where its page is.
pub async fn make(db: &Db, by: &By, name: &str, base: &str) -> Result<String, PosterFailed> {
    let name = name.split_whitespace().collect::<Vec<_>>().join(" ");
    if !by.actor.roles.may_see_holders() {
        return Err(PosterFailed::NotYours);
    }
    if !(1..=NAME_MOST).contains(&name.chars().count()) {
        return Err(PosterFailed::Name);
    }
    let mut tx = once::begin::<PosterFailed>(db, by).await?;
    let poster = Poster {
        id: ids::new_id(),
        code: ids::new_label_code(),
        name,
        base: base.to_owned(),
        made_ms: by.at,
        ended_ms: None,
    };
    posters::add(&mut tx, &poster, by.actor.id).await?;
    let told = Told { name: &poster.name };
    let subject = ("poster", poster.id);
    log(&mut tx, by, "poster made", subject, (&None::<()>, &told)).await?;
    let answer = format!("/posters/{}", poster.id);
    once::finish(tx, by, &answer).await?;
    Ok(answer)
}

/// It leads nowhere from now on; sent twice it ends once.
pub async fn end(db: &Db, by: &By, id: Uuid) -> Result<(), PosterFailed> {
    if !by.actor.roles.may_see_holders() {
        return Err(PosterFailed::NotYours);
    }
    let mut tx = once::begin::<PosterFailed>(db, by).await?;
    let poster = posters::by_id(&mut tx, id)
        .await?
        .ok_or(PosterFailed::NoPoster)?;
    if posters::end(&mut tx, id, by.actor.id, by.at).await? == 1 {
        let told = Told { name: &poster.name };
        let verb = "poster ended; it leads nowhere";
        log(&mut tx, by, verb, ("poster", id), (&None::<()>, &told)).await?;
    }
    once::finish(tx, by, "/posters").await?;
    Ok(())
}

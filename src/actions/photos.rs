//! Photos of packs: added by whoever handles them, removed by a quartermaster or by who added them. A picture is made
//! before it comes here: nothing slow is done while others wait for their turn to write.

use crate::actions::once::{self, Repeat};
use crate::actions::{By, log};
use crate::club::people::Actor;
use crate::store::photos::{self, Photo, Picture};
use crate::store::{Db, StoreError, Tx, packs};
use serde::Serialize;
use uuid::Uuid;

/// Of one pack.
pub const MOST_PHOTOS: usize = 12;

#[derive(Debug, thiserror::Error)]
pub enum PhotoFailed {
    #[error("There is no such pack.")]
    NoPack,
    #[error("There is no such photo.")]
    NoPhoto,
    #[error("Only who handles packs adds photos of them.")]
    NotYours,
    #[error("Only a quartermaster, or who added it, removes a photo.")]
    NotYoursToRemove,
    #[error("{MOST_PHOTOS} photos of one pack are enough. Remove one first.")]
    Enough,
    #[error(transparent)]
    Repeat(#[from] Repeat),
    #[error(transparent)]
    Store(#[from] StoreError),
}

/// What the log keeps of a photo.
#[derive(Serialize)]
struct Told<'a> {
    original_sha256: &'a str,
}

pub async fn add(db: &Db, by: &By, number: &str, picture: &Picture) -> Result<(), PhotoFailed> {
    if !by.actor.roles.may_log_volts() {
        return Err(PhotoFailed::NotYours);
    }
    let mut tx = once::begin::<PhotoFailed>(db, by).await?;
    let pack = packs::by_number(&mut tx, number)
        .await?
        .ok_or(PhotoFailed::NoPack)?;
    if photos::of_pack(&mut tx, pack.id).await?.len() >= MOST_PHOTOS {
        return Err(PhotoFailed::Enough);
    }
    photos::add(&mut tx, pack.id, picture, (by.actor.id, by.at)).await?;
    let of = (pack.id, picture.original_sha256.as_str());
    tell(&mut tx, by, "photo added", of).await?;
    Ok(once::finish(tx, by, &format!("/packs/{number}/photos")).await?)
}

pub async fn remove(db: &Db, by: &By, number: &str, id: Uuid) -> Result<(), PhotoFailed> {
    let mut tx = once::begin::<PhotoFailed>(db, by).await?;
    let pack = packs::by_number(&mut tx, number)
        .await?
        .ok_or(PhotoFailed::NoPack)?;
    let all = photos::of_pack(&mut tx, pack.id).await?;
    let photo = all
        .iter()
        .find(|photo| photo.id == id)
        .ok_or(PhotoFailed::NoPhoto)?;
    if !may_remove(&by.actor, photo) {
        return Err(PhotoFailed::NotYoursToRemove);
    }
    photos::remove(&mut tx, id).await?;
    tell(
        &mut tx,
        by,
        "photo removed",
        (pack.id, &photo.original_sha256),
    )
    .await?;
    Ok(once::finish(tx, by, &format!("/packs/{number}/photos")).await?)
}

pub fn may_remove(actor: &Actor, photo: &Photo) -> bool {
    actor.roles.is_quartermaster || photo.added_by == actor.id
}

async fn tell(tx: &mut Tx, by: &By, verb: &str, of: (Uuid, &str)) -> Result<(), StoreError> {
    let told = Told {
        original_sha256: of.1,
    };
    log(tx, by, verb, ("photo", of.0), (&None::<()>, &told)).await
}

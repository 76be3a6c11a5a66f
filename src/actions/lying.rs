//! Somebody carried a dangerous pack to a quarantine place, and says so: nothing else puts it there on record but being handed over.

use crate::actions::arrange_places::{over_limit, telling_of};
use crate::actions::once::{self, Repeat};
use crate::actions::standing::{self, Change};
use crate::actions::{By, watching};
use crate::bench::form::{Against, Refusal};
use crate::club::places::PlaceKind;
use crate::store::book::watches;
use crate::store::{Db, StoreError, charges, packs, places};
use uuid::Uuid;

#[derive(Debug, thiserror::Error)]
pub enum LiesFailed {
    #[error("Only a quartermaster says where it lies. Tell one.")]
    NotAQuartermaster,
    #[error("There is no such pack.")]
    NoPack,
    #[error("No danger stands against it any more: say on its page where it lies.")]
    NotWatched,
    #[error("It is out. Take it back first.")]
    IsOut,
    #[error("That is no quarantine place any more. Choose one among its details.")]
    NoPlace,
    #[error("By what is on record it is still on its charger. End its charge first.")]
    StillCharges,
    #[error("Nobody carries it yet. Tick that it was carried, if somebody did so all the same.")]
    NotYet,
    #[error(transparent)]
    Repeat(#[from] Repeat),
    #[error(transparent)]
    Store(#[from] StoreError),
}

impl Refusal for LiesFailed {
    fn against(&self) -> Against {
        match self {
            Self::NotAQuartermaster => Against::Right,
            Self::NotYet => Against::Typed,
            _ => Against::Rule,
        }
    }
}

/// Also while somebody stays with it, where somebody says that it was carried all the same: where it lies is where it lies. Never
/// while it is on a charger, by what is on record. Gives back where to go on.
pub async fn lies_there(
    db: &Db,
    by: &By,
    pack_id: Uuid,
    (place_id, was_carried): (Uuid, bool),
) -> Result<String, LiesFailed> {
    if !by.actor.roles.is_quartermaster {
        return Err(LiesFailed::NotAQuartermaster);
    }
    let mut tx = once::begin::<LiesFailed>(db, by).await?;
    let pack = packs::by_id(&mut tx, pack_id)
        .await?
        .ok_or(LiesFailed::NoPack)?;
    if watches::over(&mut tx, pack_id).await?.is_none() {
        return Err(LiesFailed::NotWatched);
    }
    if pack.is_away() {
        return Err(LiesFailed::IsOut);
    }
    let all = places::by_kind(&mut tx, PlaceKind::Quarantine).await?;
    let place = all.iter().find(|place| place.id == place_id);
    let place = place.ok_or(LiesFailed::NoPlace)?;
    let held = charges::held(&mut tx).await?;
    if held.iter().any(|held| held.thing_id == pack_id) {
        return Err(LiesFailed::StillCharges);
    }
    if !was_carried && watching::is_watched(&mut tx, by, pack_id).await? {
        return Err(LiesFailed::NotYet);
    }
    packs::set_place(&mut tx, pack_id, Some(place_id)).await?;
    let change = Change {
        verb: "carried to a quarantine place",
        about: Some(&place.name),
        ..Change::default()
    };
    standing::settle_as(&mut tx, by, &pack, change).await?;
    let over = over_limit(&mut tx, Some(place_id)).await?;
    let answer = telling_of(&format!("/packs/{}", pack.number), over);
    once::finish(tx, by, &answer).await?;
    Ok(answer)
}

//! Adding, changing, closing and reopening the places where packs and kit lie. One place of quarantine always stays: a swollen
//! pack must have somewhere to go.

use crate::actions::once::{self, Repeat};
use crate::actions::{By, log};
use crate::bench::FieldProblem;
use crate::bench::form::{Against, Refusal};
use crate::club::calendar::Instant;
use crate::club::places::{PlaceKind, PlaceSheet, over_by_mwh};
use crate::club::typed_numbers::counted;
use crate::ids;
use crate::store::places::{self, Holding, Place};
use crate::store::{Db, StoreError, Tx};
use serde_json::{Value, json};
use uuid::Uuid;

#[derive(Debug, thiserror::Error)]
pub enum PlaceRefusal {
    #[error("Some fields must be put right.")]
    Fields(Vec<FieldProblem>),
    #[error("There is no such place, or it was closed.")]
    Gone,
    #[error("There is a place of that name already. Choose another name.")]
    NameTaken,
    #[error(
        "This is the only quarantine place, and a dangerous pack must have somewhere to go. Add another one first."
    )]
    LastQuarantine,
    #[error(
        "{packs} in quarantine have their place here. Only an empty quarantine place becomes something else."
    )]
    HoldsQuarantined { packs: String },
    #[error("{what} still have their place here. Give them another place first.")]
    NotEmpty { what: String },
    #[error("It is open already.")]
    Open,
    #[error(transparent)]
    Repeat(#[from] Repeat),
    #[error(transparent)]
    Store(#[from] StoreError),
}

impl Refusal for PlaceRefusal {
    fn against(&self) -> Against {
        match self {
            Self::LastQuarantine
            | Self::HoldsQuarantined { .. }
            | Self::NotEmpty { .. }
            | Self::Open => Against::Rule,
            _ => Against::Typed,
        }
    }
}

impl PlaceRefusal {
    /// The unique index on names of open places.
    fn of_name(error: StoreError) -> Self {
        match error {
            StoreError::Conflict => Self::NameTaken,
            other => Self::Store(other),
        }
    }
}

/// Where the place's page is, with what was just done to it.
pub type Address = String;

fn address(id: Uuid, done: &str) -> Address {
    format!("/places/{id}?done={done}")
}

fn told(place: &Place) -> Value {
    json!({
        "name": place.name, "kind": place.kind, "room": place.room, "energy_limit_mwh": place.energy_limit_mwh,
        "warmth_celsius": place.warmth_celsius, "extinguisher_check_due": place.extinguisher_check_due,
        "detector_check_due": place.detector_check_due, "notes": place.notes, "is_closed": place.closed_ms.is_some(),
    })
}

pub async fn add_place(db: &Db, by: &By, sheet: PlaceSheet) -> Result<Address, PlaceRefusal> {
    let sheet = sheet.checked().map_err(PlaceRefusal::Fields)?;
    let mut tx = once::begin::<PlaceRefusal>(db, by).await?;
    let place = Place::new(ids::new_id(), sheet, by.at);
    refuse_taken(&mut tx, &place).await?;
    places::add(&mut tx, &place)
        .await
        .map_err(PlaceRefusal::of_name)?;
    finish(tx, by, ("added the place", "added"), (None, &place)).await
}

pub async fn change_place(
    db: &Db,
    by: &By,
    id: Uuid,
    sheet: PlaceSheet,
) -> Result<Address, PlaceRefusal> {
    let sheet = sheet.checked().map_err(PlaceRefusal::Fields)?;
    let mut tx = once::begin::<PlaceRefusal>(db, by).await?;
    let held = open_holding(&mut tx, id).await?;
    if held.place.is_quarantine() && sheet.kind != PlaceKind::Quarantine {
        let packs = held.packs_here + held.packs_out;
        if packs > 0 {
            return Err(PlaceRefusal::HoldsQuarantined {
                packs: counted(packs, "pack", "packs"),
            });
        }
        refuse_last_quarantine(&mut tx).await?;
    }
    let place = Place::new(id, sheet, held.place.created_ms);
    refuse_taken(&mut tx, &place).await?;
    places::save(&mut tx, &place)
        .await
        .map_err(PlaceRefusal::of_name)?;
    finish(
        tx,
        by,
        ("changed the place", "changed"),
        (Some(&held.place), &place),
    )
    .await
}

async fn refuse_taken(tx: &mut Tx, place: &Place) -> Result<(), PlaceRefusal> {
    if places::is_called(tx, &place.name, place.id).await? {
        return Err(PlaceRefusal::NameTaken);
    }
    Ok(())
}

/// Only an empty place closes, lent packs and kit that belong there included.
pub async fn close_place(db: &Db, by: &By, id: Uuid) -> Result<Address, PlaceRefusal> {
    let mut tx = once::begin::<PlaceRefusal>(db, by).await?;
    let held = open_holding(&mut tx, id).await?;
    let packs = held.packs_here + held.packs_out;
    if packs + held.kit > 0 {
        let what = format!(
            "{} and {}",
            counted(packs, "pack", "packs"),
            counted(held.kit, "piece of kit", "pieces of kit")
        );
        return Err(PlaceRefusal::NotEmpty { what });
    }
    if held.place.is_quarantine() {
        refuse_last_quarantine(&mut tx).await?;
    }
    let place = Place {
        closed_ms: Some(by.at),
        ..held.place.clone()
    };
    places::save(&mut tx, &place).await?;
    finish(
        tx,
        by,
        ("closed the place", "closed"),
        (Some(&held.place), &place),
    )
    .await
}

/// A closed place takes packs and kit again, under its old name if no open place has that now.
pub async fn reopen_place(db: &Db, by: &By, id: Uuid) -> Result<Address, PlaceRefusal> {
    let mut tx = once::begin::<PlaceRefusal>(db, by).await?;
    let before = places::by_id(&mut tx, id)
        .await?
        .ok_or(PlaceRefusal::Gone)?;
    if before.closed_ms.is_none() {
        return Err(PlaceRefusal::Open);
    }
    let place = Place {
        closed_ms: None,
        ..before.clone()
    };
    refuse_taken(&mut tx, &place).await?;
    places::save(&mut tx, &place)
        .await
        .map_err(PlaceRefusal::of_name)?;
    let words = ("reopened the place", "reopened");
    finish(tx, by, words, (Some(&before), &place)).await
}

/// The quarantine place a new club starts with.
pub fn first_quarantine(at: Instant) -> Place {
    let sheet = PlaceSheet {
        name: "Quarantine".to_owned(),
        kind: PlaceKind::Quarantine,
        room: String::new(),
        energy_limit_mwh: None,
        warmth_celsius: None,
        extinguisher_check_due: None,
        detector_check_due: None,
        notes: String::new(),
    };
    Place::new(ids::new_id(), sheet, at)
}

async fn open_holding(tx: &mut Tx, id: Uuid) -> Result<Holding, PlaceRefusal> {
    places::holding(tx, id)
        .await?
        .filter(|held| held.place.closed_ms.is_none())
        .ok_or(PlaceRefusal::Gone)
}

async fn refuse_last_quarantine(tx: &mut Tx) -> Result<(), PlaceRefusal> {
    match places::by_kind(tx, PlaceKind::Quarantine).await?.len() {
        0 | 1 => Err(PlaceRefusal::LastQuarantine),
        _ => Ok(()),
    }
}

/// `words`: the log's verb, and the address's.
async fn finish(
    mut tx: Tx,
    by: &By,
    words: (&str, &str),
    change: (Option<&Place>, &Place),
) -> Result<Address, PlaceRefusal> {
    let (before, after) = change;
    let told = (&before.map(told), &told(after));
    log(&mut tx, by, words.0, ("place", after.id), told).await?;
    let address = address(after.id, words.1);
    once::finish(tx, by, &address).await?;
    Ok(address)
}

/// The first of these places in which more energy lies than it may hold, after what `tx` did.
pub(super) async fn over_limit(
    tx: &mut Tx,
    named: impl IntoIterator<Item = Uuid>,
) -> Result<Option<Uuid>, StoreError> {
    let ids: std::collections::BTreeSet<Uuid> = named.into_iter().collect();
    for id in ids {
        let held = places::holding(tx, id).await?;
        let over = held.and_then(|held| over_by_mwh(held.energy_mwh, held.place.energy_limit_mwh));
        if over.is_some() {
            return Ok(Some(id));
        }
    }
    Ok(None)
}

/// `address`, telling of the place that holds too much.
pub(super) fn telling_of(address: &str, over: Option<Uuid>) -> String {
    let mark = if address.contains('?') { '&' } else { '?' };
    over.map_or_else(
        || address.to_owned(),
        |id| format!("{address}{mark}over={id}"),
    )
}

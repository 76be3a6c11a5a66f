//! Adding kit, changing what is on record of it, counting adapters. Connector families are `keep_connectors`.
//! Setting kit aside, mending it and taking it out of the pool is `see_to_kit`.

use crate::actions::once::{self, Repeat};
use crate::actions::{By, log};
use crate::bench::FieldProblem;
use crate::bench::form::{Against, Refusal};
use crate::bench::kit::Spec;
use crate::bench::typed::Words;
use crate::club::kit::KitSheet;
use crate::ids;
use crate::store::kit::{self, Kit};
use crate::store::{Db, StoreError, Tx, connectors, places};
use serde_json::{Value, json};
use uuid::Uuid;

#[derive(Debug, thiserror::Error)]
pub enum KitRefusal {
    #[error("Some fields must be put right.")]
    Fields(Vec<FieldProblem>),
    #[error("There is no such piece of kit.")]
    Gone,
    #[error("{0} have it. Give them another connector first.")]
    InUse(String),
    #[error("That place is closed. Choose another one.")]
    NoPlace,
    #[error("There is no connector family called {0}. Add it under Connectors first.")]
    UnknownConnector(String),
    #[error("There is a connector family of that code already. Choose another code.")]
    CodeTaken,
    #[error("Say why, in 3 to 500 letters.")]
    NeedsReason,
    #[error("It is set aside already: {0}")]
    AlreadySetAside(String),
    #[error("It is not set aside; there is nothing to mend.")]
    NotSetAside,
    #[error("None of it is unchecked; somebody looked it over already.")]
    NotUnchecked,
    #[error(
        "Meanwhile more came back or somebody else saw to it. Look again; the numbers here are those of now."
    )]
    Changed,
    #[error("{0} of it are out on loans. Take them back first, or close them on the loan as lost.")]
    Out(i64),
    #[error("{out} of them are out, {aside} set aside and {unchecked} not looked over, so the club owns at least {}. What was thrown away is said at what was set aside.", out + aside + unchecked)]
    FewerThanThere {
        out: i64,
        aside: i64,
        unchecked: i64,
    },
    #[error("Only adapters are counted; everything else has a number of its own.")]
    NotCounted,
    #[error("It is {now}; it can't become {next}.")]
    NoWay { now: String, next: String },
    #[error("A thing stays of its kind. Add the other one as new kit.")]
    OtherKind,
    #[error(transparent)]
    Repeat(#[from] Repeat),
    #[error(transparent)]
    Store(#[from] StoreError),
}

impl Refusal for KitRefusal {
    fn against(&self) -> Against {
        match self {
            Self::InUse(_)
            | Self::AlreadySetAside(_)
            | Self::NotSetAside
            | Self::NotUnchecked
            | Self::Changed
            | Self::Out(_)
            | Self::NotCounted
            | Self::NoWay { .. }
            | Self::OtherKind => Against::Rule,
            _ => Against::Typed,
        }
    }
}

/// Where the page is that tells what was done.
pub type Address = String;

pub async fn add_kit(db: &Db, by: &By, sheet: KitSheet) -> Result<Address, KitRefusal> {
    let sheet = sheet.checked().map_err(KitRefusal::Fields)?;
    let mut tx = begin(db, by).await?;
    check_choices(&mut tx, &sheet).await?;
    let blank = kit::blank(&mut tx, ids::new_id(), sheet.spec.kind(), by.at).await?;
    let after = blank.with(sheet)?;
    kit::add(&mut tx, &after).await?;
    finish(tx, by, ("added it", "added"), (None, &after), None).await
}

/// Everything but its kind, its number and, for adapters, their count (see [`count_adapters`]).
pub async fn change_kit(
    db: &Db,
    by: &By,
    id: Uuid,
    mut sheet: KitSheet,
) -> Result<Address, KitRefusal> {
    let mut tx = begin(db, by).await?;
    let before = load(&mut tx, id).await?;
    sheet.owned_count = before.owned_count;
    let sheet = sheet.checked().map_err(KitRefusal::Fields)?;
    if before.kind() != Some(sheet.spec.kind()) {
        return Err(KitRefusal::OtherKind);
    }
    // A place that was closed meanwhile may stay where it was.
    if before.place_id != sheet.place_id {
        check_place(&mut tx, sheet.place_id).await?;
    }
    check_connectors(&mut tx, &sheet.spec).await?;
    let after = before.clone().with(sheet)?;
    kit::save(&mut tx, &after).await?;
    finish(
        tx,
        by,
        ("changed it", "changed"),
        (Some(&before), &after),
        None,
    )
    .await
}

/// How many the club owns, as somebody counted: never fewer than are out on loans.
pub async fn count_adapters(
    db: &Db,
    by: &By,
    id: Uuid,
    owned_count: i64,
) -> Result<Address, KitRefusal> {
    let mut tx = begin(db, by).await?;
    let before = load(&mut tx, id).await?;
    if !before.is_counted() {
        return Err(KitRefusal::NotCounted);
    }
    if !(0..=10_000).contains(&owned_count) {
        let words = "Count 0 to 10000 of them.".to_owned();
        let field = "owned_count";
        return Err(KitRefusal::Fields(vec![FieldProblem { field, words }]));
    }
    let stock = before.stock(kit::out_count(&mut tx, id).await?);
    if owned_count < stock.there() {
        return Err(KitRefusal::FewerThanThere {
            out: stock.out,
            aside: stock.aside,
            unchecked: stock.unchecked,
        });
    }
    let after = Kit {
        owned_count,
        ..before.clone()
    };
    kit::save(&mut tx, &after).await?;
    finish(
        tx,
        by,
        ("counted them", "counted"),
        (Some(&before), &after),
        None,
    )
    .await
}

async fn check_choices(tx: &mut Tx, sheet: &KitSheet) -> Result<(), KitRefusal> {
    check_place(tx, sheet.place_id).await?;
    check_connectors(tx, &sheet.spec).await
}

async fn check_place(tx: &mut Tx, place_id: Option<Uuid>) -> Result<(), KitRefusal> {
    let Some(id) = place_id else { return Ok(()) };
    let is_open = places::by_id(tx, id)
        .await?
        .is_some_and(|place| place.closed_ms.is_none());
    if is_open {
        Ok(())
    } else {
        Err(KitRefusal::NoPlace)
    }
}

async fn check_connectors(tx: &mut Tx, spec: &Spec) -> Result<(), KitRefusal> {
    let known = connectors::all(tx).await?;
    let is_known = |code: &str| known.iter().any(|family| family.code == code);
    if let Some(code) = spec.connectors().into_iter().find(|code| !is_known(code)) {
        return Err(KitRefusal::UnknownConnector(code.to_owned()));
    }
    let Spec::Adapter(adapter) = spec else {
        return Ok(());
    };
    adapter
        .beyond_its_plugs(&known)
        .map_or(Ok(()), |problem| Err(KitRefusal::Fields(vec![problem])))
}

/// The turn to write, unless this form was carried out before.
pub(super) async fn begin(db: &Db, by: &By) -> Result<Tx, KitRefusal> {
    once::begin(db, by).await
}

pub(super) async fn load(tx: &mut Tx, id: Uuid) -> Result<Kit, KitRefusal> {
    kit::by_id(tx, id).await?.ok_or(KitRefusal::Gone)
}

/// `words`: the log's verb, and the address's. `reason` is kept with the entry.
pub(super) async fn finish(
    tx: Tx,
    by: &By,
    words: (&str, &str),
    change: (Option<&Kit>, &Kit),
    reason: Option<&str>,
) -> Result<Address, KitRefusal> {
    let address = format!("/kit/{}?done={}", change.1.id, words.1);
    keep(tx, by, (words.0, address), change, reason).await
}

/// `words`: the log's verb, and where the page is that tells of it.
pub(super) async fn keep(
    mut tx: Tx,
    by: &By,
    words: (&str, Address),
    change: (Option<&Kit>, &Kit),
    reason: Option<&str>,
) -> Result<Address, KitRefusal> {
    let ((verb, address), (before, after)) = (words, change);
    let before = match before {
        Some(kit) => told(&mut tx, kit).await?,
        None => Value::Null,
    };
    let mut now = told(&mut tx, after).await?;
    if let Some(reason) = reason {
        now["reason"] = reason.into();
    }
    log(&mut tx, by, verb, ("kit", after.id), (&before, &now)).await?;
    once::finish(tx, by, &address).await?;
    Ok(address)
}

/// What the log keeps of a thing: all of it, with its place by name and its data sheet both in words and as it is.
pub(super) async fn told(tx: &mut Tx, kit: &Kit) -> Result<Value, StoreError> {
    let place = match kit.place_id {
        Some(id) => places::by_id(tx, id).await?.map(|place| place.name),
        None => None,
    };
    let spec = kit.spec()?;
    Ok(json!({
        "number": kit.number, "kind": kit.kind, "name": kit.name, "maker": kit.maker, "what": spec.summary(Words::POINT),
        "spec": spec, "owned": kit.owned_count, "place": place, "place_id": kit.place_id, "notes": kit.notes,
        "life": kit.life, "set_aside": kit.set_aside_words, "aside": kit.aside_count, "unchecked": kit.unchecked_count,
    }))
}

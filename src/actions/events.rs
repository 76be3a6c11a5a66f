//! Making, changing, ending and calling off an event, with the packs that are taken there. Which packs were where counts for what is due for
//! them, so what is kept of those concerned is gone through anew.

use crate::actions::once::{self, Repeat};
use crate::actions::{By, care, log};
use crate::bench::form::{Against, Refusal};
use crate::club::events::{Checked, EventSheet, MOST_PACKS, SheetRefusal, may_keep};
use crate::club::lending::{Typed, in_ranges};
use crate::club::states::Life;
use crate::ids;
use crate::store::care::events::{self, Event};
use crate::store::packs::{self, PackView};
use crate::store::{Db, StoreError, Tx};
use serde_json::{Value, json};
use std::collections::BTreeMap;
use uuid::Uuid;

#[derive(Debug, thiserror::Error)]
pub enum EventRefusal {
    #[error("Only a quartermaster or an organiser keeps events.")]
    NotYours,
    #[error("There is no such event.")]
    Gone,
    /// And what is wrong with its packs.
    #[error("Some fields must be put right.")]
    Sheet(Vec<SheetRefusal>, Option<Box<EventRefusal>>),
    #[error("There is no pack {0}. Kit is not put on the list of an event.")]
    NoPack(String),
    #[error("An event takes {MOST_PACKS} packs at most.")]
    TooMany,
    #[error(
        "An event of this name is on these days already. Change that one, or say how this one differs."
    )]
    Twice,
    #[error("It is over already.")]
    Over,
    #[error("It has not begun. Change its days instead.")]
    NotBegun,
    #[error("It has begun. End it instead.")]
    Begun,
    #[error("It is called off. Make another one.")]
    CalledOff,
    #[error("Tick that it does not take place.")]
    NotSure,
    #[error("In quarantine: {0}. Such a pack goes to no event: leave it out.")]
    InQuarantine(String),
    #[error("Not in use: {0}. What is lost, retired or sold goes to no event: leave it out.")]
    NotInUse(String),
    #[error(transparent)]
    Repeat(#[from] Repeat),
    #[error(transparent)]
    Store(#[from] StoreError),
}

impl Refusal for EventRefusal {
    fn against(&self) -> Against {
        match self {
            Self::NotYours => Against::Right,
            Self::Over | Self::NotBegun | Self::Begun | Self::CalledOff => Against::Rule,
            Self::InQuarantine(_) | Self::NotInUse(_) => Against::Rule,
            _ => Against::Typed,
        }
    }
}

impl EventRefusal {
    pub const fn field(&self) -> &'static str {
        match self {
            Self::NoPack(_) | Self::TooMany | Self::InQuarantine(_) | Self::NotInUse(_) => "packs",
            Self::Over | Self::NotBegun => "end",
            Self::Begun | Self::NotSure | Self::CalledOff => "call_off",
            _ => "name",
        }
    }
}

/// As typed: what an event is, and which packs.
pub struct Wanted {
    pub sheet: EventSheet,
    pub packs: Vec<Typed>,
}

fn told(event: &Event, packs: &BTreeMap<Uuid, PackView>) -> Value {
    let mut keys: Vec<i64> = packs.values().map(|pack| pack.number_key).collect();
    keys.sort_unstable();
    json!({
        "name": event.name, "place": event.place, "first_on": event.first_on, "last_on": event.last_on,
        "packs": in_ranges(keys.into_iter()), "is_ended": event.ended_ms.is_some(),
        "is_called_off": event.called_off_ms.is_some(),
    })
}

pub async fn make(db: &Db, by: &By, wanted: &Wanted) -> Result<String, EventRefusal> {
    let mut tx = once::begin::<EventRefusal>(db, by).await?;
    let (sheet, packs) = checked(&mut tx, by, wanted, &[]).await?;
    let event = event_of(by, ids::new_id(), sheet);
    // Whoever goes back in the browser and sends the form again means the one that is there.
    let called = (
        event.name.as_str(),
        event.first_on.as_str(),
        event.last_on.as_str(),
    );
    if events::is_there(&mut tx, called).await? {
        return Err(EventRefusal::Twice);
    }
    events::add(&mut tx, &event, by.actor.id, by.at).await?;
    put_on(&mut tx, by, &event, &packs).await?;
    let change = (&None::<()>, &told(&event, &packs));
    log(&mut tx, by, "made the event", ("event", event.id), change).await?;
    finish(tx, by, event.id, "made").await
}

/// Its packs are those that are named now.
pub async fn change(db: &Db, by: &By, id: Uuid, wanted: &Wanted) -> Result<String, EventRefusal> {
    let mut tx = once::begin::<EventRefusal>(db, by).await?;
    let before = standing(&mut tx, by, id).await?;
    let (sheet, packs) = checked(&mut tx, by, wanted, &before.numbers()).await?;
    let had = packs_of(&mut tx, &before).await?;
    // With new days it is as if nobody had ended it.
    let same_days = (&before.first_on, &before.last_on)
        == (&sheet.first_on.to_string(), &sheet.last_on.to_string());
    let mut event = event_of(by, id, sheet);
    if same_days {
        (event.last_day_ms, event.ends_ms) = (before.last_day_ms, before.ends_ms);
        event.ended_ms = before.ended_ms;
    }
    events::save(&mut tx, &event).await?;
    for pack_id in had.keys() {
        events::take_pack_off(&mut tx, id, *pack_id).await?;
    }
    put_on(&mut tx, by, &event, &packs).await?;
    for pack_id in had.keys().filter(|pack_id| !packs.contains_key(pack_id)) {
        care::anew(&mut tx, by, *pack_id).await?;
    }
    let change = (&told(&before, &had), &told(&event, &packs));
    log(&mut tx, by, "changed the event", ("event", id), change).await?;
    finish(tx, by, id, "changed").await
}

/// It ends now, before its last day is over.
pub async fn end(db: &Db, by: &By, id: Uuid) -> Result<String, EventRefusal> {
    let mut tx = once::begin::<EventRefusal>(db, by).await?;
    let before = standing(&mut tx, by, id).await?;
    if before.is_over(by.at) {
        return Err(EventRefusal::Over);
    }
    if before.starts_ms > by.at {
        return Err(EventRefusal::NotBegun);
    }
    let event = Event {
        last_day_ms: by
            .zone
            .start_of(by.zone.day_of(by.at))
            .max(before.starts_ms),
        ends_ms: by.at,
        ended_ms: Some(by.at),
        ..before.clone()
    };
    events::save(&mut tx, &event).await?;
    let packs = packs_of(&mut tx, &event).await?;
    // Its last day is another, and with it what came back on it.
    for pack_id in packs.keys() {
        care::anew(&mut tx, by, *pack_id).await?;
    }
    let change = (&told(&before, &packs), &told(&event, &packs));
    log(&mut tx, by, "ended the event", ("event", id), change).await?;
    finish(tx, by, id, "ended").await
}

/// It does not take place: no pack is on its list any more, and nothing tells of it but its own page and the list.
pub async fn call_off(db: &Db, by: &By, id: Uuid, is_sure: bool) -> Result<String, EventRefusal> {
    let mut tx = once::begin::<EventRefusal>(db, by).await?;
    let before = standing(&mut tx, by, id).await?;
    if before.starts_ms <= by.at {
        return Err(EventRefusal::Begun);
    }
    if !is_sure {
        return Err(EventRefusal::NotSure);
    }
    let event = Event {
        called_off_ms: Some(by.at),
        ..before.clone()
    };
    events::save(&mut tx, &event).await?;
    let had = packs_of(&mut tx, &before).await?;
    for pack_id in had.keys() {
        events::take_pack_off(&mut tx, id, *pack_id).await?;
        care::anew(&mut tx, by, *pack_id).await?;
    }
    let change = (&told(&before, &had), &told(&event, &BTreeMap::new()));
    log(&mut tx, by, "called off the event", ("event", id), change).await?;
    finish(tx, by, id, "called_off").await
}

/// As it is before a change, for who may make one.
async fn standing(tx: &mut Tx, by: &By, id: Uuid) -> Result<Event, EventRefusal> {
    if !may_keep(by.actor.roles) {
        return Err(EventRefusal::NotYours);
    }
    let event = events::by_id(tx, id).await?.ok_or(EventRefusal::Gone)?;
    match event.called_off_ms {
        Some(_) => Err(EventRefusal::CalledOff),
        None => Ok(event),
    }
}

/// All that is wrong with what was typed is told at once. `had`: what is on its list already may stay, whatever it came to.
async fn checked(
    tx: &mut Tx,
    by: &By,
    wanted: &Wanted,
    had: &[String],
) -> Result<(Checked, BTreeMap<Uuid, PackView>), EventRefusal> {
    if !may_keep(by.actor.roles) {
        return Err(EventRefusal::NotYours);
    }
    let today = by.zone.day_of(by.at);
    // One that is over is put down as it was, whatever came of what was there.
    let is_over = wanted.sheet.last_on.is_some_and(|last| last < today);
    let packs = match named(tx, &wanted.packs).await {
        Err(EventRefusal::Store(error)) => return Err(error.into()),
        Ok(packs) if !is_over => may_go(packs, had),
        packs => packs,
    };
    match (wanted.sheet.checked(today), packs) {
        (Ok(sheet), packs) => Ok((sheet, packs?)),
        (Err(wrong), packs) => Err(EventRefusal::Sheet(wrong, packs.err().map(Box::new))),
    }
}

fn event_of(by: &By, id: Uuid, sheet: Checked) -> Event {
    Event {
        id,
        starts_ms: by.zone.start_of(sheet.first_on),
        last_day_ms: by.zone.start_of(sheet.last_on),
        ends_ms: by.zone.end_of(sheet.last_on),
        name: sheet.name,
        place: sheet.place,
        first_on: sheet.first_on.to_string(),
        last_on: sheet.last_on.to_string(),
        ended_ms: None,
        called_off_ms: None,
        numbers: None,
        quarantined: None,
        set_aside: None,
    }
}

async fn packs_of(tx: &mut Tx, event: &Event) -> Result<BTreeMap<Uuid, PackView>, StoreError> {
    let mut all = BTreeMap::new();
    for number in event.numbers() {
        if let Some(pack) = packs::by_number(tx, &number).await? {
            all.insert(pack.id, pack);
        }
    }
    Ok(all)
}

/// What is in quarantine goes nowhere, and what is not in use is not there to go.
fn may_go(
    packs: BTreeMap<Uuid, PackView>,
    had: &[String],
) -> Result<BTreeMap<Uuid, PackView>, EventRefusal> {
    let named = |is_refused: &dyn Fn(&PackView) -> bool| {
        let new = packs.values().filter(|pack| !had.contains(&pack.number));
        let mut refused: Vec<&PackView> = new.filter(|pack| is_refused(pack)).collect();
        refused.sort_by_key(|pack| pack.number_key);
        let numbers: Vec<&str> = refused.iter().map(|pack| pack.number.as_str()).collect();
        Some(numbers.join(", ")).filter(|numbers| !numbers.is_empty())
    };
    if let Some(numbers) = named(&PackView::is_quarantined) {
        return Err(EventRefusal::InQuarantine(numbers));
    }
    match named(&|pack| pack.life() != Life::InUse) {
        Some(numbers) => Err(EventRefusal::NotInUse(numbers)),
        None => Ok(packs),
    }
}

/// Each pack once; every number that is typed is one of a pack.
async fn named(tx: &mut Tx, typed: &[Typed]) -> Result<BTreeMap<Uuid, PackView>, EventRefusal> {
    let keys: Vec<i64> = typed.iter().flat_map(Typed::keys).collect();
    if keys.len() > MOST_PACKS {
        return Err(EventRefusal::TooMany);
    }
    let found = packs::with_keys(tx, &keys).await?;
    for one in typed {
        let missing = one.keys().find(|key| {
            let is_it = |pack: &&PackView| {
                pack.number_key == *key && one.names(&pack.number, true) && !is_gone(pack)
            };
            !found.iter().any(|pack| is_it(&pack))
        });
        if let Some(key) = missing {
            return Err(EventRefusal::NoPack(match one {
                Typed::Packs(..) => key.to_string(),
                Typed::Number(number, _) => number.clone(),
            }));
        }
    }
    let meant = found
        .into_iter()
        .filter(|pack| typed.iter().any(|one| one.names(&pack.number, true)));
    Ok(meant.map(|pack| (pack.id, pack)).collect())
}

fn is_gone(pack: &PackView) -> bool {
    pack.life() == Life::Withdrawn
}

async fn put_on(
    tx: &mut Tx,
    by: &By,
    event: &Event,
    packs: &BTreeMap<Uuid, PackView>,
) -> Result<(), StoreError> {
    for pack_id in packs.keys() {
        events::add_pack(tx, event.id, *pack_id, by.at).await?;
        care::anew(tx, by, *pack_id).await?;
    }
    Ok(())
}

async fn finish(mut tx: Tx, by: &By, id: Uuid, done: &str) -> Result<String, EventRefusal> {
    let address = format!("/events/{id}?done={done}");
    once::keep(&mut tx, by, &address).await?;
    tx.save().await?;
    Ok(address)
}

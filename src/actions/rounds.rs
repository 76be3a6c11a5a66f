//! A storage round: begun with what came back, volts read pack by pack, unfinished packs taken home by somebody by a day, closed with
//! how each stands. It is kept by the server: any phone goes on with it.

use crate::actions::once::{self, Repeat};
use crate::actions::reading::{self, LogVoltsRefusal, Logged};
use crate::actions::standing::{self, Change};
use crate::actions::{By, care, log};
use crate::bench::form::{Against, Refusal};
use crate::club::calendar::Day;
use crate::club::events::MOST_PACKS;
use crate::club::lending::{Typed, in_ranges};
use crate::club::states::Life;
use crate::club::storage_round::{HomeRefusal, Sorted, home_refusal, sorted};
use crate::ids;
use crate::store::care::events;
use crate::store::care::rounds::{self, OnRound, Round};
use crate::store::packs::{self, PackView};
use crate::store::{Db, StoreError, Tx, people};
use serde_json::json;
use uuid::Uuid;

#[derive(Debug, thiserror::Error)]
pub enum RoundRefusal {
    #[error("Only a quartermaster keeps a storage round.")]
    NotAQuartermaster,
    #[error("There is no such round.")]
    Gone,
    #[error("This round is closed. What is not done stays due.")]
    Closed,
    #[error("Give the round a name of at most 80 letters.")]
    Name,
    #[error("There is no such event.")]
    NoEvent,
    #[error("Name the packs that came back, or choose where they lie.")]
    Nothing,
    #[error("There is no pack {0}.")]
    NoPack(String),
    #[error("A round takes {MOST_PACKS} packs at most.")]
    TooMany,
    #[error("{0} on a loan. Take back what is out first.")]
    Lent(String),
    #[error("{0} is not on this round. Add it first.")]
    NotOnRound(String),
    #[error(transparent)]
    Home(#[from] HomeRefusal),
    #[error(transparent)]
    Volts(#[from] LogVoltsRefusal),
    #[error(transparent)]
    Repeat(#[from] Repeat),
    #[error(transparent)]
    Store(#[from] StoreError),
}

impl Refusal for RoundRefusal {
    fn against(&self) -> Against {
        match self {
            Self::NotAQuartermaster => Against::Right,
            Self::Closed | Self::Lent(_) => Against::Rule,
            Self::Home(HomeRefusal::Done | HomeRefusal::DontTouch) => Against::Rule,
            Self::Volts(refusal) => refusal.against(),
            _ => Against::Typed,
        }
    }
}

impl RoundRefusal {
    pub const fn field(&self) -> &'static str {
        match self {
            Self::Name => "name",
            Self::NoEvent => "event",
            Self::NotOnRound(_) => "pack",
            Self::Home(HomeRefusal::NoPerson) => "person",
            Self::Home(HomeRefusal::Day) => "by",
            Self::Home(_) => "home_pack",
            Self::Volts(refusal) => refusal.field(),
            _ => "packs",
        }
    }
}

/// What came back: by number, with an event's list, or all that lies at a place.
pub struct Began {
    pub name: String,
    pub packs: Vec<Typed>,
    pub event_id: Option<Uuid>,
    pub place_id: Option<Uuid>,
}

fn address(id: Uuid, done: &str) -> String {
    format!("/storage-rounds/{id}?done={done}")
}

async fn begin(db: &Db, by: &By) -> Result<Tx, RoundRefusal> {
    if !by.actor.roles.is_quartermaster {
        return Err(RoundRefusal::NotAQuartermaster);
    }
    once::begin(db, by).await
}

/// Begins it; gives back where its page is.
pub async fn open(db: &Db, by: &By, began: &Began) -> Result<String, RoundRefusal> {
    let mut tx = begin(db, by).await?;
    let name = began.name.split_whitespace().collect::<Vec<_>>().join(" ");
    if name.chars().count() > 80 {
        return Err(RoundRefusal::Name);
    }
    let (found, event_name) = came_back(&mut tx, began).await?;
    if found.is_empty() {
        return Err(RoundRefusal::Nothing);
    }
    let id = ids::new_id();
    let usual = event_name.map_or_else(
        || format!("Round of {}", by.zone.date_words(by.at)),
        |event| format!("After {event}"),
    );
    let name = if name.is_empty() { usual } else { name };
    rounds::open(&mut tx, (id, &name, began.event_id), (by.actor.id, by.at)).await?;
    put_on(&mut tx, by, id, found).await?;
    let told = json!({ "name": name });
    log(
        &mut tx,
        by,
        "began a storage round",
        ("storage_round", id),
        (&None::<()>, &told),
    )
    .await?;
    finish(tx, by, &address(id, "began")).await
}

/// More packs came back.
pub async fn add(db: &Db, by: &By, id: Uuid, typed: &[Typed]) -> Result<String, RoundRefusal> {
    let mut tx = begin(db, by).await?;
    open_round(&mut tx, id).await?;
    let found = named(&mut tx, typed).await?;
    if found.is_empty() {
        return Err(RoundRefusal::Nothing);
    }
    put_on(&mut tx, by, id, found).await?;
    finish(tx, by, &address(id, "added")).await
}

async fn open_round(tx: &mut Tx, id: Uuid) -> Result<Round, RoundRefusal> {
    let round = rounds::by_id(tx, id).await?.ok_or(RoundRefusal::Gone)?;
    if round.closed_ms.is_some() {
        return Err(RoundRefusal::Closed);
    }
    Ok(round)
}

/// Each pack once, and what the event is called.
async fn came_back(
    tx: &mut Tx,
    began: &Began,
) -> Result<(Vec<PackView>, Option<String>), RoundRefusal> {
    let mut found = named(tx, &began.packs).await?;
    let mut name = None;
    if let Some(id) = began.event_id {
        let event = events::by_id(tx, id).await?.ok_or(RoundRefusal::NoEvent)?;
        for number in event.numbers() {
            found.extend(packs::by_number(tx, &number).await?);
        }
        name = Some(event.name);
    }
    if let Some(id) = began.place_id {
        found.extend(packs::lying_at(tx, id).await?);
    }
    // What left the pool since, and of a list what is still out, is not on it.
    let is_typed = |pack: &PackView| began.packs.iter().any(|one| one.names(&pack.number, true));
    found.retain(|pack| pack.life() == Life::InUse && (!pack.is_lent() || is_typed(pack)));
    found.sort_by_key(|pack| (pack.number_key, pack.number.clone()));
    found.dedup_by_key(|pack| pack.id);
    Ok((found, name))
}

async fn named(tx: &mut Tx, typed: &[Typed]) -> Result<Vec<PackView>, RoundRefusal> {
    let keys: Vec<i64> = typed.iter().flat_map(Typed::keys).collect();
    if keys.len() > MOST_PACKS {
        return Err(RoundRefusal::TooMany);
    }
    let mut found = packs::with_keys(tx, &keys).await?;
    for one in typed {
        for key in one.keys() {
            let is_it = |pack: &PackView| pack.number_key == key && one.names(&pack.number, true);
            if !found.iter().any(is_it) {
                return Err(RoundRefusal::NoPack(match one {
                    Typed::Packs(..) => key.to_string(),
                    Typed::Number(number, _) => number.clone(),
                }));
            }
        }
    }
    found.retain(|pack| typed.iter().any(|one| one.names(&pack.number, true)));
    Ok(found)
}

async fn put_on(tx: &mut Tx, by: &By, id: Uuid, found: Vec<PackView>) -> Result<(), RoundRefusal> {
    if found.len() > MOST_PACKS {
        return Err(RoundRefusal::TooMany);
    }
    let lent: Vec<&PackView> = found.iter().filter(|pack| pack.is_lent()).collect();
    if !lent.is_empty() {
        let numbers = in_ranges(lent.iter().map(|pack| pack.number_key));
        let is = if lent.len() == 1 { "is" } else { "are" };
        return Err(RoundRefusal::Lent(format!("{numbers} {is}")));
    }
    let on = rounds::packs_of(tx, id).await?;
    for pack in found {
        if on.iter().any(|one| one.care.pack.id == pack.id) {
            continue;
        }
        rounds::add(tx, id, pack.id, by.at).await?;
        let change = Change {
            verb: "came back, not looked at",
            ..Change::default()
        };
        standing::settle_as(tx, by, &pack, change).await?;
    }
    Ok(())
}

async fn on_round(tx: &mut Tx, id: Uuid, number: &str) -> Result<OnRound, RoundRefusal> {
    let mut all = rounds::packs_of(tx, id).await?.into_iter();
    let found = all.find(|one| one.care.pack.number == number);
    found.ok_or_else(|| RoundRefusal::NotOnRound(number.to_owned()))
}

/// Volts of one pack of the round. Dangerous ones are stored by `reading::keep_danger` whatever else is refused.
pub async fn read(
    db: &Db,
    by: &By,
    (id, number): (Uuid, &str),
    logged: Logged<'_>,
) -> Result<String, RoundRefusal> {
    let mut tx = begin(db, by).await?;
    open_round(&mut tx, id).await?;
    let one = on_round(&mut tx, id, number).await?;
    reading::log_once(&mut tx, by, one.care.pack.id, logged).await?;
    let after = on_round(&mut tx, id, number).await?;
    let stands = stands(&after, by);
    let at = format!("{}&pack={number}", address(id, stands.code()));
    finish(tx, by, &at).await
}

fn stands(one: &OnRound, by: &By) -> Sorted {
    sorted(&one.care.on_record(&by.limits(), by.at), one.added_ms)
}

/// Somebody takes it home to finish it there, by a day.
pub async fn take_home(
    db: &Db,
    by: &By,
    (id, number): (Uuid, &str),
    (person, until): (Option<Uuid>, Option<Day>),
) -> Result<String, RoundRefusal> {
    let mut tx = begin(db, by).await?;
    open_round(&mut tx, id).await?;
    let one = on_round(&mut tx, id, number).await?;
    let today = by.zone.day_of(by.at);
    if let Some(refusal) = home_refusal(stands(&one, by), until, today) {
        return Err(refusal.into());
    }
    let (Some(person), Some(until)) = (person, until) else {
        return Err(HomeRefusal::NoPerson.into());
    };
    let taker = people::by_id(&mut tx, person).await?;
    let taker = taker.filter(people::Person::is_active);
    taker.ok_or(HomeRefusal::NoPerson)?;
    let pack_id = one.care.pack.id;
    care::anew(&mut tx, by, pack_id).await?;
    let until = until.to_string();
    rounds::take_home(&mut tx, (id, pack_id), (person, &until), by.at).await?;
    let told = json!({ "holder_id": person, "due": until });
    let subject = ("pack", pack_id);
    log(
        &mut tx,
        by,
        "taken home to put to storage",
        subject,
        (&json!({}), &told),
    )
    .await?;
    finish(tx, by, &address(id, "home")).await
}

/// What is not done stays due; the record keeps how each stood.
pub async fn close(db: &Db, by: &By, id: Uuid) -> Result<String, RoundRefusal> {
    let mut tx = begin(db, by).await?;
    let round = open_round(&mut tx, id).await?;
    let all = rounds::packs_of(&mut tx, id).await?;
    for one in &all {
        let pack = &one.care.pack;
        let was_read = pack.last_read_ms.is_some_and(|at| at >= one.added_ms);
        let volts = pack.last_volts.as_deref().filter(|_| was_read);
        let code = stands(one, by).code();
        rounds::note_how_it_stood(&mut tx, (id, pack.id), code, volts).await?;
    }
    rounds::close(&mut tx, id, by.actor.id, by.at).await?;
    let undone = all.iter().filter(|one| stands(one, by).is_open()).count();
    let told = json!({ "name": round.name, "packs": all.len(), "not_done": undone });
    let subject = ("storage_round", id);
    log(
        &mut tx,
        by,
        "closed a storage round",
        subject,
        (&json!({}), &told),
    )
    .await?;
    finish(tx, by, &address(id, "closed")).await
}

async fn finish(tx: Tx, by: &By, address: &str) -> Result<String, RoundRefusal> {
    once::finish(tx, by, address).await?;
    Ok(address.to_owned())
}

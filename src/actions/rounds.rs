//! A storage round: begun with what came back, volts read pack by pack, unfinished packs taken home by somebody by a day, closed with
//! how each stands. It is kept by the server: any phone goes on with it.

use crate::actions::once::{self, Repeat};
use crate::actions::reading::{self, LogVoltsRefusal, Logged, Measured};
use crate::actions::rounds_put_on::{LeftOut, came_back, named, put_on};
use crate::actions::volts_now::{asked_first, is_danger};
use crate::actions::{By, log};
use crate::bench::form::{Against, Refusal};
use crate::club::events::MOST_PACKS;
use crate::club::lending::{HandOutRefusal, Typed};
use crate::club::reading::asked_first::AskedFirst;
use crate::club::storage_round::{HomeRefusal, Sorted, sorted};
use crate::ids;
use crate::store::care::rounds::{self, OnRound, Round, Stood};
use crate::store::packs::{self, PackView};
use crate::store::{Db, StoreError, Tx};
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
    #[error("Type the numbers of the packs, or scan their labels.")]
    NothingTyped,
    #[error("Nothing lies there now.")]
    NothingThere,
    #[error("Nothing on that event's list is in the pool.")]
    NothingOfEvent,
    #[error("{0}. Nothing else is left to put on this round.")]
    AllLeftOut(String, Option<Uuid>),
    #[error("There is no pack {0}.")]
    NoPack(String),
    #[error("A round takes {MOST_PACKS} packs at most.")]
    TooMany,
    #[error("{0} on a loan. Take back what is out first.")]
    Lent(String),
    #[error("{0} is not on this round. Add it first.")]
    NotOnRound(String),
    #[error(
        "{0} is in quarantine: no meter goes on it, and it goes on no round. Leave it where it is; its page says what is next, and once it is released it is put on."
    )]
    InQuarantine(String),
    /// Without that word its volts would leave it as it stands.
    #[error(
        "{0} came back and nobody has looked at it. Tick that you looked it over and saw nothing, then send its volts again; what you see is told on its page."
    )]
    NotLookedOver(String),
    #[error(transparent)]
    Home(#[from] HomeRefusal),
    /// It goes home with nobody to whom it would not be lent.
    #[error("It is not taken home.")]
    NotLent(Vec<HandOutRefusal>),
    #[error("{0} is at nobody's home.")]
    NotAtHome(String),
    #[error("Choose a place of the club.")]
    NoPlace,
    /// Nothing is stored before it is said that they are so.
    #[error("{0}: {1}")]
    AskedFirst(String, AskedFirst),
    #[error("Several things are to be put right.")]
    Several(Vec<RoundRefusal>),
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
            Self::Closed | Self::Lent(_) | Self::AllLeftOut(..) => Against::Rule,
            Self::InQuarantine(_) => Against::Rule,
            Self::Home(HomeRefusal::Done | HomeRefusal::DontTouch) => Against::Rule,
            Self::NotLent(_) | Self::NotAtHome(_) => Against::Rule,
            Self::Volts(refusal) => refusal.against(),
            Self::Several(all) => all.first().map_or(Against::Typed, Self::against),
            _ => Against::Typed,
        }
    }
}

impl RoundRefusal {
    pub const fn field(&self) -> &'static str {
        match self {
            Self::Name => "name",
            Self::NoEvent | Self::NothingOfEvent => "event",
            Self::NothingThere => "place",
            Self::NotOnRound(_) | Self::InQuarantine(_) => "pack",
            Self::NotLookedOver(_) => "looked_over",
            Self::Home(HomeRefusal::NoPerson) => "person",
            Self::Home(HomeRefusal::Day) => "by",
            Self::Home(_) | Self::NotLent(_) => "home_pack",
            Self::NoPlace | Self::NotAtHome(_) => "place",
            Self::AskedFirst(..) => "volts_line",
            Self::Volts(refusal) => refusal.field(),
            _ => "packs",
        }
    }
}

/// All that is wrong with a form, told at once; a fault of the store goes before it.
pub(super) fn all_of(refusals: impl IntoIterator<Item = Option<RoundRefusal>>) -> RoundRefusal {
    let mut all: Vec<RoundRefusal> = refusals.into_iter().flatten().collect();
    let is_fault = |one: &RoundRefusal| matches!(one, RoundRefusal::Store(_));
    let single = all
        .iter()
        .position(is_fault)
        .or((all.len() == 1).then_some(0));
    match single {
        Some(at) => all.swap_remove(at),
        None => RoundRefusal::Several(all),
    }
}

/// Its name as it is kept; empty: nobody named it.
pub fn called(name: &str) -> Result<String, RoundRefusal> {
    let name = name.split_whitespace().collect::<Vec<_>>().join(" ");
    match name.chars().count() {
        ..=80 => Ok(name),
        _ => Err(RoundRefusal::Name),
    }
}

/// What came back: by number, with an event's list, or all that lies at a place.
pub struct Began {
    pub name: String,
    pub packs: Vec<Typed>,
    pub event_id: Option<Uuid>,
    pub place_id: Option<Uuid>,
}

pub(super) fn address(id: Uuid, done: &str) -> String {
    format!("/storage-rounds/{id}?done={done}")
}

pub(super) async fn begin(db: &Db, by: &By) -> Result<Tx, RoundRefusal> {
    if !by.actor.roles.is_quartermaster {
        return Err(RoundRefusal::NotAQuartermaster);
    }
    once::begin(db, by).await
}

/// Begins it; gives back where its page is.
pub async fn open(db: &Db, by: &By, began: &Began) -> Result<String, RoundRefusal> {
    let mut tx = begin(db, by).await?;
    let (name, came) = (called(&began.name), came_back(&mut tx, began).await);
    let (name, (found, left, event_name)) = match (name, came) {
        (Ok(name), Ok(came)) => (name, came),
        (name, came) => return Err(all_of([name.err(), came.err()])),
    };
    let id = ids::new_id();
    let usual = event_name.map_or_else(
        || format!("Round of {}", by.zone.date_words(by.at)),
        |event| format!("After {event}"),
    );
    let name = if name.is_empty() { usual } else { name };
    rounds::open(&mut tx, (id, &name, began.event_id), (by.actor.id, by.at)).await?;
    let left = put_on(&mut tx, by, id, (found, left)).await?;
    let told = json!({ "name": name });
    log(
        &mut tx,
        by,
        "began a storage round",
        ("storage_round", id),
        (&None::<()>, &told),
    )
    .await?;
    let at = format!("{}{}", address(id, "began"), left.in_address());
    finish(tx, by, &at).await
}

/// More packs came back.
pub async fn add(db: &Db, by: &By, id: Uuid, typed: &[Typed]) -> Result<String, RoundRefusal> {
    let mut tx = begin(db, by).await?;
    open_round(&mut tx, id).await?;
    let found = named(&mut tx, typed).await?;
    if found.is_empty() {
        return Err(RoundRefusal::NothingTyped);
    }
    let left = put_on(&mut tx, by, id, (found, LeftOut::default())).await?;
    let at = format!("{}{}", address(id, "added"), left.in_address());
    finish(tx, by, &at).await
}

pub(super) async fn open_round(tx: &mut Tx, id: Uuid) -> Result<Round, RoundRefusal> {
    let round = rounds::by_id(tx, id).await?.ok_or(RoundRefusal::Gone)?;
    if round.closed_ms.is_some() {
        return Err(RoundRefusal::Closed);
    }
    Ok(round)
}

pub(super) async fn on_round(tx: &mut Tx, id: Uuid, number: &str) -> Result<OnRound, RoundRefusal> {
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
    let one = match on_round(&mut tx, id, number).await {
        Err(RoundRefusal::NotOnRound(number)) => {
            let pack = packs::by_number(&mut tx, &number).await?;
            return Err(not_on_round(pack, number));
        }
        one => one?,
    };
    let pack = &one.care.pack;
    if let Some(asked) = asked_first(by, pack, logged.measured) {
        return Err(RoundRefusal::AskedFirst(number.to_owned(), asked));
    }
    let is_read = matches!(logged.measured, Measured::Read { .. });
    let waits = is_read && !logged.is_looked_over && !is_danger(by, pack, logged.measured);
    if waits && reading::is_unchecked(&mut tx, pack.id).await? {
        return Err(RoundRefusal::NotLookedOver(number.to_owned()));
    }
    reading::log_once(&mut tx, by, one.care.pack.id, logged).await?;
    let after = on_round(&mut tx, id, number).await?;
    let stands = stands(&after, by);
    let at = format!("{}&pack={number}", address(id, stands.code()));
    finish(tx, by, &at).await
}

/// Why its volts are not taken here. What is in quarantine is on no round, and is not to be added.
pub fn not_on_round(pack: Option<PackView>, number: String) -> RoundRefusal {
    match pack.filter(PackView::is_quarantined) {
        Some(pack) => RoundRefusal::InQuarantine(pack.number),
        None => RoundRefusal::NotOnRound(number),
    }
}

pub(super) fn stands(one: &OnRound, by: &By) -> Sorted {
    sorted(
        &one.care.on_record(&by.limits(), by.at),
        one.added_ms,
        one.care.is_in_use(),
    )
}

/// What is not done stays due; the record keeps how each stood.
pub async fn close(db: &Db, by: &By, id: Uuid) -> Result<String, RoundRefusal> {
    let mut tx = begin(db, by).await?;
    let round = open_round(&mut tx, id).await?;
    let all = rounds::packs_of(&mut tx, id).await?;
    for one in &all {
        let pack = &one.care.pack;
        let read = pack.last_read_ms.filter(|at| *at >= one.added_ms);
        let stood = Stood {
            code: stands(one, by).code(),
            volts: read.and(pack.last_volts.as_deref()),
            read,
            why: &one.told(by.at, &by.limits()),
        };
        rounds::note_how_it_stood(&mut tx, (id, pack.id), stood).await?;
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

pub(super) async fn finish(tx: Tx, by: &By, address: &str) -> Result<String, RoundRefusal> {
    once::finish(tx, by, address).await?;
    Ok(address.to_owned())
}

//! Storage rounds: the list, one with its packs as volts sort them, reading pack by pack, taking home, the record. Any phone
//! goes on with a round.

use crate::actions::reading::{self, Logged, Measured};
use crate::actions::rounds::{self as keep, RoundRefusal};
use crate::actions::volts_now::is_danger;
use crate::app::App;
use crate::battery::volts::{Volts, words as volts_words};
use crate::club::calendar::{Day, day_words};
use crate::club::lending::{in_ranges, read_numbers};
use crate::club::people::Role;
use crate::club::reading::Rested;
use crate::club::storage_round::{Sorted, sorted};
use crate::store::care::rounds::{self, OnRound, Round};
use crate::store::packs::{self, PackView};
use crate::web::asked::{Path, Query};
use crate::web::fields::{Fields, Problems};
use crate::web::pack::again;
use crate::web::page::{self, Page, PageError};
use crate::web::scanned;
use crate::web::visit::{Shell, SignedIn};
use crate::web::volts_form::VoltsForm;
use crate::web::words::{When, past};
use askama::Template;
use axum::extract::State;
use serde::Deserialize;
use uuid::Uuid;

/// The list shows so many, the latest on top.
pub const MOST_LISTED: i64 = 100;

page::puts_right!(RoundPage);

#[derive(Template)]
#[template(path = "rounds/list.html")]
struct ListPage {
    shell: Shell,
    rows: Vec<(Round, When)>,
    is_quartermaster: bool,
}

#[derive(Template)]
#[template(path = "rounds/one.html")]
struct RoundPage {
    shell: Shell,
    problems: Problems,
    typed: Fields,
    /// What was just done.
    done: String,
    round: Round,
    began: When,
    closed: When,
    groups: Vec<Group>,
    in_all: usize,
    are_done: usize,
    /// `°C`: how warm the evening is, is asked with it.
    unit: &'static str,
    /// Numbers of what a charger brings to storage.
    to_charge: String,
    may_change: bool,
}

struct Group {
    sorted: Sorted,
    rows: Vec<Row>,
}

struct Row {
    number: String,
    what: String,
    volts: String,
    read: String,
    home: String,
}

impl Row {
    fn of(one: &OnRound, who: &SignedIn) -> Self {
        let pack = &one.care.pack;
        let was_read = pack.last_read_ms.is_some_and(|at| at >= one.added_ms);
        let last = pack.last_volts.as_deref().filter(|_| was_read);
        let text = one
            .stood
            .as_ref()
            .map_or(last, |_| one.stood_volts.as_deref());
        let volts = text.and_then(Volts::from_text);
        let volts = volts.map_or_else(String::new, |volts| volts_words(&volts));
        let name = one.read_name.as_deref().unwrap_or("(erased)");
        let at = pack.last_read_ms.filter(|_| was_read);
        Self {
            number: pack.number.clone(),
            what: who.numbers().sentence(&pack.design_name),
            volts: who.numbers().sentence(&volts),
            read: at.map_or_else(String::new, |at| {
                format!("{}, by {name}", past(at, who.now, &who.zone).words)
            }),
            home: home(one),
        }
    }
}

/// `Ada has it at home, to be done by Fri 27 Nov 2026`
fn home(one: &OnRound) -> String {
    let Some(until) = one.taken_until.as_deref() else {
        return String::new();
    };
    let name = one.taken_name.as_deref().unwrap_or("(erased)");
    let day = Day::parse(until).map_or_else(|| until.to_owned(), day_words);
    format!("{name} has it at home, to be done by {day}")
}

pub(super) fn stands(one: &OnRound, who: &SignedIn) -> Sorted {
    let on_record = one.care.on_record(&who.club.limits(), who.now);
    let now = sorted(&on_record, one.added_ms);
    one.stood
        .as_deref()
        .and_then(Sorted::from_code)
        .unwrap_or(now)
}

/// GET /storage-rounds
pub async fn list(State(app): State<App>, who: SignedIn) -> Page {
    let found = rounds::list(&mut app.db.read().await?, MOST_LISTED).await?;
    let row = |round: Round| {
        let when = past(round.opened_ms, who.now, &who.zone);
        (round, when)
    };
    page::show(&ListPage {
        shell: who.shell("Storage rounds"),
        rows: found.into_iter().map(row).collect(),
        is_quartermaster: who.has(Role::Quartermaster),
    })
}

pub(super) async fn typed_packs(
    app: &App,
    fields: &Fields,
) -> Result<Result<Vec<crate::club::lending::Typed>, Problems>, PageError> {
    let line = scanned::as_numbers(app, &fields.text("packs")).await?;
    Ok(read_numbers(&line).map_err(|word| {
        let words = format!("“{word}” is no number of a pack. Write 14 15 17-20.");
        Problems::one("packs", words)
    }))
}

pub(super) fn told(refusal: RoundRefusal) -> Result<Problems, PageError> {
    match refusal {
        RoundRefusal::Store(error) => Err(error.into()),
        RoundRefusal::Gone => Err(PageError::NotFound),
        RoundRefusal::NotAQuartermaster => Err(PageError::NotYours(refusal.to_string())),
        other => Ok(Problems::refused(other.field(), &other)),
    }
}

#[derive(Default, Deserialize)]
pub struct Told {
    #[serde(default)]
    done: String,
    #[serde(default)]
    pack: String,
    /// As it was answered of the pack before: the next one often rested as long.
    #[serde(default)]
    rested: String,
}

/// GET /storage-rounds/{id}
pub async fn show(
    State(app): State<App>,
    who: SignedIn,
    Path(id): Path<Uuid>,
    Query(told): Query<Told>,
) -> Page {
    let rested = Rested::from_code(&told.rested).map_or("", Rested::code);
    let kept = Fields::new(vec![("rested".to_owned(), rested.to_owned())]);
    let sent = (Problems::default(), kept);
    let page = one_page(&app, &who, id, sent).await?;
    page::show(&RoundPage {
        done: done_words(&told),
        ..page
    })
}

fn done_words(told: &Told) -> String {
    let pack: String = told.pack.chars().take(20).collect();
    match (told.done.as_str(), Sorted::from_code(&told.done)) {
        (_, Some(sorted)) => format!("{pack} is read. {}.", sorted.label()),
        ("began", _) => "The round is begun.".to_owned(),
        ("added", _) => "They are on the round.".to_owned(),
        ("home", _) => "That is kept. It stays due until it is done.".to_owned(),
        ("closed", _) => "The round is closed. What is not done stays due.".to_owned(),
        _ => String::new(),
    }
}

async fn one_page(
    app: &App,
    who: &SignedIn,
    id: Uuid,
    (problems, typed): (Problems, Fields),
) -> Result<RoundPage, PageError> {
    let mut conn = app.db.read().await?;
    let round = rounds::by_id(&mut conn, id)
        .await?
        .ok_or(PageError::NotFound)?;
    let all = rounds::packs_of(&mut conn, id).await?;
    drop(conn);
    let mut shell = who.shell(&round.name);
    shell.is_error = !problems.is_empty();
    let of = |sorted: Sorted| Group {
        sorted,
        rows: all
            .iter()
            .filter(|one| stands(one, who) == sorted)
            .map(|one| Row::of(one, who))
            .collect(),
    };
    let needs = |one: &&OnRound| {
        let stands = stands(one, who);
        matches!(stands, Sorted::NeedsDischarge | Sorted::NeedsCharge)
    };
    let keys = all.iter().filter(needs).map(|one| one.care.pack.number_key);
    let is_open = round.closed_ms.is_none();
    Ok(RoundPage {
        shell,
        problems,
        typed,
        done: String::new(),
        began: past(round.opened_ms, who.now, &who.zone),
        closed: round
            .closed_ms
            .map_or_else(When::default, |at| past(at, who.now, &who.zone)),
        groups: Sorted::ALL.map(of).into_iter().collect(),
        in_all: all.len(),
        are_done: all.iter().filter(|one| !stands(one, who).is_open()).count(),
        unit: degree_sign(who),
        to_charge: in_ranges(keys),
        may_change: is_open && who.has(Role::Quartermaster),
        round,
    })
}

fn degree_sign(who: &SignedIn) -> &'static str {
    if who.club.uses_fahrenheit {
        "°F"
    } else {
        "°C"
    }
}

async fn after(
    (app, who, id): (&App, &SignedIn, Uuid),
    outcome: Result<String, RoundRefusal>,
    fields: Fields,
) -> Page {
    match outcome {
        Ok(address) => page::go_to(&address),
        Err(RoundRefusal::Repeat(repeat)) => again(&repeat),
        Err(refusal) => page::put_right(&one_page(app, who, id, (told(refusal)?, fields)).await?),
    }
}

/// POST /storage-rounds/{id}/add
pub async fn add(
    State(app): State<App>,
    who: SignedIn,
    Path(id): Path<Uuid>,
    fields: Fields,
) -> Page {
    let outcome = match typed_packs(&app, &fields).await? {
        Ok(packs) => keep::add(&app.db, &who.by(&fields), id, &packs).await,
        Err(problems) => {
            return page::put_right(&one_page(&app, &who, id, (problems, fields)).await?);
        }
    };
    after((&app, &who, id), outcome, fields).await
}

/// POST /storage-rounds/{id}/read: one pack, scanned or typed, with its volts. What is dangerous is stored whatever is wrong.
pub async fn read(
    State(app): State<App>,
    who: SignedIn,
    Path(id): Path<Uuid>,
    fields: Fields,
) -> Page {
    let by = who.by(&fields);
    let (pack, measured) = match measured(&app, &who, &fields).await? {
        Ok(both) => both,
        Err(problems) => {
            return page::put_right(&one_page(&app, &who, id, (problems, fields)).await?);
        }
    };
    let logged = Logged::volts(&measured, fields.is_ticked("looked_over"));
    let outcome = keep::read(&app.db, &by, (id, &pack.number), logged).await;
    let is_kept_anyway = is_danger(&by, &pack, &measured);
    match outcome {
        Err(RoundRefusal::NotOnRound(_) | RoundRefusal::Closed) if is_kept_anyway => {
            reading::keep_danger(&app.db, &by, pack.id, logged)
                .await
                .map_err(|refusal| PageError::Refused(refusal.to_string()))?;
            page::go_to(&format!("/packs/{}", pack.number))
        }
        outcome => {
            let rested = fields.text("rested");
            let kept = Rested::from_code(&rested)
                .map_or_else(String::new, |_| format!("&rested={rested}"));
            let outcome = outcome.map(|address| format!("{address}{kept}"));
            after((&app, &who, id), outcome, fields).await
        }
    }
}

async fn measured(
    app: &App,
    who: &SignedIn,
    fields: &Fields,
) -> Result<Result<(PackView, Measured), Problems>, PageError> {
    let number = scanned::as_numbers(app, &fields.text("pack")).await?;
    let typed = read_numbers(&number).unwrap_or_default();
    let keys: Vec<i64> = typed.iter().flat_map(|one| one.keys()).collect();
    let found = packs::with_keys(&mut app.db.read().await?, &keys).await?;
    let mut meant = found
        .into_iter()
        .filter(|pack| typed.iter().any(|one| one.names(&pack.number, true)));
    let (Some(pack), None) = (meant.next(), meant.next()) else {
        let words = "Scan or type the number of one pack.";
        return Ok(Err(Problems::one("pack", words)));
    };
    let mut volts = VoltsForm::of(fields, "");
    let rested = Rested::from_code(&fields.text("rested"));
    let by = who.by(fields);
    Ok(
        match volts.measured_now(&by, &pack, rested, who.numbers()) {
            Ok(measured) => Ok((pack, measured)),
            Err(wrong) => {
                let mut problems = Problems::default();
                wrong.note(&mut problems, "");
                Err(problems)
            }
        },
    )
}

/// POST /storage-rounds/{id}/close
pub async fn close(
    State(app): State<App>,
    who: SignedIn,
    Path(id): Path<Uuid>,
    fields: Fields,
) -> Page {
    let outcome = keep::close(&app.db, &who.by(&fields), id).await;
    after((&app, &who, id), outcome, fields).await
}

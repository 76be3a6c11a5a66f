//! Storage rounds: the list, one with its packs as volts sort them, reading pack by pack, taking home, the record. Any phone
//! goes on with a round.

use crate::actions::rounds::{self as keep, RoundRefusal};
use crate::app::App;
use crate::battery::volts::{Volts, words as volts_words};
use crate::club::calendar::{Day, Instant, day_words};
use crate::club::lending::{in_ranges, read_numbers};
use crate::club::people::Role;
use crate::club::reading::Rested;
use crate::club::storage_round::{Sorted, sorted};
use crate::store::care::rounds::{self, OnRound, Round};
use crate::web::asked::{Path, Query};
use crate::web::fields::{Fields, Problems};
use crate::web::pack::again;
use crate::web::page::{self, Page, PageError};
use crate::web::rounds_told::{LeftOut, Told};
use crate::web::scanned;
use crate::web::visit::{Shell, SignedIn};
use crate::web::words::{When, past};
use askama::Template;
use axum::extract::State;
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
pub(super) struct RoundPage {
    shell: Shell,
    problems: Problems,
    typed: Fields,
    /// The very volts that were asked about, to say that they are so; empty: nothing is asked.
    pub to_confirm: String,
    /// What was just done.
    done: String,
    left_out: Vec<LeftOut>,
    /// The field to type in next.
    focus: &'static str,
    /// The open round on which all is that was to be put on this one.
    other: Option<Uuid>,
    /// The pack whose volts were sent just now.
    pub(super) read_late: Option<String>,
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
    /// The camera in the page needs https; over plain http it is said where it would be.
    is_plain_http: bool,
}

struct Group {
    sorted: Sorted,
    rows: Vec<Row>,
}

struct Row {
    number: String,
    what: String,
    /// Why it is left alone, and what is next; empty where nothing stands against it.
    why: String,
    volts: String,
    read: String,
    home: String,
    is_at_home: bool,
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
        let at = match one.stood {
            Some(_) => one.stood_read_ms,
            None => pack.last_read_ms.filter(|_| was_read),
        };
        Self {
            number: pack.number.clone(),
            what: who.numbers().sentence(&pack.design_name),
            why: who.numbers().sentence(&why(one, who)),
            is_at_home: pack.is_at_home(),
            volts: who.numbers().sentence(&volts),
            read: at.map_or_else(String::new, |at| {
                format!("{}, by {name}", on_paper(at, who).words)
            }),
            home: home(one),
        }
    }
}

/// As it still tells on paper: `Wed 25 Nov 2026, 19:30`.
fn on_paper(at: Instant, who: &SignedIn) -> When {
    let (day, time) = (who.zone.date_words(at), who.zone.time_words(at));
    When {
        words: format!("{day}, {time}"),
        date: String::new(),
        ..past(at, who.now, &who.zone)
    }
}

/// As its own page says it; once the round is closed, as that said it then.
pub(super) fn why(one: &OnRound, who: &SignedIn) -> String {
    if one.stood.is_some() {
        return one.stood_why.clone().unwrap_or_default();
    }
    one.told(who.now, &who.club.limits())
}

/// `At home with Ada until Fri 27 Nov 2026`: short, since twenty of them stand on one sheet.
fn home(one: &OnRound) -> String {
    let Some(until) = one.taken_until.as_deref() else {
        return String::new();
    };
    // What was back by the time the round was closed is not kept as taken.
    if one.stood.is_none() && !one.care.pack.is_at_home() {
        return String::new();
    }
    let name = one.taken_name.as_deref().unwrap_or("(erased)");
    let day = Day::parse(until).map_or_else(|| until.to_owned(), day_words);
    format!("At home with {name} until {day}")
}

pub(super) fn stands(one: &OnRound, who: &SignedIn) -> Sorted {
    let on_record = one.care.on_record(&who.club.limits(), who.now);
    let now = sorted(&on_record, one.added_ms, one.care.is_in_use());
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
    line: &str,
) -> Result<Result<Vec<crate::club::lending::Typed>, Problems>, PageError> {
    let line = scanned::as_numbers(app, line).await?;
    Ok(read_numbers(&line).map_err(|word| {
        let words = format!("“{word}” is no number of a pack. Write 14 15 17-20.");
        Problems::one("packs", words)
    }))
}

/// On which open round all is that was to be put on another.
pub(super) const fn other_round(refusal: &RoundRefusal) -> Option<Uuid> {
    match refusal {
        RoundRefusal::AllLeftOut(_, id) => *id,
        _ => None,
    }
}

pub(super) fn told(refusal: RoundRefusal) -> Result<Problems, PageError> {
    match refusal {
        RoundRefusal::Store(error) => Err(error.into()),
        RoundRefusal::Gone => Err(PageError::NotFound),
        RoundRefusal::NotAQuartermaster => Err(PageError::NotYours(refusal.to_string())),
        RoundRefusal::NotLent(against) => {
            let mut problems = Problems::default();
            for one in against {
                let field = if one.is_of_person() {
                    "person"
                } else {
                    "home_pack"
                };
                problems.extend(Problems::refused(field, &one));
            }
            Ok(problems)
        }
        RoundRefusal::Several(all) => {
            let mut problems = Problems::default();
            for one in all {
                problems.extend(told(one)?);
            }
            Ok(problems)
        }
        other => Ok(Problems::refused(other.field(), &other)),
    }
}

/// GET /storage-rounds/{id}
pub async fn show(
    State(app): State<App>,
    who: SignedIn,
    Path(id): Path<Uuid>,
    Query(told): Query<Told>,
) -> Page {
    let rested = Rested::from_code(&told.rested).map_or("", Rested::code);
    let mut kept = vec![("rested".to_owned(), rested.to_owned())];
    if told.is_asked() {
        kept.push(("pack".to_owned(), told.pack.clone()));
    }
    let sent = (Problems::default(), Fields::new(kept));
    let mut page = one_page(&app, &who, id, sent).await?;
    if told.is_asked() && !page.has(&told.pack) {
        let refusal = match told.held.as_str() {
            "" => RoundRefusal::NotOnRound(told.pack.clone()),
            _ => RoundRefusal::InQuarantine(told.pack.clone()),
        };
        page.problems = Problems::refused(refusal.field(), &refusal);
    }
    page.focus = match (told.is_asked(), page.problems.is_empty()) {
        (true, true) => "volts_line",
        (true, false) => "pack",
        (false, _) if told.is_read() || told.done.is_empty() => "pack",
        _ => "",
    };
    let why = page.why_of(&told.pack);
    page::show(&RoundPage {
        done: told.words(&why),
        left_out: told.left_out(),
        ..page
    })
}

impl RoundPage {
    fn has(&self, number: &str) -> bool {
        let mut rows = self.groups.iter().flat_map(|group| &group.rows);
        rows.any(|row| row.number == number)
    }

    /// It was typed into this field, and the round was closed meanwhile.
    fn is_late(&self, field: &str) -> bool {
        self.round.closed_ms.is_some() && !self.typed.text(field).is_empty()
    }

    /// What stands against the pack, as its own page says it.
    fn why_of(&self, number: &str) -> String {
        let mut rows = self.groups.iter().flat_map(|group| &group.rows);
        let row = rows.find(|row| row.number == number);
        row.map_or_else(String::new, |row| row.why.clone())
    }
}

pub(super) async fn one_page(
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
        !one.care.pack.is_at_home()
            && matches!(stands, Sorted::NeedsDischarge | Sorted::NeedsCharge)
    };
    let keys = all.iter().filter(needs).map(|one| one.care.pack.number_key);
    let is_open = round.closed_ms.is_none();
    Ok(RoundPage {
        shell,
        to_confirm: typed.text("confirmed"),
        typed,
        done: String::new(),
        left_out: Vec::new(),
        focus: ["pack", "volts_line"]
            .into_iter()
            .find(|field| !problems.of(field).is_empty())
            .unwrap_or_default(),
        is_plain_http: who.is_plain_http,
        other: None,
        read_late: None,
        problems,
        began: on_paper(round.opened_ms, who),
        closed: round
            .closed_ms
            .map_or_else(When::default, |at| on_paper(at, who)),
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

pub(super) async fn after(
    (app, who, id): (&App, &SignedIn, Uuid),
    outcome: Result<String, RoundRefusal>,
    fields: Fields,
) -> Page {
    match outcome {
        Ok(address) => page::go_to(&address),
        Err(RoundRefusal::Repeat(repeat)) => again(&repeat),
        Err(refusal) => {
            let other = other_round(&refusal);
            let mut page = one_page(app, who, id, (told(refusal)?, fields)).await?;
            page.other = other;
            page::put_right(&page)
        }
    }
}

/// POST /storage-rounds/{id}/add
pub async fn add(
    State(app): State<App>,
    who: SignedIn,
    Path(id): Path<Uuid>,
    fields: Fields,
) -> Page {
    let (problems, other) = match typed_packs(&app, &fields.text("add")).await? {
        Ok(packs) => match keep::add(&app.db, &who.by(&fields), id, &packs).await {
            Ok(address) => return page::go_to(&address),
            Err(RoundRefusal::Repeat(repeat)) => return again(&repeat),
            Err(refusal) => {
                let other = other_round(&refusal);
                (told(refusal)?, other)
            }
        },
        Err(problems) => (problems, None),
    };
    // Where more packs are put on, all of it is about that one field.
    let mut about_add = Problems::default().by(problems.against());
    for (_, words) in problems.list() {
        about_add.add("add", words.clone());
    }
    let mut page = one_page(&app, &who, id, (about_add, fields)).await?;
    page.other = other;
    page::put_right(&page)
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

//! The incident book: the list of incidents with the head of the chain and what is still to be done, and opening one. What may be told,
//! and in which words it is asked, is `club::book`.

use crate::actions::book::{self, BookFailed, Opening, Things, sealed};
use crate::app::App;
use crate::bench::FieldProblem;
use crate::club::book::chain::{Head, Sealed};
use crate::club::book::doing::Doing;
use crate::club::book::guess::guess;
use crate::club::book::incident::{Damage, Harm, Kind};
use crate::club::book::involved::{Involved, numbers};
use crate::club::book::part::KeptPart;
use crate::club::book::severity::{InjuriesKept, Severity};
use crate::club::book::story::{self, Story};
use crate::club::book::telling::{Opened, Words};
use crate::club::calendar::{Day, Instant};
use crate::store::book::{drills, entries, report_photos, reports};
use crate::web::asked::Query;
use crate::web::drills::Next;
use crate::web::fields::{Fields, Problems};
use crate::web::pack::again;
use crate::web::page::{self, Page, PageError};
use crate::web::reports::{what_is_told, what_it_is_of};
use crate::web::visit::{Shell, SignedIn};
use crate::web::words::{When, past_at};
use askama::Template;
use axum::extract::State;
use serde::Deserialize;
use serde_json::Value;
use std::collections::BTreeMap;
use uuid::Uuid;

pub mod check;
pub mod export;
pub(super) mod line;
mod on_record;
mod one;
mod told;
pub mod whom;
pub use one::{attach, file, show, tell};

#[derive(Template)]
#[template(path = "book/list.html")]
struct ListPage {
    shell: Shell,
    rows: Vec<Row>,
    waiting: Vec<(String, ActionRow)>,
    /// What was erased, the latest first: entries of no incident.
    erased: Vec<Line>,
    head: Head,
    /// The last drill, and the next.
    next: Next,
}

struct Row {
    incident: String,
    what: String,
    class: &'static str,
    place: String,
    happened: When,
    stands: &'static str,
}

use line::{ActionRow, Line};

page::puts_right!(OpenPage);

#[derive(Template)]
#[template(path = "book/open.html")]
struct OpenPage {
    shell: Shell,
    problems: Problems,
    typed: Fields,
    injuries: InjuriesKept,
    from: Option<From>,
}

/// The report that it begins with: of a double the one that stays.
struct From {
    id: Uuid,
    reference: String,
    told: String,
    guess: Option<&'static str>,
    /// Its own, and those of its doubles.
    photos: i64,
}

impl Row {
    /// `Incident: Fire`, `Near miss: nothing came of it`
    fn heading(&self) -> String {
        if self.what.starts_with(self.class) {
            self.what.clone()
        } else {
            format!("{}: {}", self.class, self.what)
        }
    }
}

pub(super) fn unread(error: BookFailed) -> PageError {
    match error {
        BookFailed::Store(error) => error.into(),
        BookFailed::NoIncident => PageError::NotFound,
        BookFailed::NotYours => PageError::NotYours(error.to_string()),
        other => PageError::Refused(other.to_string()),
    }
}

fn row(incident: &str, all: &[Sealed], who: &SignedIn) -> Row {
    let story = Story::of(all);
    let opened = all.first().map_or(&Value::Null, |first| &first.entry.body);
    let first = all.first().map_or(0, |first| first.entry.seq);
    let happened = story::happened(all, &story, &who.zone);
    let place = story.instead_of(first, "place");
    let place = place.and_then(|correction| correction.instead.as_deref());
    Row {
        incident: incident.to_owned(),
        what: story.held.map_or("", |(kind, _)| kind.label()).to_owned(),
        class: story.class().map_or("", |class| class.label()),
        place: place
            .or(opened["place"].as_str())
            .unwrap_or_default()
            .to_owned(),
        happened: past_at(happened, who.now, &who.zone),
        stands: if story.is_closed { "closed" } else { "open" },
    }
}

/// GET /book
pub async fn list(State(app): State<App>, who: SignedIn) -> Page {
    let mut conn = app.db.read().await?;
    let told = entries::told(&mut conn, None).await?;
    let drills = drills::stand(&mut conn).await?;
    drop(conn);
    let mut incidents: BTreeMap<String, Vec<Sealed>> = BTreeMap::new();
    for one in sealed(&told.entries).map_err(unread)? {
        let name = one.entry.body["incident"].as_str().unwrap_or_default();
        incidents.entry(name.to_owned()).or_default().push(one);
    }
    let of_none = incidents.remove("").unwrap_or_default();
    let story = Story::of(&of_none);
    let erased = of_none.iter().rev();
    let erased = erased.map(|one| line::line(one, &story, &told, &who));
    let erased = erased.collect();
    let waiting = incidents
        .iter()
        .flat_map(|(name, all)| waiting_of(name, all, &told.parts, &who));
    let mut waiting: Vec<(String, ActionRow)> = waiting.collect();
    waiting.sort_by_key(|(_, row)| row.by_on);
    let rows = incidents.iter().rev();
    page::show(&ListPage {
        shell: who.shell("Incident book"),
        rows: rows.map(|(name, all)| row(name, all, &who)).collect(),
        waiting,
        erased,
        head: told.book_ends,
        next: Next::of(&drills, who.zone.day_of(who.now)),
    })
}

fn waiting_of<'a>(
    incident: &'a str,
    told: &[Sealed],
    parts: &[KeptPart],
    who: &SignedIn,
) -> impl Iterator<Item = (String, ActionRow)> + use<'a> {
    let rows = line::actions(&Story::of(told), parts, who);
    let waiting = rows.into_iter().filter(|row| row.stands.waits());
    waiting.map(move |row| (incident.to_owned(), row))
}

#[derive(Default, Deserialize)]
pub struct Asked {
    #[serde(default)]
    report: String,
}

/// GET /book/new, and with ?report={id} what that told.
pub async fn ask(State(app): State<App>, who: SignedIn, Query(asked): Query<Asked>) -> Page {
    let mut typed = Fields::default();
    // Most are written down soon after; who comes later puts it back.
    put_when(&mut typed, who.now, &who);
    let from = match asked.report.as_str() {
        "" => None,
        id => Some(begun_with(&app, &who, id, Some(&mut typed)).await?),
    };
    page::show(&OpenPage {
        shell: who.shell("Open an incident"),
        problems: Problems::default(),
        typed,
        injuries: who.club.in_danger.injuries,
        from,
    })
}

fn put_when(typed: &mut Fields, at: Instant, who: &SignedIn) {
    typed.put("day", &who.zone.day_of(at).to_string());
    typed.put("time", &who.zone.time_words(at));
}

/// The report, and the form filled with what it told.
async fn begun_with(
    app: &App,
    who: &SignedIn,
    id: &str,
    typed: Option<&mut Fields>,
) -> Result<From, PageError> {
    let id: Uuid = id.parse().map_err(|_| PageError::NotFound)?;
    let mut conn = app.db.read().await?;
    let report = reports::that_stays(&mut conn, id).await?;
    let report = report.ok_or(PageError::NotFound)?;
    let photos = report_photos::count(&mut conn, report.id).await?;
    drop(conn);
    let told = what_is_told(&report);
    if let Some(typed) = typed {
        put_when(typed, report.made_ms.unwrap_or(report.came_ms), who);
        typed.put("place", &report.place_words);
        typed.put("items", report.pack_number.as_deref().unwrap_or_default());
        if report.thing().is_some() {
            typed.put("others", &what_it_is_of(&report));
        }
        typed.put("words", &told);
    }
    Ok(From {
        guess: guess(&report.seen()).map(Kind::label),
        reference: report.reference,
        told,
        photos,
        id: report.id,
    })
}

fn words(fields: &Fields, name: &str) -> Words {
    Words {
        text: fields.text(name),
        names_somebody: fields.is_ticked("names_somebody"),
    }
}

/// What was part of it, `numbers` of which were typed.
fn things<'a>(fields: &Fields, numbers: &'a [String]) -> Things<'a> {
    Things {
        numbers,
        others: words(fields, "others"),
        were_looked_at: were_looked_at(fields),
    }
}

fn were_looked_at(fields: &Fields) -> bool {
    fields.text("packs_now") == "stay"
}

/// When it happened, in the hall's time.
fn happened(fields: &Fields, who: &SignedIn) -> Option<Instant> {
    let day = Day::parse(&fields.text("day"))?;
    who.zone.at(day, &fields.text("time"))
}

/// Where the club keeps nothing of injuries nobody is asked: with what came to nothing nobody was hurt, else it stays open.
fn held(fields: &Fields, who: &SignedIn) -> Option<(Kind, Severity)> {
    let kind = Kind::from_code(&fields.text("kind"))?;
    let came_to_nothing = matches!(kind, Kind::NearMiss | Kind::Hazard);
    let harm = match who.club.in_danger.injuries {
        InjuriesKept::Nothing => came_to_nothing.then_some(Harm::Nobody),
        _ => Harm::from_code(&fields.text("harm")),
    };
    let severity = Severity {
        harm,
        damage: Damage::from_code(&fields.text("damage_was"))?,
        harm_could: Harm::from_code(&fields.text("harm_could"))?,
        damage_could: Damage::from_code(&fields.text("damage_could"))?,
    };
    Some((kind, severity))
}

/// What of it is not chosen, each at its own question.
fn not_held(fields: &Fields) -> Vec<FieldProblem> {
    let damage = |name: &str| Damage::from_code(&fields.text(name)).is_some();
    let has_kind = Kind::from_code(&fields.text("kind")).is_some();
    let has_could = Harm::from_code(&fields.text("harm_could")).is_some();
    let asked = [
        ("kind", has_kind, "Choose what happened."),
        ("harm_could", has_could, "Choose who could have been hurt."),
        (
            "damage_was",
            damage("damage_was"),
            "Choose what was damaged.",
        ),
        (
            "damage_could",
            damage("damage_could"),
            "Choose what could have been damaged.",
        ),
    ];
    let lacking = asked.into_iter().filter(|(_, is_chosen, _)| !is_chosen);
    let problem = |(field, _, words): (&'static str, bool, &str)| FieldProblem {
        field,
        words: words.to_owned(),
    };
    lacking.map(problem).collect()
}

fn opened(fields: &Fields, who: &SignedIn) -> Result<Opened, Problems> {
    let (held, happened) = (held(fields, who), happened(fields, who));
    let doing = Doing::from_code(&fields.text("doing"));
    let (Some((kind, severity)), Some(happened), Some(doing)) = (held, happened, doing) else {
        let mut problems = Problems::default();
        if held.is_none() {
            problems.extend(not_held(fields).into());
        }
        if happened.is_none() {
            problems.add("day", "Say when it happened: day and time.");
        }
        if doing.is_none() {
            problems.add(
                "doing",
                "Choose what was being done; “I don't know” is an answer.",
            );
        }
        return Err(problems);
    };
    Ok(Opened {
        kind,
        severity,
        happened,
        told: who.now,
        place: fields.text("place"),
        involved: Involved::default(),
        doing,
        charging_with: fields.text("charging_with"),
        damage: fields.text("damage"),
        emergency_services: fields.text("emergency_services"),
        words: words(fields, "words"),
        who_was_there: fields.text("who_was_there"),
        lent_to: fields.text("lent_to"),
        injuries: fields.text("injuries"),
        reported: None,
    })
}

/// POST /book/new
pub async fn open(State(app): State<App>, who: SignedIn, fields: Fields) -> Page {
    let from = match fields.text("report").as_str() {
        "" => None,
        id => Some(begun_with(&app, &who, id, None).await?),
    };
    let report = from.as_ref().map(|from| from.id);
    let injuries = who.club.in_danger.injuries;
    let refused = |problems: Problems, typed: Fields| {
        page::put_right(&OpenPage {
            shell: who.shell_refused("Open an incident"),
            problems,
            typed,
            injuries,
            from,
        })
    };
    let opened = match opened(&fields, &who) {
        Ok(opened) => opened,
        Err(problems) => return refused(problems, fields),
    };
    let numbers = numbers(&fields.text("items"));
    let opening = Opening {
        opened,
        things: things(&fields, &numbers),
        report,
    };
    match book::open(&app.db, &who.by(&fields), opening).await {
        Ok(address) => page::go_to(&address),
        Err(BookFailed::Repeat(repeat)) => again(&repeat),
        Err(BookFailed::Told(found)) => refused(found.into(), fields),
        Err(error) => Err(unread(error)),
    }
}

impl OpenPage {
    fn keeps_injuries(&self) -> bool {
        self.injuries != InjuriesKept::Nothing
    }

    fn keeps_words(&self) -> bool {
        self.injuries == InjuriesKept::InWords
    }
}

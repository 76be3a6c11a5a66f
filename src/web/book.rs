//! The incident book: the list of incidents with the head of the chain, one incident entry by entry, and the check of the whole.
//! What may be told next, and in which words it is asked, is `club::book`.

use crate::actions::book::{self, BookFailed, sealed};
use crate::app::App;
use crate::bench::FieldProblem;
use crate::club::book::chain::{Head, Sealed};
use crate::club::book::incident::{Damage, Harm, Kind};
use crate::club::book::part::KeptPart;
use crate::club::book::severity::Severity;
use crate::club::book::story::Story;
use crate::club::book::telling::{Doing, Opened, Words};
use crate::club::calendar::{Day, Instant};
use crate::store::book::entries;
use crate::web::asked::Path;
use crate::web::fields::{Fields, Problems};
use crate::web::pack::again;
use crate::web::page::{self, Page, PageError};
use crate::web::visit::{Shell, SignedIn};
use crate::web::words::{When, past};
use askama::Template;
use axum::extract::State;
use serde_json::Value;
use std::collections::BTreeMap;

#[derive(Template)]
#[template(path = "book/list.html")]
struct ListPage {
    shell: Shell,
    rows: Vec<Row>,
    head: Head,
}

struct Row {
    incident: String,
    what: String,
    class: &'static str,
    place: String,
    happened: When,
    stands: &'static str,
}

pub mod check;
mod told;
use told::telling;

page::puts_right!(OpenPage, OnePage);

#[derive(Template)]
#[template(path = "book/open.html")]
struct OpenPage {
    shell: Shell,
    problems: Problems,
    typed: Fields,
}

#[derive(Template)]
#[template(path = "book/one.html")]
struct OnePage {
    shell: Shell,
    problems: Problems,
    typed: Fields,
    row: Row,
    lines: Vec<Line>,
    head: Head,
    is_closed: bool,
}

/// An entry in words.
struct Line {
    seq: i64,
    kind: String,
    when: When,
    hash: String,
    facts: Vec<(String, String)>,
}

fn unread(error: BookFailed) -> PageError {
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
    let happened = Instant(opened["happened_ms"].as_i64().unwrap_or(0));
    Row {
        incident: incident.to_owned(),
        what: story.held.map_or("", |(kind, _)| kind.label()).to_owned(),
        class: story.class().map_or("", |class| class.label()),
        place: opened["place"].as_str().unwrap_or_default().to_owned(),
        happened: past(happened, who.now, &who.zone),
        stands: if story.is_closed { "closed" } else { "open" },
    }
}

/// GET /book
pub async fn list(State(app): State<App>, who: SignedIn) -> Page {
    let mut conn = app.db.read().await?;
    let (all, head) = entries::all(&mut conn).await?;
    drop(conn);
    let mut incidents: BTreeMap<String, Vec<Sealed>> = BTreeMap::new();
    for one in sealed(&all).map_err(unread)? {
        let name = one.entry.body["incident"].as_str().unwrap_or_default();
        incidents.entry(name.to_owned()).or_default().push(one);
    }
    let rows = incidents.iter().rev();
    page::show(&ListPage {
        shell: who.shell("Incident book"),
        rows: rows.map(|(name, told)| row(name, told, &who)).collect(),
        head,
    })
}

/// GET /book/new
pub async fn ask(who: SignedIn) -> Page {
    page::show(&OpenPage {
        shell: who.shell("Open an incident"),
        problems: Problems::default(),
        typed: Fields::default(),
    })
}

fn words(fields: &Fields, name: &str) -> Words {
    Words {
        text: fields.text(name),
        names_somebody: fields.is_ticked("names_somebody"),
    }
}

/// When it happened, in the hall's time.
fn happened(fields: &Fields, who: &SignedIn) -> Option<Instant> {
    let day = Day::parse(&fields.text("day"))?;
    who.zone.at(day, &fields.text("time"))
}

fn held(fields: &Fields) -> Option<(Kind, Severity)> {
    let severity = Severity {
        harm: Harm::from_code(&fields.text("harm")),
        damage: Damage::from_code(&fields.text("damage_was"))?,
        harm_could: Harm::from_code(&fields.text("harm_could"))?,
        damage_could: Damage::from_code(&fields.text("damage_could"))?,
    };
    Some((Kind::from_code(&fields.text("kind"))?, severity))
}

fn opened(fields: &Fields, who: &SignedIn) -> Result<Opened, Problems> {
    let (held, happened) = (held(fields), happened(fields, who));
    let doing = Doing::from_code(&fields.text("doing"));
    let (Some((kind, severity)), Some(happened), Some(doing)) = (held, happened, doing) else {
        let mut problems = Problems::default();
        if held.is_none() {
            problems.add(
                "kind",
                "Choose what happened, and how grave it was and could have been.",
            );
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
        items: Vec::new(),
        doing,
        charging_with: fields.text("charging_with"),
        damage: fields.text("damage"),
        emergency_services: fields.text("emergency_services"),
        words: words(fields, "words"),
        who_was_there: fields.text("who_was_there"),
        lent_to: fields.text("lent_to"),
        injuries: String::new(),
        frozen: Value::Null,
    })
}

/// POST /book/new
pub async fn open(State(app): State<App>, who: SignedIn, fields: Fields) -> Page {
    let refused = |problems: Problems, typed: Fields| {
        page::put_right(&OpenPage {
            shell: who.shell_refused("Open an incident"),
            problems,
            typed,
        })
    };
    let opened = match opened(&fields, &who) {
        Ok(opened) => opened,
        Err(problems) => return refused(problems, fields),
    };
    let typed = fields.text("items").to_uppercase();
    let numbers: Vec<String> = typed.split_whitespace().map(str::to_owned).collect();
    match book::open(&app.db, &who.by(&fields), opened, &numbers).await {
        Ok(address) => page::go_to(&address),
        Err(BookFailed::Repeat(repeat)) => again(&repeat),
        Err(BookFailed::Told(found)) => refused(found.into(), fields),
        Err(error) => Err(unread(error)),
    }
}

fn fact(value: &Value) -> String {
    match value {
        Value::String(text) => text.clone(),
        Value::Null => String::new(),
        other => other.to_string(),
    }
}

fn line(sealed: &Sealed, parts: &[KeptPart], who: &SignedIn) -> Line {
    let entry = &sealed.entry;
    let body = entry.body.as_object().into_iter().flatten();
    let of_body = body.filter(|(name, _)| *name != "incident" && *name != "frozen");
    let called = |name: &str| name.trim_end_matches("_ms").replace('_', " ");
    let mut facts: Vec<(String, String)> = of_body
        .map(
            |(name, value)| match (name.ends_with("_ms"), value.as_i64()) {
                (true, Some(ms)) => (called(name), past(Instant(ms), who.now, &who.zone).words),
                _ => (called(name), fact(value)),
            },
        )
        .collect();
    for committed in &entry.committed {
        let is_it = |kept: &&KeptPart| kept.seq == entry.seq && kept.part.name == committed.part;
        let words = parts.iter().find(is_it).map(|kept| kept.part.words.clone());
        let words = words.unwrap_or_else(|| "(erased)".to_owned());
        facts.push((called(&committed.part), words));
    }
    facts.retain(|(_, words)| !words.is_empty() && words != "[]");
    Line {
        seq: entry.seq,
        kind: entry.kind.replace('_', " "),
        when: past(entry.at(), who.now, &who.zone),
        hash: sealed.hash.in_groups(),
        facts,
    }
}

async fn one_page(
    app: &App,
    who: &SignedIn,
    incident: &str,
    (problems, typed): (Problems, Fields),
) -> Result<OnePage, PageError> {
    let mut conn = app.db.read().await?;
    let kept = entries::of_incident(&mut conn, incident).await?;
    let parts = entries::parts_of(&mut conn, incident).await?;
    drop(conn);
    let all = sealed(&kept).map_err(unread)?;
    let Some(last) = all.last() else {
        return Err(PageError::NotFound);
    };
    let title = format!("Incident {incident}");
    Ok(OnePage {
        shell: if problems.is_empty() {
            who.shell(title)
        } else {
            who.shell_refused(title)
        },
        problems,
        typed,
        row: row(incident, &all, who),
        lines: all.iter().map(|one| line(one, &parts, who)).collect(),
        head: Head {
            count: last.entry.seq,
            hash: last.hash,
            at_ms: last.entry.at_ms,
        },
        is_closed: Story::of(&all).is_closed,
    })
}

/// GET /book/{incident}
pub async fn show(State(app): State<App>, who: SignedIn, Path(incident): Path<String>) -> Page {
    let fresh = (Problems::default(), Fields::default());
    page::show(&one_page(&app, &who, &incident, fresh).await?)
}

/// POST /book/{incident}: one more entry.
pub async fn tell(
    State(app): State<App>,
    who: SignedIn,
    Path(incident): Path<String>,
    fields: Fields,
) -> Page {
    let Some(telling) = telling(&app, &who, &incident, &fields).await? else {
        // An incident that is not in the book is not here, whatever was sent.
        one_page(&app, &who, &incident, Default::default()).await?;
        let words = "Choose what to write into the book.".to_owned();
        return Err(PageError::Unreadable(words));
    };
    match book::tell(&app.db, &who.by(&fields), &incident, &telling).await {
        Ok(address) => page::go_to(&address),
        Err(BookFailed::Repeat(repeat)) => again(&repeat),
        Err(BookFailed::Told(found)) => {
            let at = fields.text("what");
            let named = |each: FieldProblem| (format!("{at}-{}", each.field), each.words);
            let mut problems = Problems::default();
            for (field, words) in found.into_iter().map(named) {
                problems.add(&field, words);
            }
            page::put_right(&one_page(&app, &who, &incident, (problems, fields)).await?)
        }
        Err(error) => Err(unread(error)),
    }
}

impl OpenPage {
    fn has(&self, field: &str, code: &str) -> bool {
        self.typed.text(field) == code
    }
}

impl OnePage {
    fn of_correction(&self, name: &str) -> &'static str {
        match name {
            "field" => "correct-field",
            "instead" => "correct-instead",
            _ => "correct-why",
        }
    }
}

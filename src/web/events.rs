//! Events: the list, one with its packs, the form for it. Organisers and quartermasters keep them.

use crate::actions::events::{self as keep, EventRefusal, Wanted};
use crate::app::App;
use crate::club::calendar::{Day, day_words};
use crate::club::events::{EventSheet, SheetRefusal};
use crate::club::lending::{in_ranges, key_of, read_numbers};
use crate::store::care::events::{self, Event};
use crate::store::log;
use crate::web::asked::{Path, Query};
use crate::web::fields::{Fields, Problems};
use crate::web::history;
use crate::web::pack::again;
use crate::web::page::{self, Page, PageError};
use crate::web::scanned;
use crate::web::visit::{Shell, SignedIn};
use askama::Template;
use axum::extract::State;
use serde::Deserialize;
use uuid::Uuid;

page::puts_right!(NewPage, EventPage);

/// The list shows so many, the latest on top.
pub const MOST_LISTED: i64 = 200;

#[derive(Template)]
#[template(path = "events/list.html")]
struct ListPage {
    shell: Shell,
    rows: Vec<Row>,
}

struct Row {
    event: Event,
    days: String,
    standing: &'static str,
    packs: usize,
}

impl Row {
    fn of(event: Event, who: &SignedIn) -> Self {
        Self {
            days: days_words(event.first_day(), event.last_day()),
            standing: match () {
                () if event.called_off_ms.is_some() => "Called off",
                () if event.ended_ms.is_some() => "Ended",
                () if event.is_over(who.now) => "Over",
                () if event.starts_ms > who.now => "To come",
                () => "On now",
            },
            packs: event.numbers().len(),
            event,
        }
    }
}

/// `Thu 26 Nov 2026 to Fri 27 Nov 2026`; of one day that day.
pub(super) fn days_words(first: Option<Day>, last: Option<Day>) -> String {
    let day = |day: Option<Day>| day.map_or_else(String::new, day_words);
    let (first, last) = (day(first), day(last));
    if first == last {
        first
    } else {
        format!("{first} to {last}")
    }
}

#[derive(Template)]
#[template(path = "events/new.html")]
struct NewPage {
    shell: Shell,
    form: EventForm,
    problems: Problems,
}

#[derive(Template)]
#[template(path = "events/one.html")]
struct EventPage {
    shell: Shell,
    done: &'static str,
    row: Row,
    numbers: Vec<String>,
    /// Those of them that are in quarantine or set aside, as long as it is not over.
    quarantined: String,
    set_aside: String,
    may_end: bool,
    may_call_off: bool,
    may_change: bool,
    may_begin_round: bool,
    events: Vec<history::Event>,
    form: EventForm,
    problems: Problems,
}

/// As typed.
#[derive(Default)]
struct EventForm {
    called: String,
    place: String,
    first_on: String,
    last_on: String,
    packs: String,
}

impl EventForm {
    fn of(fields: &Fields) -> Self {
        Self {
            called: fields.text("name"),
            place: fields.text("place"),
            first_on: fields.text("first_on"),
            last_on: fields.text("last_on"),
            packs: fields.text("packs"),
        }
    }

    fn standing(event: &Event) -> Self {
        let numbers = event.numbers();
        let keys = numbers.iter().filter_map(|number| key_of(number));
        Self {
            called: event.name.clone(),
            place: event.place.clone(),
            first_on: event.first_on.clone(),
            last_on: event.last_on.clone(),
            packs: in_ranges(keys),
        }
    }

    /// What can't be read as days counts as none.
    async fn read(&self, app: &App, who: &SignedIn) -> Result<Result<Wanted, Problems>, PageError> {
        let sheet = EventSheet {
            name: self.called.clone(),
            place: self.place.clone(),
            first_on: Day::parse(&self.first_on),
            last_on: Day::parse(&self.last_on),
        };
        let line = scanned::as_numbers(app, &self.packs).await?;
        let packs = match read_numbers(&line) {
            Ok(packs) => packs,
            Err(word) => {
                let words = format!("“{word}” is no number of a pack. Write 14 15 17-20.");
                let wrong = sheet.checked(who.zone.day_of(who.now)).err();
                let mut problems = of_sheet(wrong.unwrap_or_default());
                problems.add("packs", words);
                return Ok(Err(problems));
            }
        };
        Ok(Ok(Wanted { sheet, packs }))
    }
}

/// GET /events
pub async fn list(State(app): State<App>, who: SignedIn) -> Page {
    let found = events::list(&mut app.db.read().await?, MOST_LISTED).await?;
    page::show(&ListPage {
        shell: who.shell("Events"),
        rows: found.into_iter().map(|one| Row::of(one, &who)).collect(),
    })
}

/// GET /events/new
pub async fn ask_new(who: SignedIn) -> Page {
    page::show(&NewPage {
        shell: who.shell("Make an event"),
        form: EventForm::default(),
        problems: Problems::default(),
    })
}

/// POST /events/new
pub async fn make(State(app): State<App>, who: SignedIn, fields: Fields) -> Page {
    let form = EventForm::of(&fields);
    let outcome = match form.read(&app, &who).await? {
        Ok(wanted) => keep::make(&app.db, &who.by(&fields), &wanted).await,
        Err(problems) => return new_refused(&who, form, problems),
    };
    match outcome {
        Ok(address) => page::go_to(&address),
        Err(EventRefusal::Repeat(repeat)) => again(&repeat),
        Err(refusal) => new_refused(&who, form, told(refusal)?),
    }
}

fn new_refused(who: &SignedIn, form: EventForm, problems: Problems) -> Page {
    page::put_right(&NewPage {
        shell: who.shell_refused("Make an event"),
        form,
        problems,
    })
}

fn of_sheet(wrong: Vec<SheetRefusal>) -> Problems {
    let mut problems = Problems::default();
    for one in wrong {
        problems.add(one.field(), one.to_string());
    }
    problems
}

fn told(refusal: EventRefusal) -> Result<Problems, PageError> {
    match refusal {
        EventRefusal::Store(error) => Err(error.into()),
        EventRefusal::Gone => Err(PageError::NotFound),
        EventRefusal::Sheet(wrong, of_packs) => {
            let mut problems = of_sheet(wrong);
            if let Some(refusal) = of_packs {
                problems.add(refusal.field(), refusal.to_string());
            }
            Ok(problems)
        }
        other => Ok(Problems::refused(other.field(), &other)),
    }
}

#[derive(Default, Deserialize)]
pub struct Told {
    #[serde(default)]
    done: String,
}

/// GET /events/{id}
pub async fn show(
    State(app): State<App>,
    who: SignedIn,
    Path(id): Path<Uuid>,
    Query(told): Query<Told>,
) -> Page {
    let page = one_page(&app, &who, id, None).await?;
    let done = match told.done.as_str() {
        "made" => "The event is made.",
        "changed" => "The change is kept.",
        "called_off" => "The event is called off. No pack is on its list any more.",
        "ended" => "The event is ended. What was charged for it is due to be put to storage.",
        _ => "",
    };
    page::show(&EventPage { done, ..page })
}

async fn one_page(
    app: &App,
    who: &SignedIn,
    id: Uuid,
    typed: Option<(EventForm, Problems)>,
) -> Result<EventPage, PageError> {
    let mut conn = app.db.read().await?;
    let event = events::by_id(&mut conn, id)
        .await?
        .ok_or(PageError::NotFound)?;
    let told = log::of_subject(&mut conn, id, i64::MAX, 50).await?;
    let mut shell = who.shell(&event.name);
    shell.is_error = typed.is_some();
    let takes_place = event.called_off_ms.is_none();
    let has_begun = event.starts_ms <= who.now;
    let beside = |numbers: Vec<String>| match event.is_over(who.now) {
        true => String::new(),
        false => numbers.join(", "),
    };
    let (form, problems) =
        typed.unwrap_or_else(|| (EventForm::standing(&event), Problems::default()));
    Ok(EventPage {
        shell,
        done: "",
        numbers: event.numbers(),
        quarantined: beside(event.quarantined()),
        set_aside: beside(event.set_aside()),
        may_begin_round: takes_place && has_begun && who.me.is_quartermaster,
        may_end: takes_place && has_begun && !event.is_over(who.now),
        may_call_off: takes_place && !has_begun,
        may_change: takes_place,
        events: history::events(&told, who, who.numbers()),
        row: Row::of(event, who),
        form,
        problems,
    })
}

/// POST /events/{id}
pub async fn change(
    State(app): State<App>,
    who: SignedIn,
    Path(id): Path<Uuid>,
    fields: Fields,
) -> Page {
    let form = EventForm::of(&fields);
    let outcome = match form.read(&app, &who).await? {
        Ok(wanted) => keep::change(&app.db, &who.by(&fields), id, &wanted).await,
        Err(problems) => {
            return page::put_right(&one_page(&app, &who, id, Some((form, problems))).await?);
        }
    };
    match outcome {
        Ok(address) => page::go_to(&address),
        Err(EventRefusal::Repeat(repeat)) => again(&repeat),
        Err(refusal) => {
            let sent = (form, told(refusal)?);
            page::put_right(&one_page(&app, &who, id, Some(sent)).await?)
        }
    }
}

/// POST /events/{id}/call-off
pub async fn call_off(
    State(app): State<App>,
    who: SignedIn,
    Path(id): Path<Uuid>,
    fields: Fields,
) -> Page {
    let is_sure = fields.is_ticked("is_sure");
    let outcome = keep::call_off(&app.db, &who.by(&fields), id, is_sure).await;
    seen_again((&app, &who, id), outcome).await
}

/// POST /events/{id}/end
pub async fn end(
    State(app): State<App>,
    who: SignedIn,
    Path(id): Path<Uuid>,
    fields: Fields,
) -> Page {
    let outcome = keep::end(&app.db, &who.by(&fields), id).await;
    seen_again((&app, &who, id), outcome).await
}

/// Where the event is told, or its page with what was refused.
async fn seen_again(
    (app, who, id): (&App, &SignedIn, Uuid),
    outcome: Result<String, EventRefusal>,
) -> Page {
    match outcome {
        Ok(address) => page::go_to(&address),
        Err(EventRefusal::Repeat(repeat)) => again(&repeat),
        Err(refusal) => {
            let problems = told(refusal)?;
            let mut page = one_page(app, who, id, None).await?;
            page.shell.is_error = true;
            page::put_right(&EventPage { problems, ..page })
        }
    }
}

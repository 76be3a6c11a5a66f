//! Drills of the first minute: those that were held, a form for one more, and by when the next is due.

use crate::actions::prepared::{self as act, PreparedFailed};
use crate::app::App;
use crate::club::calendar::{Day, day_words};
use crate::club::drill::{Drill, seconds_typed, seconds_words};
use crate::store::book::drills::{self as store, Held, Stand};
use crate::store::people;
use crate::web::fields::{Fields, Problems};
use crate::web::pack::again;
use crate::web::page::{self, Page, PageError};
use crate::web::visit::{Shell, SignedIn};
use crate::web::wall_card::unread;
use crate::web::words::{Due, due};
use askama::Template;
use axum::extract::State;

page::puts_right!(ListPage);

#[derive(Template)]
#[template(path = "book/drills.html")]
struct ListPage {
    shell: Shell,
    problems: Problems,
    typed: Fields,
    rows: Vec<Row>,
    next: Next,
    choices: Vec<(String, String)>,
}

struct Row {
    day: String,
    led_by: String,
    people: i64,
    /// `everybody was out after 2:30`, where somebody looked at the clock.
    times: Vec<String>,
    went_well: String,
    to_change: String,
}

/// The last drill and the next, in words.
pub struct Next {
    /// `Fri 20 Nov 2026 with 14 people; everybody was out after 2:30 minutes`; empty: there was none.
    pub last: String,
    /// None: none is due, since there was none and no day is set.
    pub due: Option<Due>,
}

impl Next {
    pub(super) fn of(stand: &Stand, today: Day) -> Self {
        let last = stand.last.map_or_else(String::new, |day| {
            let with = match stand.people {
                1 => "1 person".to_owned(),
                people => format!("{people} people"),
            };
            let out = stand.out_s.map_or_else(String::new, |seconds| {
                format!(
                    "; everybody was out after {} minutes",
                    seconds_words(seconds)
                )
            });
            format!("{} with {with}{out}", day_words(day))
        });
        Self {
            last,
            due: stand.due().map(|day| due(day, today)),
        }
    }
}

fn row(held: Held) -> Row {
    let told = [
        (held.out_s, "everybody was out after"),
        (
            held.called_s,
            "the fire service was called, or would have been, after",
        ),
        (
            held.counted_s,
            "everybody was counted at the meeting point after",
        ),
    ];
    let times = told
        .into_iter()
        .filter_map(|(seconds, words)| Some(format!("{words} {}", seconds_words(seconds?))));
    Row {
        day: Day::parse(&held.held_on).map_or(held.held_on, day_words),
        led_by: held.led_by.unwrap_or_else(|| "(erased)".to_owned()),
        people: held.people,
        times: times.collect(),
        went_well: held.went_well,
        to_change: held.to_change,
    }
}

async fn list_page(
    app: &App,
    who: &SignedIn,
    (problems, typed): (Problems, Fields),
) -> Result<ListPage, PageError> {
    let mut conn = app.db.read().await?;
    let (stand, all) = store::all(&mut conn).await?;
    let people = people::all(&mut conn).await?;
    drop(conn);
    Ok(ListPage {
        shell: if problems.is_empty() {
            who.shell("Drills")
        } else {
            who.shell_refused("Drills")
        },
        problems,
        typed,
        rows: all.into_iter().map(row).collect(),
        next: Next::of(&stand, who.zone.day_of(who.now)),
        choices: people
            .iter()
            .filter(|person| person.is_active())
            .map(|person| (person.id.to_string(), person.called().to_owned()))
            .collect(),
    })
}

/// GET /drills
pub async fn list(State(app): State<App>, who: SignedIn) -> Page {
    let fresh = (Problems::default(), Fields::default());
    page::show(&list_page(&app, &who, fresh).await?)
}

/// A day that may be left empty; what is typed and is no day is told.
fn day_typed(fields: &Fields, name: &str, problems: &mut Problems) -> Option<Day> {
    let typed = fields.text(name);
    let day = Day::parse(&typed);
    if day.is_none() && !typed.is_empty() {
        problems.add(name, "Give the day, like 2027-11-25, or leave it empty.");
    }
    day
}

/// POST /drills
pub async fn note(State(app): State<App>, who: SignedIn, fields: Fields) -> Page {
    let mut problems = Problems::default();
    let held_on = Day::parse(&fields.text("held_on"));
    if held_on.is_none() {
        problems.add("held_on", "Give the day it was held, like 2026-11-25.");
    }
    let next_by = day_typed(&fields, "next_by", &mut problems);
    let drill = Drill {
        held_on: held_on.unwrap_or_else(|| who.zone.day_of(who.now)),
        people: fields.count("people").unwrap_or(0),
        out_s: seconds_typed(&fields.text("out")),
        called_s: seconds_typed(&fields.text("called")),
        counted_s: seconds_typed(&fields.text("counted")),
        went_well: fields.text("went_well"),
        to_change: fields.text("to_change"),
    };
    if !problems.is_empty() {
        return page::put_right(&list_page(&app, &who, (problems, fields)).await?);
    }
    let about = (&drill, fields.id("led_by"));
    let done = act::note(&app.db, &who.by(&fields), about, next_by).await;
    answer(&app, &who, fields, done).await
}

/// POST /drills/due
pub async fn set_due(State(app): State<App>, who: SignedIn, fields: Fields) -> Page {
    let mut problems = Problems::default();
    let day = day_typed(&fields, "drill_by", &mut problems);
    if !problems.is_empty() {
        return page::put_right(&list_page(&app, &who, (problems, fields)).await?);
    }
    let done = act::set_due(&app.db, &who.by(&fields), day).await;
    answer(&app, &who, fields, done).await
}

async fn answer(
    app: &App,
    who: &SignedIn,
    fields: Fields,
    done: Result<(), PreparedFailed>,
) -> Page {
    match done {
        Ok(()) => page::go_to("/drills"),
        Err(PreparedFailed::Repeat(repeat)) => again(&repeat),
        Err(PreparedFailed::Told(found)) => {
            page::put_right(&list_page(app, who, (found.into(), fields)).await?)
        }
        Err(error) => Err(unread(error)),
    }
}

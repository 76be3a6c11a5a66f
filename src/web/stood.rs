//! As it stood on any day and hour: packs, places, holders, states, as one printed page. Told from the log, which stores
//! ids; names are those of today.

use crate::actions::settings::limits_kept;
use crate::actions::standing::Standing;
use crate::app::App;
use crate::club::calendar::{Day, Instant, day_words};
use crate::club::states::{self, State as PackState};
use crate::store::log::{self, Head};
use crate::store::names::{self, Names};
use crate::web::asked::Query;
use crate::web::fields::Problems;
use crate::web::page::{self, Page, PageError};
use crate::web::visit::{Shell, SignedIn};
use askama::Template;
use axum::extract::State;
use serde::Deserialize;

#[derive(Deserialize)]
pub struct Asked {
    #[serde(default)]
    pub(super) day: String,
    #[serde(default)]
    pub(super) time: String,
}

pub(super) struct StoodRow {
    pub number: String,
    pub what: String,
    pub state: PackState,
    pub why: String,
    pub where_words: String,
    pub volts: String,
}

#[derive(Template)]
#[template(path = "stood.html")]
struct StoodPage {
    shell: Shell,
    day: String,
    time: String,
    problems: Problems,
    at: String,
    rows: Vec<StoodRow>,
    count: usize,
    head: Head,
}

/// What is asked about, read: the day, the time as typed, the instant up to which changes count.
pub(super) struct When {
    day: Day,
    time: String,
    pub(super) until: Instant,
    pub(super) problems: Problems,
}

pub(super) fn when(query: &Asked, who: &SignedIn) -> When {
    let today = who.zone.day_of(who.now);
    let day = if query.day.is_empty() {
        Some(today)
    } else {
        Day::parse(&query.day)
    };
    let time = if query.time.is_empty() {
        who.zone.time_words(who.now)
    } else {
        query.time.clone()
    };
    let asked = day.and_then(|day| who.zone.at(day, &time));
    let problems = problems_of(day, asked, who);
    let at = asked.filter(|_| problems.is_empty());
    When {
        day: day.unwrap_or(today),
        time,
        // Within the chosen minute still counts: a change is seen at the minute it was made.
        until: at.map_or(who.now, |at| Instant(at.ms() + 59_999)),
        problems,
    }
}

/// The packs by number, and the head of the log as it is now.
pub(super) async fn rows(
    app: &App,
    who: &SignedIn,
    until: Instant,
) -> Result<(Vec<StoodRow>, Head), PageError> {
    app.limits.whole_log(who.me.person_id)?;
    let mut conn = app.db.read().await?;
    let stood = log::as_it_stood(&mut conn, until).await?;
    let names = names::people_and_places(&mut conn).await?;
    drop(conn);
    let days = limits_kept(stood.settings.as_deref()).reading_days;
    let mut rows: Vec<StoodRow> = stood
        .packs
        .iter()
        .filter_map(|told| row_of(told, &names, who, (until, days)))
        .collect();
    rows.sort_by(|a, b| (a.number.len(), &a.number).cmp(&(b.number.len(), &b.number)));
    Ok((rows, stood.head))
}

/// GET /stood
pub async fn show(State(app): State<App>, who: SignedIn, Query(query): Query<Asked>) -> Page {
    let When {
        day,
        time,
        until,
        problems,
    } = when(&query, &who);
    let (rows, head) = rows(&app, &who, until).await?;
    page::show(&StoodPage {
        shell: who.shell("As it stood"),
        day: day.to_string(),
        problems,
        at: format!(
            "{}, {}",
            who.zone.date_words(until),
            who.zone.time_words(until)
        ),
        time,
        count: rows.len(),
        head,
        rows,
    })
}

fn problems_of(day: Option<Day>, at: Option<Instant>, who: &SignedIn) -> Problems {
    let mut problems = Problems::default();
    let is_to_come = at.is_some_and(|at| at > who.now);
    let field = match day {
        Some(day) if is_to_come && day == who.zone.day_of(who.now) => "time",
        _ => "day",
    };
    if is_to_come {
        problems.add(field, "That has not come yet.".to_owned());
    } else if at.is_none() {
        let words = "Write the day as 2026-11-27 and the time as 21:30.";
        problems.add(field, words.to_owned());
    }
    problems
}

/// `told`: by the log, and what it is. `at`: the instant, and how many days a reading held then.
fn row_of(
    told: &(String, String),
    names: &Names,
    who: &SignedIn,
    at: (Instant, i64),
) -> Option<StoodRow> {
    let ((after, what), (at, days)) = (told, at);
    let standing: Standing = serde_json::from_str(after).ok()?;
    let stored = PackState::from_code(&standing.state)?;
    let is_too_old = stored.is_lendable()
        && standing
            .read_ms
            .is_none_or(|ms| states::is_old(Instant(ms), at, days));
    let is_away = matches!(
        stored,
        PackState::Lost | PackState::GivenAway | PackState::Withdrawn
    );
    let due = standing.due.as_deref().and_then(Day::parse);
    let where_words = match (standing.holder, standing.place) {
        _ if is_away => String::new(),
        (Some(holder), _) => format!(
            "out: {}{}",
            names.of(holder),
            due.map_or_else(String::new, |day| format!(", due {}", day_words(day)))
        ),
        (None, Some(place)) => names.of(place).to_owned(),
        (None, None) => String::new(),
    };
    Some(StoodRow {
        number: standing.number,
        what: what.clone(),
        state: if is_too_old {
            PackState::NotKnown
        } else {
            stored
        },
        why: if is_too_old {
            format!("Its last reading was older than {days} days.")
        } else {
            who.numbers().sentence(&standing.why)
        },
        where_words,
        volts: standing
            .volts
            .as_deref()
            .and_then(crate::battery::volts::Volts::from_text)
            .map_or_else(String::new, |volts| {
                who.numbers()
                    .sentence(&crate::battery::volts::words(&volts))
            }),
    })
}

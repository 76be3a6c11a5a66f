//! GET /going-away: the club closes for some weeks; what must be done before, in order.

use crate::app::App;
use crate::club::calendar::{Day, day_words};
use crate::club::going_away::{MOST_DAYS, Step, before_closing, charging_before, check_before};
use crate::club::place_checks::Check;
use crate::store::StoreError;
use crate::store::care::{self, InCare};
use crate::store::places::{self, Place};
use crate::web::asked::Query;
use crate::web::fields::Problems;
use crate::web::page::{self, Page, PageError};
use crate::web::visit::{Shell, SignedIn};
use askama::Template;
use axum::extract::State;
use serde::Deserialize;

#[derive(Template)]
#[template(path = "going_away.html")]
struct AwayPage {
    shell: Shell,
    problems: Problems,
    until: String,
    /// None: nothing was asked, or not what can be planned.
    shown: Option<Shown>,
}

struct Shown {
    until: String,
    days: i64,
    steps: Vec<(Step, Vec<Row>)>,
}

pub struct Row {
    /// Of a pack; of a check the name of its place.
    pub number: String,
    pub href: String,
    pub whom: String,
    pub why: String,
}

#[derive(Default, Deserialize)]
pub struct Asked {
    #[serde(default)]
    until: String,
}

/// GET /going-away
pub async fn show(State(app): State<App>, who: SignedIn, Query(asked): Query<Asked>) -> Page {
    let mut problems = Problems::default();
    let day = match asked.until.as_str() {
        "" => None,
        typed => problems.keep("until", until(typed, &who)),
    };
    let shown = match day {
        Some((day, days)) => Some(shown(all(&app, day, &who).await?, (day, days))),
        None => None,
    };
    let is_wrong = !problems.is_empty();
    let page = AwayPage {
        shell: if is_wrong {
            who.shell_refused("Going away")
        } else {
            who.shell("Going away")
        },
        problems,
        until: asked.until,
        shown,
    };
    if is_wrong {
        page::refused(&page)
    } else {
        page::show(&page)
    }
}

/// The day, and how many days ahead it is.
fn until(typed: &str, who: &SignedIn) -> Result<(Day, i64), String> {
    let today = who.zone.day_of(who.now);
    let dated = Day::parse(typed).map(|day| (day, today.days_until(day)));
    let planned = dated.filter(|(_, days)| (1..=MOST_DAYS).contains(days));
    planned.ok_or_else(|| format!("Choose a day from tomorrow on, {MOST_DAYS} days ahead at most."))
}

/// What must be done before, in order, for programs. No day: nothing.
pub async fn before(app: &App, who: &SignedIn, typed: &str) -> Result<Vec<(Step, Row)>, PageError> {
    if typed.is_empty() {
        return Ok(Vec::new());
    }
    let (day, _) = until(typed, who).map_err(PageError::Unreadable)?;
    let mut all = all(app, day, who).await?;
    all.sort_by_key(|(step, _)| *step);
    Ok(all)
}

async fn all(app: &App, day: Day, who: &SignedIn) -> Result<Vec<(Step, Row)>, StoreError> {
    let mut conn = app.db.read().await?;
    let packs = care::in_use(&mut conn).await?;
    let places = places::all_open(&mut conn).await?;
    drop(conn);
    let of_packs = packs.iter().filter_map(|one| of_pack(one, day, who));
    let of_places = places.iter().flat_map(|place| of_place(place, day));
    Ok(of_packs.chain(of_places).collect())
}

fn of_pack(one: &InCare, day: Day, who: &SignedIn) -> Option<(Step, Row)> {
    let on_record = one.on_record(&who.club.limits(), who.now);
    let when = (who.now, who.zone.start_of(day), &who.zone);
    // At an event that goes on it is out as well, and comes back used.
    let is_out = on_record.is_out || one.holder().is_some();
    let by_storage = before_closing(&on_record, is_out, &who.club.care(), when);
    let is_held = by_storage.as_ref().map(|(step, _)| *step) == Some(Step::Quarantine);
    let charge = one.now.charge().filter(|_| !is_held);
    let by_charge = charge.map(|charge| {
        let at = (who.now, &who.zone);
        let why = charging_before(&charge.charger_number, charge.until, at);
        (Step::Charging, why)
    });
    let (step, why) = by_charge.or(by_storage)?;
    let row = Row {
        number: one.pack.number.clone(),
        href: format!("/packs/{}", one.pack.number),
        whom: one.holder_name().unwrap_or_default().to_owned(),
        why: who.numbers().sentence(&why),
    };
    Some((step, row))
}

fn of_place(place: &Place, until: Day) -> Vec<(Step, Row)> {
    let days = [
        (Check::Extinguisher, &place.extinguisher_check_due),
        (Check::Detector, &place.detector_check_due),
    ];
    let row = |why| Row {
        number: place.name.clone(),
        href: format!("/places/{}", place.id),
        whom: String::new(),
        why,
    };
    days.into_iter()
        .filter_map(|(check, due)| {
            let due = due.as_deref().and_then(Day::parse);
            let why = check_before(check, due, until)?;
            Some((Step::Checks, row(why)))
        })
        .collect()
}

fn shown(all: Vec<(Step, Row)>, (day, days): (Day, i64)) -> Shown {
    let mut steps: Vec<(Step, Vec<Row>)> = Step::ALL.map(|step| (step, Vec::new())).into();
    for (step, row) in all {
        if let Some((_, rows)) = steps.iter_mut().find(|(each, _)| *each == step) {
            rows.push(row);
        }
    }
    steps.retain(|(_, rows)| !rows.is_empty());
    Shown {
        until: day_words(day),
        days,
        steps,
    }
}

//! GET /going-away: the club closes for some weeks; what must be done before, in order.

use crate::app::App;
use crate::club::calendar::{Day, day_words};
use crate::club::going_away::{MOST_DAYS, Step, before_closing};
use crate::store::care::{self, InCare};
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
    pub number: String,
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
        Some((day, days)) => {
            let packs = care::in_use(&mut app.db.read().await?).await?;
            Some(shown(all(&packs, day, &who), (day, days)))
        }
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
    let packs = care::in_use(&mut app.db.read().await?).await?;
    let mut all = all(&packs, day, who);
    all.sort_by_key(|(step, _)| *step);
    Ok(all)
}

fn all(packs: &[InCare], day: Day, who: &SignedIn) -> Vec<(Step, Row)> {
    let rules = who.club.care();
    let when = (who.now, who.zone.start_of(day), &who.zone);
    let mut all: Vec<(Step, Row)> = Vec::new();
    for one in packs {
        let on_record = one.on_record(&who.club.limits(), who.now);
        let is_out = one.holder().is_some();
        if let Some((step, why)) = before_closing(&on_record, is_out, &rules, when) {
            let row = Row {
                number: one.pack.number.clone(),
                whom: one.holder_name().unwrap_or_default().to_owned(),
                why: who.numbers().sentence(&why),
            };
            all.push((step, row));
        }
    }
    all
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

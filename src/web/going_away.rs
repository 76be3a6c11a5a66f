//! GET /going-away: the club closes for some weeks; what must be done before, in order.

use crate::app::App;
use crate::club::calendar::{Day, day_words};
use crate::club::going_away::{MOST_DAYS, Step, before_closing};
use crate::store::care::{self, InCare};
use crate::web::asked::Query;
use crate::web::fields::Problems;
use crate::web::page::{self, Page};
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

struct Row {
    number: String,
    whom: String,
    why: String,
}

#[derive(Default, Deserialize)]
pub struct Asked {
    #[serde(default)]
    until: String,
}

/// GET /going-away
pub async fn show(State(app): State<App>, who: SignedIn, Query(asked): Query<Asked>) -> Page {
    let today = who.zone.day_of(who.now);
    let day = Day::parse(&asked.until);
    let days = day.map(|day| today.days_until(day));
    let mut problems = Problems::default();
    let shown = match (asked.until.is_empty(), day, days) {
        (true, _, _) => None,
        (_, Some(day), Some(days)) if (1..=MOST_DAYS).contains(&days) => {
            let packs = care::in_use(&mut app.db.read().await?).await?;
            Some(shown(&packs, (day, days), &who))
        }
        _ => {
            let words = format!("Choose a day from tomorrow on, {MOST_DAYS} days ahead at most.");
            problems.add("until", words);
            None
        }
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

fn shown(packs: &[InCare], (day, days): (Day, i64), who: &SignedIn) -> Shown {
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
                why,
            };
            all.push((step, row));
        }
    }
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

//! Checking the incident book: that it holds in itself, and against an end that was once printed.

use crate::actions::book;
use crate::app::App;
use crate::club::book::chain::Head;
use crate::club::book::check::Break;
use crate::club::book::digest::Digest;
use crate::club::calendar::{Instant, utc_typed};
use crate::web::asked::Query;
use crate::web::fields::Problems;
use crate::web::page::{self, Page};
use crate::web::visit::{Shell, SignedIn};
use askama::Template;
use axum::extract::State;
use serde::Deserialize;

#[derive(Template)]
#[template(path = "book/check.html")]
struct CheckPage {
    shell: Shell,
    problems: Problems,
    printed: Printed,
    head: Option<Head>,
    broken: Option<String>,
    /// The book holds; what was typed can't have been printed so.
    mistyped: Option<String>,
    is_compared: bool,
}

#[derive(Default, Deserialize)]
pub struct Printed {
    #[serde(default)]
    number: String,
    #[serde(default)]
    seal: String,
    /// In UTC, as printed; empty: not compared.
    #[serde(default)]
    time: String,
}

impl Printed {
    fn head(&self) -> Result<Option<Head>, Problems> {
        let typed = [&self.number, &self.seal, &self.time].map(|text| text.trim());
        if typed.iter().all(|text| text.is_empty()) {
            return Ok(None);
        }
        let [number, seal, time] = typed;
        let mut problems = Problems::default();
        let count = number.parse().ok().filter(|count| *count > 0);
        if count.is_none() {
            let words = "Type the number of the last entry as it was printed.";
            problems.add("number", words);
        }
        let hash = Digest::typed(seal);
        if let Err(wrong) = &hash {
            problems.add("seal", wrong.to_string());
        }
        let at = utc_typed(time);
        if at.is_none() && !time.is_empty() {
            let words = "Type the time as it was printed, like 2026-11-27T21:40:05Z, or leave it.";
            problems.add("time", words);
        }
        match (count, hash) {
            (Some(count), Ok(hash)) if problems.is_empty() => Ok(Some(Head {
                count,
                hash,
                at_ms: at.map_or(0, Instant::ms),
            })),
            _ => Err(problems),
        }
    }
}

/// GET /book/check?number=…&seal=…&time=…
pub async fn show(State(app): State<App>, who: SignedIn, Query(printed): Query<Printed>) -> Page {
    app.limits.whole_log(who.me.person_id)?;
    let asked = printed.head();
    let against: Vec<Head> = asked.iter().flatten().copied().collect();
    let found = book::verify(&app.db, &against).await?;
    let is_compared = !against.is_empty();
    let head = found.as_ref().ok().copied();
    let broken = found.err();
    let is_mistype = broken.as_ref().is_some_and(Break::is_mistype);
    let told = broken.map(|broken| broken.to_string());
    let (mistyped, broken) = if is_mistype {
        (told, None)
    } else {
        (None, told)
    };
    let problems = asked.err().unwrap_or_default();
    let is_refused = !problems.is_empty();
    let title = "Check the incident book";
    let page = CheckPage {
        shell: if is_refused {
            who.shell_refused(title)
        } else {
            who.shell(title)
        },
        problems,
        printed,
        head,
        broken,
        mistyped,
        is_compared,
    };
    if is_refused {
        page::refused(&page)
    } else {
        page::show(&page)
    }
}

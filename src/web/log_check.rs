//! Checking the log: that each entry commits to the one before it, and that an entry still carries the seal which a report
//! once printed. Against that, cutting off the end or writing the whole anew is found too.

use crate::app::App;
use crate::club::people::Role;
use crate::store::log::{self, Checked, Head};
use crate::web::asked::Query;
use crate::web::fields::Problems;
use crate::web::page::{self, Page, PageError};
use crate::web::visit::{Shell, SignedIn};
use askama::Template;
use axum::extract::State;
use serde::Deserialize;

#[derive(Deserialize)]
pub struct Printed {
    #[serde(default)]
    number: String,
    #[serde(default)]
    seal: String,
}

/// What became of the entry that a report named.
enum Compared {
    NotAsked,
    Same(i64),
    Other(i64),
    CutOff(i64),
}

#[derive(Template)]
#[template(path = "log_check.html")]
struct CheckPage {
    shell: Shell,
    problems: Problems,
    printed: Printed,
    head: Head,
    /// The first entry that does not commit to the one before it.
    first_break: Option<i64>,
    compared: Compared,
    reads_log: bool,
}

impl Printed {
    /// People type long rows of signs in groups.
    fn plain_seal(&self) -> String {
        let signs = self.seal.chars().filter(|sign| !sign.is_whitespace());
        signs.flat_map(char::to_lowercase).collect()
    }
}

/// `number`: whose seal is wanted.
pub(super) async fn checked(app: &App, who: &SignedIn, number: i64) -> Result<Checked, PageError> {
    app.limits.whole_log(who.me.person_id)?;
    Ok(log::check(&mut app.db.read().await?, number).await?)
}

/// GET /log/check?number=…&seal=…
pub async fn show(State(app): State<App>, who: SignedIn, Query(printed): Query<Printed>) -> Page {
    let number = printed.number.trim().parse().ok().filter(|seq| *seq > 0);
    let problems = problems_of(&printed, number);
    let found = checked(&app, &who, number.unwrap_or(0)).await?;
    let typed = printed.plain_seal();
    let compared = match (number.filter(|_| problems.is_empty()), found.seal) {
        (None, _) => Compared::NotAsked,
        (Some(seq), None) => Compared::CutOff(seq),
        (Some(seq), Some(seal)) if seal == typed => Compared::Same(seq),
        (Some(seq), Some(_)) => Compared::Other(seq),
    };
    let is_refused = !problems.is_empty();
    let page = CheckPage {
        shell: if is_refused {
            who.shell_refused("Check the log")
        } else {
            who.shell("Check the log")
        },
        problems,
        printed,
        head: found.head,
        first_break: found.first_break,
        compared,
        reads_log: who.has(Role::Organiser),
    };
    if is_refused {
        page::refused(&page)
    } else {
        page::show(&page)
    }
}

fn problems_of(printed: &Printed, number: Option<i64>) -> Problems {
    let mut problems = Problems::default();
    let is_asked = !printed.number.trim().is_empty() || !printed.seal.trim().is_empty();
    if is_asked && number.is_none() {
        problems.add("number", "Type the entry's number as it is printed.");
    }
    if is_asked && !crate::ids::is_token(&printed.plain_seal()) {
        let words = "Type the seal as it is printed: 64 of the digits 0 to 9 and a to f.";
        problems.add("seal", words);
    }
    problems
}

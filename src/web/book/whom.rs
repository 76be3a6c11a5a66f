//! Who must or may be told of an incident: the club's checklist with general hints by country, and how it stands for one.

use crate::actions::prepared::{self as act, PreparedFailed};
use crate::app::App;
use crate::club::book::chain::Sealed;
use crate::club::book::whom::{COUNTRIES, Checklist, State as Stands, stands};
use crate::store::book::entries;
use crate::web::fields::{Fields, Problems};
use crate::web::first_minute::Advice;
use crate::web::pack::again;
use crate::web::page::{self, Page};
use crate::web::visit::{Shell, SignedIn};
use crate::web::wall_card::unread;
use crate::web::words::past_at;
use askama::Template;
use axum::extract::State;

page::puts_right!(ListPage);

#[derive(Template)]
#[template(path = "book/whom.html")]
struct ListPage {
    shell: Shell,
    problems: Problems,
    list: String,
    usual: String,
    is_set: bool,
    countries: Vec<(&'static str, Vec<Advice>)>,
}

fn list_page(shell: Shell, problems: Problems, list: String, is_set: bool) -> ListPage {
    let hints = |country: &crate::club::book::whom::Country| {
        let hints = country.hints.iter().map(|line| Advice::from(*line));
        (country.name, hints.collect())
    };
    ListPage {
        shell,
        problems,
        list,
        usual: Checklist::usual().as_typed(),
        is_set,
        countries: COUNTRIES.iter().map(hints).collect(),
    }
}

/// GET /book/whom-to-tell
pub async fn ask(State(app): State<App>, who: SignedIn) -> Page {
    let list = entries::checklist(&mut app.db.read().await?).await?;
    let shell = who.shell("Who is told of an incident");
    page::show(&list_page(
        shell,
        Problems::default(),
        list.as_typed(),
        list.is_set(),
    ))
}

/// POST /book/whom-to-tell
pub async fn keep(State(app): State<App>, who: SignedIn, fields: Fields) -> Page {
    let typed = fields.raw("list").to_owned();
    let list = Checklist::typed(&typed);
    match act::keep_checklist(&app.db, &who.by(&fields), &list).await {
        Ok(()) => page::go_to("/book/whom-to-tell"),
        Err(PreparedFailed::Repeat(repeat)) => again(&repeat),
        Err(PreparedFailed::Told(found)) => {
            let shell = who.shell_refused("Who is told of an incident");
            page::put_right(&list_page(shell, found.into(), typed, true))
        }
        Err(error) => Err(unread(error)),
    }
}

/// A line of the checklist as an incident's page tells it.
pub struct ToTell {
    pub whom: String,
    pub when: String,
    /// `told today, 18:40`; empty: nobody said yet.
    pub stands: String,
}

pub(super) fn to_tell(list: Checklist, entries: &[Sealed], who: &SignedIn) -> Vec<ToTell> {
    let all = stands(&list.in_force(), entries, &who.zone);
    let line = |(one, state): (crate::club::book::whom::Whom, Stands)| ToTell {
        whom: one.whom,
        when: one.when,
        stands: match state {
            Stands::Open => String::new(),
            Stands::Told(at) => format!("told {}", past_at(at, who.now, &who.zone).words),
            Stands::NotTold(why) => format!("need not be told: {why}"),
        },
    };
    all.into_iter().map(line).collect()
}

//! Who takes an unfinished pack of a storage round home, and by which day it is to be done.

use crate::actions::rounds::{self as keep, RoundRefusal};
use crate::app::App;
use crate::club::calendar::Day;
use crate::club::storage_round::{HomeRefusal, Sorted};
use crate::store::care::rounds::{self, OnRound};
use crate::store::names;
use crate::web::asked::{Path, Query};
use crate::web::fields::{Fields, Problems};
use crate::web::pack::again;
use crate::web::page::{self, Page, PageError};
use crate::web::rounds::{stands, told};
use crate::web::visit::{Shell, SignedIn};
use askama::Template;
use axum::extract::State;
use serde::Deserialize;
use uuid::Uuid;

page::puts_right!(HomePage);

#[derive(Template)]
#[template(path = "rounds/home.html")]
struct HomePage {
    shell: Shell,
    problems: Problems,
    typed: Fields,
    id: Uuid,
    open: Vec<(String, String)>,
    people: Vec<(String, String)>,
}

async fn home_page(
    app: &App,
    who: &SignedIn,
    id: Uuid,
    (problems, typed): (Problems, Fields),
) -> Result<HomePage, PageError> {
    let mut conn = app.db.read().await?;
    let all = rounds::packs_of(&mut conn, id).await?;
    let people = names::places_and_active_people(&mut conn).await?;
    drop(conn);
    if all.is_empty() {
        return Err(PageError::NotFound);
    }
    let mut shell = who.shell("Who takes it home");
    shell.is_error = !problems.is_empty();
    let is_left = |one: &&OnRound| {
        let stands = stands(one, who);
        stands.is_open() && stands != Sorted::DontTouch
    };
    let open = all.iter().filter(is_left).map(|one| {
        let number = one.care.pack.number.clone();
        let words = format!("{number}: {}", stands(one, who).label().to_lowercase());
        (number, words)
    });
    let mut people: Vec<(String, String)> = people
        .into_iter()
        .filter(|(is_place, _, _)| !is_place)
        .map(|(_, id, name)| (id.to_string(), name))
        .collect();
    people.sort_by_key(|(_, name)| name.to_lowercase());
    Ok(HomePage {
        shell,
        problems,
        typed,
        id,
        open: open.collect(),
        people,
    })
}

#[derive(Default, Deserialize)]
pub struct OfPack {
    #[serde(default)]
    pack: String,
}

/// GET /storage-rounds/{id}/home
pub async fn ask_home(
    State(app): State<App>,
    who: SignedIn,
    Path(id): Path<Uuid>,
    Query(of): Query<OfPack>,
) -> Page {
    let typed = Fields::new(vec![("home_pack".to_owned(), of.pack)]);
    page::show(&home_page(&app, &who, id, (Problems::default(), typed)).await?)
}

/// All that nobody chose or gave, in the order of the form.
fn missing(number: &str, person: Option<Uuid>, until: Option<Day>) -> Problems {
    let all = [
        (
            number.is_empty(),
            "home_pack",
            "Choose the pack.".to_owned(),
        ),
        (
            person.is_none(),
            "person",
            HomeRefusal::NoPerson.to_string(),
        ),
        (until.is_none(), "by", HomeRefusal::Day.to_string()),
    ];
    let mut problems = Problems::default();
    for (is_missing, field, words) in all {
        if is_missing {
            problems.add(field, words);
        }
    }
    problems
}

/// POST /storage-rounds/{id}/home
pub async fn take_home(
    State(app): State<App>,
    who: SignedIn,
    Path(id): Path<Uuid>,
    fields: Fields,
) -> Page {
    let number = fields.text("home_pack").to_uppercase();
    let person = fields.id("person");
    let until = Day::parse(&fields.text("by"));
    let by = who.by(&fields);
    let missing = missing(&number, person, until);
    let problems = if !missing.is_empty() {
        missing
    } else {
        match keep::take_home(&app.db, &by, (id, &number), (person, until)).await {
            Ok(address) => return page::go_to(&address),
            Err(RoundRefusal::Repeat(repeat)) => return again(&repeat),
            Err(RoundRefusal::NotOnRound(_)) => Problems::one("home_pack", "Choose the pack."),
            Err(refusal) => told(refusal)?,
        }
    };
    page::put_right(&home_page(&app, &who, id, (problems, fields)).await?)
}

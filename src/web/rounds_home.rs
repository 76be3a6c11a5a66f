//! Who takes an unfinished pack of a storage round home, and by which day it is to be done.

use crate::actions::hand_out::borrower_from;
use crate::actions::rounds::RoundRefusal;
use crate::actions::rounds_home as keep;
use crate::app::App;
use crate::club::calendar::Day;
use crate::club::lending::{Borrower, borrower_refusal};
use crate::club::storage_round::{HomeRefusal, Sorted, sorted};
use crate::store::care::InCare;
use crate::store::care::rounds::{self, HereOrHeld};
use crate::store::people;
use crate::web::asked::{Path, Query};
use crate::web::fields::{Fields, Problems};
use crate::web::pack::again;
use crate::web::page::{self, Page, PageError};
use crate::web::rounds::told;
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
    /// Why it can go home with nobody; empty where somebody may take it.
    nobody: &'static str,
}

/// Of those who may borrow at all nobody was shown how.
const NOBODY_SHOWN: &str = "Nobody can take one home: nobody here was shown safe charging and handling, or it ran out. Show it to somebody, and note it as their induction on their page.";
/// All of those have care of their own to see to first.
const OWN_CARE_FIRST: &str = "Nobody can take one home: whoever was shown how has packs of their own to put to storage, more than a week overdue. That comes first; To see to says which.";

async fn home_page(
    app: &App,
    who: &SignedIn,
    id: Uuid,
    (problems, typed): (Problems, Fields),
) -> Result<HomePage, PageError> {
    let mut conn = app.db.read().await?;
    let all = rounds::packs_and_held(&mut conn, id).await?;
    let people = people::who_may_borrow(&mut conn, who.zone.day_of(who.now)).await?;
    drop(conn);
    if all.iter().all(|one| one.added_ms.is_none()) {
        return Err(PageError::NotFound);
    }
    let mut shell = who.shell("Who takes it home");
    shell.is_error = !problems.is_empty();
    let open = all.iter().filter_map(|one| may_go(one, who)).collect();
    let held: Vec<InCare> = all.into_iter().map(|one| one.care).collect();
    let by = who.by(&Fields::default());
    let people: Vec<_> = people.into_iter().map(borrower_from).collect();
    let was_anybody_shown = people.iter().any(|one| borrower_refusal(one).is_none());
    let may_take = |one: &Borrower| keep::against_person(&by, one, &held).is_empty();
    let may_take: Vec<_> = people.into_iter().filter(may_take).collect();
    Ok(HomePage {
        shell,
        problems,
        typed,
        id,
        open,
        nobody: match (may_take.is_empty(), was_anybody_shown) {
            (false, _) => "",
            (true, true) => OWN_CARE_FIRST,
            (true, false) => NOBODY_SHOWN,
        },
        people: may_take
            .into_iter()
            .map(|one| (one.id.to_string(), one.name))
            .collect(),
    })
}

/// Its number, and that with how it stands; None: it is not on the round, is done, or goes home with nobody.
fn may_go(one: &HereOrHeld, who: &SignedIn) -> Option<(String, String)> {
    let added = one.added_ms?;
    let on_record = one.care.on_record(&who.club.limits(), who.now);
    let stands = sorted(&on_record, added, one.care.is_in_use());
    let is_left = stands.is_open() && stands != Sorted::DontTouch;
    let pack = &one.care.pack;
    // Of one that is at home already the day may be changed.
    let taker = pack.home_id.unwrap_or_default();
    let by = who.by(&Fields::default());
    let goes = is_left && keep::against_pack(&by, (&one.care, added), taker).is_empty();
    let words = format!("{}: {}", pack.number, stands.label().to_lowercase());
    goes.then(|| (pack.number.clone(), words))
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

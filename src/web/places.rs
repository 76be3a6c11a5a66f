//! Places: the list with what lies in each and whether it is too much, one place with its history, and the form for it.

use crate::actions::arrange_places::{self, PlaceRefusal};
use crate::actions::once::Repeat;
use crate::app::App;
use crate::bench::typed::Words;
use crate::club::calendar::{Day, day_words};
use crate::club::people::Role;
use crate::club::places::{PlaceKind, over_by_mwh};
use crate::store::log;
use crate::store::places::{self, Holding, Place};
use crate::web::asked::{Path, Query};
use crate::web::fields::{Fields, Problems};
use crate::web::history::{self, Event};
use crate::web::page::{self, Page, PageError};
use crate::web::visit::{Shell, SignedIn};
use crate::web::words::degrees;
use askama::Template;
use axum::extract::State;
use serde::Deserialize;
use uuid::Uuid;

mod typed;
use typed::{PlaceForm, sheet};

page::puts_right!(PlacePage, NewPage);

#[derive(Template)]
#[template(path = "places/list.html")]
struct ListPage {
    shell: Shell,
    are_closed: bool,
    may_change: bool,
    rows: Vec<Row>,
}

/// A place with its amounts in words; `over` is by how much it holds more than its limit.
struct Row {
    held: Holding,
    kind: &'static str,
    energy: String,
    limit: Option<String>,
    over: Option<String>,
    warmth: Option<String>,
    /// What stands by there, each with the day of its next check.
    checks: Vec<(&'static str, String)>,
}

#[derive(Template)]
#[template(path = "places/one.html")]
struct PlacePage {
    shell: Shell,
    done: &'static str,
    may_change: bool,
    may_reopen: bool,
    row: Row,
    events: Vec<Event>,
    form: PlaceForm,
    problems: Problems,
}

#[derive(Template)]
#[template(path = "places/new.html")]
struct NewPage {
    shell: Shell,
    form: PlaceForm,
    problems: Problems,
}

#[derive(Default, Deserialize)]
pub struct Wanted {
    #[serde(default)]
    closed: String,
}

impl Wanted {
    pub(super) fn are_closed(&self) -> bool {
        !self.closed.is_empty()
    }
}

#[derive(Default, Deserialize)]
pub struct Told {
    #[serde(default)]
    done: String,
}

/// GET /places
pub async fn list(State(app): State<App>, who: SignedIn, Query(wanted): Query<Wanted>) -> Page {
    let are_closed = wanted.are_closed();
    let held = places::holdings(&mut app.db.read().await?, are_closed).await?;
    page::show(&ListPage {
        shell: who.shell(if are_closed {
            "Closed places"
        } else {
            "Places"
        }),
        are_closed,
        may_change: who.has(Role::Quartermaster),
        rows: held.into_iter().map(|held| row(held, &who)).collect(),
    })
}

/// GET /places/new
pub async fn ask_new(who: SignedIn) -> Page {
    page::show(&NewPage {
        shell: who.shell("Add a place"),
        form: PlaceForm::of(&Fields::default(), &who),
        problems: Problems::default(),
    })
}

/// POST /places/new
pub async fn add(State(app): State<App>, who: SignedIn, fields: Fields) -> Page {
    let problems = match sheet(&fields, &who) {
        Ok(sheet) => match arrange_places::add_place(&app.db, &who.by(&fields), sheet).await {
            Ok(address) => return page::go_to(&address),
            Err(refusal) => answer(refusal)?,
        },
        Err(problems) => Refused::For(problems),
    };
    match problems {
        Refused::Before(address) => page::go_to(&address),
        Refused::For(problems) => page::put_right(&NewPage {
            shell: who.shell_refused("Add a place"),
            form: PlaceForm::of(&fields, &who),
            problems,
        }),
    }
}

/// GET /places/{id}
pub async fn show(
    State(app): State<App>,
    who: SignedIn,
    Path(id): Path<Uuid>,
    Query(told): Query<Told>,
) -> Page {
    let page = place_page(&app, &who, id, None).await?;
    let done = match told.done.as_str() {
        "added" => "The place is added.",
        "changed" => "The change is kept.",
        "closed" => "The place is closed. Its history stays.",
        "reopened" => "The place is open again.",
        _ => "",
    };
    page::show(&PlacePage { done, ..page })
}

/// POST /places/{id}
pub async fn change(
    State(app): State<App>,
    who: SignedIn,
    Path(id): Path<Uuid>,
    fields: Fields,
) -> Page {
    let refused = match sheet(&fields, &who) {
        Ok(sheet) => {
            match arrange_places::change_place(&app.db, &who.by(&fields), id, sheet).await {
                Ok(address) => return page::go_to(&address),
                Err(refusal) => answer(refusal)?,
            }
        }
        Err(problems) => Refused::For(problems),
    };
    match refused {
        Refused::Before(address) => page::go_to(&address),
        Refused::For(problems) => page::put_right(
            &place_page(
                &app,
                &who,
                id,
                Some((PlaceForm::of(&fields, &who), problems)),
            )
            .await?,
        ),
    }
}

/// POST /places/{id}/close
pub async fn close(
    State(app): State<App>,
    who: SignedIn,
    Path(id): Path<Uuid>,
    fields: Fields,
) -> Page {
    let outcome = arrange_places::close_place(&app.db, &who.by(&fields), id).await;
    after(&app, &who, id, outcome).await
}

/// POST /places/{id}/reopen
pub async fn reopen(
    State(app): State<App>,
    who: SignedIn,
    Path(id): Path<Uuid>,
    fields: Fields,
) -> Page {
    let outcome = arrange_places::reopen_place(&app.db, &who.by(&fields), id).await;
    after(&app, &who, id, outcome).await
}

async fn after(app: &App, who: &SignedIn, id: Uuid, outcome: Result<String, PlaceRefusal>) -> Page {
    let refusal = match outcome {
        Ok(address) => return page::go_to(&address),
        Err(refusal) => refusal,
    };
    match answer(refusal)? {
        Refused::Before(address) => page::go_to(&address),
        Refused::For(problems) => {
            let mut page = place_page(app, who, id, None).await?;
            page.shell.is_error = true;
            page::put_right(&PlacePage { problems, ..page })
        }
    }
}

/// A form that was carried out before leads to the same answer; one that must be put right names its fields.
enum Refused {
    Before(String),
    For(Problems),
}

fn answer(refusal: PlaceRefusal) -> Result<Refused, PageError> {
    let field = match &refusal {
        PlaceRefusal::NameTaken => "name",
        PlaceRefusal::LastQuarantine | PlaceRefusal::HoldsQuarantined { .. } => "kind",
        _ => "close",
    };
    match refusal {
        PlaceRefusal::Repeat(Repeat::Done(address)) => Ok(Refused::Before(address)),
        PlaceRefusal::Repeat(other) => Err(PageError::Refused(other.to_string())),
        PlaceRefusal::Gone => Err(PageError::NotFound),
        PlaceRefusal::Store(error) => Err(error.into()),
        PlaceRefusal::Fields(found) => Ok(Refused::For(Problems::from(found))),
        other => Ok(Refused::For(Problems::refused(field, &other))),
    }
}

/// With `typed`, the form as it was refused; else as the place stands.
async fn place_page(
    app: &App,
    who: &SignedIn,
    id: Uuid,
    typed: Option<(PlaceForm, Problems)>,
) -> Result<PlacePage, PageError> {
    let mut conn = app.db.read().await?;
    let held = places::holding(&mut conn, id)
        .await?
        .ok_or(PageError::NotFound)?;
    let told = log::of_subject(&mut conn, id, i64::MAX, 50).await?;
    let words = words_of(who);
    let is_refused = typed.is_some();
    let (form, problems) =
        typed.unwrap_or_else(|| (PlaceForm::standing(&held.place, who), Problems::default()));
    let mut shell = who.shell(&held.place.name);
    shell.is_error = is_refused;
    Ok(PlacePage {
        shell,
        done: "",
        may_change: who.has(Role::Quartermaster) && held.place.closed_ms.is_none(),
        may_reopen: who.has(Role::Quartermaster) && held.place.closed_ms.is_some(),
        row: row(held, who),
        events: history::events(&told, who, words),
        form,
        problems,
    })
}

pub(super) fn words_of(who: &SignedIn) -> Words {
    who.numbers()
}

fn row(held: Holding, who: &SignedIn) -> Row {
    let words = words_of(who);
    let limit_mwh = held.place.energy_limit_mwh;
    Row {
        kind: held.place.kind().map_or("Place", PlaceKind::label),
        energy: words.watt_hours(held.energy_mwh),
        limit: limit_mwh.map(|mwh| words.watt_hours(mwh)),
        over: over_by_mwh(held.energy_mwh, limit_mwh).map(|mwh| words.watt_hours(mwh)),
        warmth: held
            .place
            .warmth_celsius
            .map(|celsius| degrees(celsius, who.club.uses_fahrenheit)),
        checks: checks(&held.place),
        held,
    }
}

fn checks(place: &Place) -> Vec<(&'static str, String)> {
    let all = [
        ("Fire extinguisher", &place.extinguisher_check_due),
        ("Smoke or heat detector", &place.detector_check_due),
    ];
    let told = all.into_iter().filter_map(|(what, day)| {
        let day = Day::parse(day.as_deref()?)?;
        Some((what, day_words(day)))
    });
    told.collect()
}

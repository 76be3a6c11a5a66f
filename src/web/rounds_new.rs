//! Beginning a storage round: what came back, by number, with an event's list, or all that lies at a place.

use crate::actions::rounds::{self as keep, Began, RoundRefusal};
use crate::app::App;
use crate::club::calendar::{Day, Instant};
use crate::store::names::{self, CameFrom};
use crate::web::asked::Query;
use crate::web::events::days_words;
use crate::web::fields::{Fields, Problems};
use crate::web::pack::again;
use crate::web::page::{self, Page, PageError};
use crate::web::rounds::{other_round, told, typed_packs};
use crate::web::visit::{Shell, SignedIn};
use askama::Template;
use axum::extract::State;
use serde::Deserialize;
use uuid::Uuid;

page::puts_right!(NewPage);

#[derive(Template)]
#[template(path = "rounds/new.html")]
struct NewPage {
    shell: Shell,
    problems: Problems,
    typed: Fields,
    /// The open round on which all of it is.
    other: Option<Uuid>,
    places: Vec<(String, String)>,
    events: Vec<(String, String)>,
}

async fn new_page(
    app: &App,
    (shell, now): (Shell, Instant),
    (problems, typed): (Problems, Fields),
) -> Result<NewPage, PageError> {
    let mut conn = app.db.read().await?;
    let choices = names::places_and_events(&mut conn, now).await?;
    let of_kind = |is_place: bool| {
        let of_it = choices.iter().filter(|one| one.is_place == is_place);
        of_it.map(|one| (one.id.to_string(), called(one))).collect()
    };
    Ok(NewPage {
        shell,
        problems,
        typed,
        other: None,
        places: of_kind(true),
        events: of_kind(false),
    })
}

/// `Autumn Bouts, Thu 26 Nov 2026 to Fri 27 Nov 2026, Town hall`: events of one name are told apart by their days.
fn called(one: &CameFrom) -> String {
    let days = days_words(Day::parse(&one.first_on), Day::parse(&one.last_on));
    let parts = [one.name.as_str(), &days, &one.place];
    let said = parts.into_iter().filter(|part| !part.is_empty());
    said.collect::<Vec<_>>().join(", ")
}

#[derive(Default, Deserialize)]
pub struct ForWhat {
    #[serde(default)]
    event: String,
    #[serde(default)]
    packs: String,
}

/// GET /storage-rounds/new
pub async fn ask_new(State(app): State<App>, who: SignedIn, Query(of): Query<ForWhat>) -> Page {
    let typed = [("event", of.event), ("packs", of.packs)];
    let typed = Fields::new(typed.map(|(name, text)| (name.to_owned(), text)).to_vec());
    let shell = who.shell("Begin a storage round");
    page::show(&new_page(&app, (shell, who.now), (Problems::default(), typed)).await?)
}

/// POST /storage-rounds/new
pub async fn begin(State(app): State<App>, who: SignedIn, fields: Fields) -> Page {
    let outcome = match typed_packs(&app, &fields.text("packs")).await? {
        Ok(packs) => {
            let began = Began {
                name: fields.text("name"),
                packs,
                event_id: fields.id("event"),
                place_id: fields.id("place"),
            };
            keep::open(&app.db, &who.by(&fields), &began).await
        }
        Err(mut problems) => {
            if let Err(refusal) = keep::called(&fields.text("name")) {
                problems.extend(told(refusal)?);
            }
            let shell = who.shell_refused("Begin a storage round");
            return page::put_right(&new_page(&app, (shell, who.now), (problems, fields)).await?);
        }
    };
    match outcome {
        Ok(address) => page::go_to(&address),
        Err(RoundRefusal::Repeat(repeat)) => again(&repeat),
        Err(refusal) => {
            let shell = who.shell_refused("Begin a storage round");
            let other = other_round(&refusal);
            let page = new_page(&app, (shell, who.now), (told(refusal)?, fields)).await?;
            page::put_right(&NewPage { other, ..page })
        }
    }
}

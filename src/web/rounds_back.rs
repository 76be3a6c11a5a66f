//! A pack that somebody took home from a storage round is back: at which place of the club it lies now.

use crate::actions::rounds::RoundRefusal;
use crate::actions::rounds_home as keep;
use crate::app::App;
use crate::store::packs::PackView;
use crate::store::places;
use crate::web::asked::Path;
use crate::web::fields::{Fields, Problems};
use crate::web::pack::{again, named};
use crate::web::page::{self, Page, PageError};
use crate::web::rounds::told;
use crate::web::visit::{Shell, SignedIn};
use askama::Template;
use axum::extract::State;

page::puts_right!(BackPage);

#[derive(Template)]
#[template(path = "rounds/back.html")]
struct BackPage {
    shell: Shell,
    problems: Problems,
    number: String,
    /// Who has it at home; None: nobody.
    with: Option<String>,
    place: String,
    places: Vec<(String, String)>,
}

async fn back_page(
    app: &App,
    who: &SignedIn,
    pack: PackView,
    (problems, typed): (Problems, Option<String>),
) -> Result<BackPage, PageError> {
    let places = places::all_open(&mut app.db.read().await?).await?;
    let mut shell = who.shell(format!("{} is back", pack.number));
    shell.is_error = !problems.is_empty();
    let own = || pack.place_id.map_or_else(String::new, |id| id.to_string());
    Ok(BackPage {
        shell,
        problems,
        with: pack.home_id.and(pack.with_name().map(str::to_owned)),
        place: typed.unwrap_or_else(own),
        places: places
            .into_iter()
            .map(|place| (place.id.to_string(), place.name))
            .collect(),
        number: pack.number,
    })
}

/// GET /packs/{number}/back
pub async fn ask(State(app): State<App>, who: SignedIn, Path(number): Path<String>) -> Page {
    let pack = named(&app, &number).await?;
    page::show(&back_page(&app, &who, pack, (Problems::default(), None)).await?)
}

/// POST /packs/{number}/back
pub async fn is_back(
    State(app): State<App>,
    who: SignedIn,
    Path(number): Path<String>,
    fields: Fields,
) -> Page {
    let pack = named(&app, &number).await?;
    let by = who.by(&fields);
    match keep::is_back(&app.db, &by, &pack.number, fields.id("place")).await {
        Ok(address) => page::go_to(&address),
        Err(RoundRefusal::Repeat(repeat)) => again(&repeat),
        Err(refusal) => {
            let sent = (told(refusal)?, Some(fields.text("place")));
            page::put_right(&back_page(&app, &who, pack, sent).await?)
        }
    }
}

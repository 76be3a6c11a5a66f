//! Codes on the wall: made, printed as a page of their own, and ended.

use crate::actions::posters::{self, PosterFailed};
use crate::app::App;
use crate::bench::form::Refusal;
use crate::club::hall::Hall;
use crate::paper::code::Code;
use crate::paper::poster::{Poster as Set, pdf as set_poster};
use crate::paper::sheet::Paper;
use crate::store::book::posters::{self as store, Poster};
use crate::web::asked::{Path, Query};
use crate::web::fields::{Fields, Problems};
use crate::web::label_sheet::Base;
use crate::web::pack::again;
use crate::web::page::{self, Page, PageError};
use crate::web::press;
use crate::web::visit::{Shell, SignedIn};
use crate::web::wall_card::OnPaper;
use askama::Template;
use axum::extract::State;
use axum::http::header;
use axum::response::IntoResponse;
use uuid::Uuid;

page::puts_right!(ListPage);

#[derive(Template)]
#[template(path = "report/posters.html")]
struct ListPage {
    shell: Shell,
    problems: Problems,
    called: String,
    posters: Vec<Poster>,
}

#[derive(Template)]
#[template(path = "report/poster.html")]
struct PosterPage {
    shell: Shell,
    poster: Poster,
    club_name: String,
    hall: Hall,
    address: String,
    /// Why phones may not open its address.
    warning: &'static str,
}

fn address(poster: &Poster) -> String {
    format!("{}/p/{}", poster.base, poster.code)
}

async fn list_page(
    app: &App,
    shell: Shell,
    (problems, called): (Problems, String),
) -> Result<ListPage, PageError> {
    Ok(ListPage {
        shell,
        problems,
        called,
        posters: store::all(&mut app.db.read().await?).await?,
    })
}

/// GET /posters
pub async fn list(State(app): State<App>, who: SignedIn) -> Page {
    let fresh = (Problems::default(), String::new());
    page::show(&list_page(&app, who.shell("Posters"), fresh).await?)
}

/// POST /posters
pub async fn make(State(app): State<App>, who: SignedIn, fields: Fields) -> Page {
    let name = fields.text("name");
    match posters::make(&app.db, &who.by(&fields), &name, &who.base).await {
        Ok(address) => page::go_to(&address),
        Err(PosterFailed::Repeat(repeat)) => again(&repeat),
        Err(PosterFailed::Store(error)) => Err(error.into()),
        Err(refusal) => {
            let problems = Problems::one("name", refusal.to_string()).by(refusal.against());
            let shell = who.shell_refused("Posters");
            page::put_right(&list_page(&app, shell, (problems, name)).await?)
        }
    }
}

async fn found(app: &App, id: Uuid) -> Result<Poster, PageError> {
    let found = store::by_id(&mut app.db.read().await?, id).await?;
    found.ok_or(PageError::NotFound)
}

/// GET /posters/{id}: to be printed.
pub async fn show(State(app): State<App>, who: SignedIn, Path(id): Path<Uuid>) -> Page {
    let poster = found(&app, id).await?;
    page::show(&PosterPage {
        shell: who.shell(format!("Poster: {}", poster.name)),
        club_name: who.club.name.clone(),
        hall: who.club.hall.clone(),
        address: address(&poster),
        warning: Base::of(poster.base.clone()).warning,
        poster,
    })
}

/// GET /posters/{id}/code.svg
pub async fn picture(State(app): State<App>, _: SignedIn, Path(id): Path<Uuid>) -> Page {
    let poster = found(&app, id).await?;
    if poster.ended_ms.is_some() {
        return Err(PageError::NotFound);
    }
    let code = Code::of(&address(&poster));
    let code = code.map_err(|error| PageError::Internal(error.to_string()))?;
    Ok(([(header::CONTENT_TYPE, "image/svg+xml")], code.svg()).into_response())
}

/// GET /posters/{id}/poster.pdf
pub async fn pdf(
    State(app): State<App>,
    who: SignedIn,
    Path(id): Path<Uuid>,
    Query(asked): Query<OnPaper>,
) -> Page {
    app.limits.export(who.network, who.me.person_id)?;
    let poster = found(&app, id).await?;
    if poster.ended_ms.is_some() {
        return Err(PageError::NotFound);
    }
    let hall = &who.club.hall;
    let set = Set {
        title: format!("{}: poster, {}", who.club.name, poster.name),
        first: "Smoke, heat, hissing or fire: get everybody out and call the fire service first.",
        call: hall.emergency_number.clone(),
        hall: hall.address.clone(),
        meet: hall.meeting_point.clone(),
        address: address(&poster),
        words: format!(
            "A swollen or hot pack, a visitor's pack, a charger, a socket: scan, tick, send. {} reads it.",
            who.club.name
        ),
        foot: format!("{}: {}", who.club.name, poster.name),
    };
    let paper = Paper::from_code(&asked.paper).unwrap_or(Paper::A4);
    let set = press::set(&app, move || set_poster(&set, paper)).await?;
    let bytes = set.map_err(|error| PageError::Internal(error.to_string()))?;
    press::as_pdf("poster", bytes)
}

/// POST /posters/{id}/end
pub async fn end(
    State(app): State<App>,
    who: SignedIn,
    Path(id): Path<Uuid>,
    fields: Fields,
) -> Page {
    match posters::end(&app.db, &who.by(&fields), id).await {
        Ok(()) => page::go_to("/posters"),
        Err(PosterFailed::Repeat(repeat)) => again(&repeat),
        Err(PosterFailed::Store(error)) => Err(error.into()),
        Err(PosterFailed::NoPoster) => Err(PageError::NotFound),
        Err(refusal) => Err(PageError::Refused(refusal.to_string())),
    }
}

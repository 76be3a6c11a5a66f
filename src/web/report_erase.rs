//! Erasing a report's photo or its words: read back before it is done, for it can't be undone.

use crate::actions::erase_reports::{self, Chosen, has_words};
use crate::actions::see_to_reports::SeeToFailed;
use crate::app::App;
use crate::bench::form::Refusal;
use crate::store::book::reports::{self, Report};
use crate::web::asked::Path;
use crate::web::fields::{Fields, Problems};
use crate::web::pack::again;
use crate::web::page::{self, Page, PageError};
use crate::web::reports::{what_is_told, what_it_is_of};
use crate::web::visit::{Shell, SignedIn};
use askama::Template;
use axum::extract::State;
use uuid::Uuid;

page::puts_right!(ErasePage);

#[derive(Template)]
#[template(path = "report/erase.html")]
struct ErasePage {
    shell: Shell,
    problems: Problems,
    typed: Fields,
    of: String,
    told: String,
    has_words: bool,
    report: Report,
}

async fn erase_page(
    app: &App,
    id: Uuid,
    (shell, problems, typed): (Shell, Problems, Fields),
) -> Result<ErasePage, PageError> {
    let report = reports::by_id(&mut app.db.read().await?, id).await?;
    let report = report.ok_or(PageError::NotFound)?;
    Ok(ErasePage {
        shell,
        problems,
        typed,
        of: what_it_is_of(&report),
        told: what_is_told(&report),
        has_words: has_words(&report),
        report,
    })
}

const TITLE: &str = "Erase a report's photo or words";

/// GET /reports/{id}/erase
pub async fn ask(State(app): State<App>, who: SignedIn, Path(id): Path<Uuid>) -> Page {
    let fresh = (who.shell(TITLE), Problems::default(), Fields::default());
    page::show(&erase_page(&app, id, fresh).await?)
}

/// POST /reports/{id}/erase
pub async fn erase(
    State(app): State<App>,
    who: SignedIn,
    Path(id): Path<Uuid>,
    fields: Fields,
) -> Page {
    let chosen = Chosen {
        photo: fields.is_ticked("photo"),
        words: fields.is_ticked("words"),
    };
    let why = fields.text("why");
    match erase_reports::erase(&app.db, &who.by(&fields), id, (chosen, &why)).await {
        Ok(()) => page::go_to(&format!("/reports/{id}")),
        Err(SeeToFailed::Repeat(repeat)) => again(&repeat),
        Err(SeeToFailed::Store(error)) => Err(error.into()),
        Err(SeeToFailed::NoReport) => Err(PageError::NotFound),
        Err(refusal) => {
            let field = match refusal {
                SeeToFailed::NothingChosen | SeeToFailed::ErasedAlready => "what",
                _ => "why",
            };
            let problems = Problems::one(field, refusal.to_string()).by(refusal.against());
            let filled = (who.shell_refused(TITLE), problems, fields);
            page::put_right(&erase_page(&app, id, filled).await?)
        }
    }
}

//! The link that asks whether an address for mail is its reader's: GET shows a button, POST says yes, without a sign-in. A program
//! that looks at links by itself therefore confirms nothing.

use crate::actions::confirm_address::{Asked, asked, confirm as confirmed};
use crate::app::App;
use crate::web::asked::Path;
use crate::web::page::{self, Page, PageError};
use crate::web::visit::{Shell, Visit};
use askama::Template;
use axum::extract::State;

#[derive(Template)]
#[template(path = "mail/confirm_page.html")]
struct ConfirmPage {
    shell: Shell,
    address: String,
    token: String,
    is_done: bool,
}

/// Unknown, too old, or of another address by now: all alike.
fn shown(app: &App, visit: &Visit, token: String, asked: Option<Asked>) -> Page {
    let Some(asked) = asked else {
        app.limits.label(visit.network)?;
        return Err(PageError::NotFound);
    };
    page::show(&ConfirmPage {
        shell: visit.shell("Your address"),
        address: asked.address,
        token,
        is_done: asked.is_confirmed,
    })
}

/// GET /confirm-address/{token}
pub async fn ask(State(app): State<App>, visit: Visit, Path(token): Path<String>) -> Page {
    let mut conn = app.db.read().await?;
    let found = asked(&mut conn, &token, app.clock.now()).await?;
    drop(conn);
    shown(&app, &visit, token, found)
}

/// POST /confirm-address/{token}
pub async fn confirm(State(app): State<App>, visit: Visit, Path(token): Path<String>) -> Page {
    let done = confirmed(&app.db, &token, app.clock.now()).await?;
    shown(&app, &visit, token, done)
}

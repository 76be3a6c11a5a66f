//! The way out of a mail: GET shows a button, POST ends what it says, without a sign-in, as RFC 8058 asks of the one-click header.
//! A link that fetches pages by itself therefore ends nothing.

use crate::actions::choose_reminders::{Ends, end_by_link, ends_of_link};
use crate::app::App;
use crate::club::reminders::Kind;
use crate::web::asked::{Path, Query};
use crate::web::page::{self, Page, PageError};
use crate::web::visit::{Shell, Visit};
use askama::Template;
use axum::extract::State;
use serde::Deserialize;

#[derive(Template)]
#[template(path = "mail/unsubscribe.html")]
struct EndPage {
    shell: Shell,
    kinds: Vec<Kind>,
    /// Nobody said that the address is theirs: nothing is ended.
    is_unconfirmed: bool,
    address: String,
    is_done: bool,
}

#[derive(Default, Deserialize)]
pub struct Asked {
    #[serde(default)]
    kind: String,
}

impl Asked {
    /// Of which kind alone; Err: of none that there is.
    fn only(&self) -> Result<Option<Kind>, PageError> {
        if self.kind.is_empty() {
            return Ok(None);
        }
        let kind = Kind::from_code(&self.kind).ok_or(PageError::NotFound)?;
        Ok(Some(kind))
    }

    fn address(&self, token: &str) -> String {
        if self.kind.is_empty() {
            format!("/unsubscribe/{token}")
        } else {
            format!("/unsubscribe/{token}?kind={}", self.kind)
        }
    }
}

fn shown(app: &App, visit: &Visit, (ends, address): (Option<Ends>, String), is_done: bool) -> Page {
    let Some(ends) = ends else {
        app.limits.label(visit.network)?;
        return Err(PageError::NotFound);
    };
    let is_ended = is_done && !ends.is_unconfirmed;
    page::show(&EndPage {
        shell: visit.shell(if is_ended {
            "Reminders ended"
        } else {
            "End reminders"
        }),
        kinds: ends.kinds,
        is_unconfirmed: ends.is_unconfirmed,
        address,
        is_done,
    })
}

/// GET /unsubscribe/{token}
pub async fn ask(
    State(app): State<App>,
    visit: Visit,
    Path(token): Path<String>,
    Query(asked): Query<Asked>,
) -> Page {
    let only = asked.only()?;
    let mut conn = app.db.read().await?;
    let found = ends_of_link(&mut conn, (&token, only)).await?;
    drop(conn);
    shown(&app, &visit, (found, asked.address(&token)), false)
}

/// POST /unsubscribe/{token}: what is sent along does not matter, so that any mail program's click counts.
pub async fn end(
    State(app): State<App>,
    visit: Visit,
    Path(token): Path<String>,
    Query(asked): Query<Asked>,
) -> Page {
    let only = asked.only()?;
    let ended = end_by_link(&app.db, (&token, only), app.clock.now()).await?;
    shown(&app, &visit, (ended, asked.address(&token)), true)
}

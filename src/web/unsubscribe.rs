//! The way out of a mail: GET shows a button, POST ends what it says, without a sign-in, as RFC 8058 asks of the one-click header.
//! A link that fetches pages by itself therefore ends nothing.

use crate::actions::choose_reminders::{end_by_link, kinds_of_link};
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

/// GET /unsubscribe/{token}
pub async fn ask(
    State(app): State<App>,
    visit: Visit,
    Path(token): Path<String>,
    Query(asked): Query<Asked>,
) -> Page {
    let only = asked.only()?;
    let Some((_, kinds)) = kinds_of_link(&app.db, &token, only).await? else {
        app.limits.label(visit.network)?;
        return Err(PageError::NotFound);
    };
    page::show(&EndPage {
        shell: visit.shell("End reminders"),
        kinds,
        address: asked.address(&token),
        is_done: false,
    })
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
    let Some(kinds) = ended else {
        app.limits.label(visit.network)?;
        return Err(PageError::NotFound);
    };
    page::show(&EndPage {
        shell: visit.shell("Reminders ended"),
        kinds,
        address: asked.address(&token),
        is_done: true,
    })
}

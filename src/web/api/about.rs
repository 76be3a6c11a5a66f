//! What there is to read about the API: a short page for people, the document for programs.

use super::document;
use super::trouble::Kind;
use crate::web::page::{self, Page};
use crate::web::visit::{Shell, Visit};
use askama::Template;
use axum::http::header;
use axum::response::IntoResponse;

#[derive(Template)]
#[template(path = "api.html")]
struct AboutPage {
    shell: Shell,
    base: String,
    kinds: [Kind; 14],
    is_signed_in: bool,
}

/// GET /api
pub async fn show(visit: Visit) -> Page {
    page::show(&AboutPage {
        shell: visit.shell("API"),
        base: visit.base.clone(),
        kinds: Kind::ALL,
        is_signed_in: visit.me.is_some(),
    })
}

/// GET /api/openapi.json: open to everybody, it holds no secret.
pub async fn document() -> Page {
    let kind = [(header::CONTENT_TYPE, "application/json")];
    Ok((kind, document::text()).into_response())
}

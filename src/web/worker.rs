//! GET /worker.js: what a phone runs to show the page of reports without network. It stands at the root, since a script answers
//! for no address above its own. It keeps that one page and what it is drawn with, and nothing else.

use crate::web::assets;
use crate::web::page::{Page, PageError};
use axum::http::header;
use axum::response::IntoResponse;

/// What the page is drawn with.
const FILES: [&str; 5] = [
    "sandbucket.css",
    "bucket.svg",
    "atkinson-hyperlegible-next-latin-wght-normal.woff2",
    "report.js",
    "waiting.js",
];

/// GET /worker.js
pub async fn script() -> Page {
    let files = serde_json::to_string(&FILES.map(assets::at));
    let files = files.map_err(|error| PageError::Internal(error.to_string()))?;
    let text = assets::text("worker.js").ok_or(PageError::NotFound)?;
    let kind = [(header::CONTENT_TYPE, "text/javascript; charset=utf-8")];
    Ok((kind, format!("const FILES = {files};\n{text}")).into_response())
}

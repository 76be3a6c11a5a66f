//! Style, script, font and marks, carried inside the program. The address holds a digest of them all, so that a
//! browser may keep them for ever and still never shows an old one.

use crate::web::asked::Path;
use crate::web::page::{Page, PageError};
use axum::http::header;
use axum::response::IntoResponse;
use rust_embed::RustEmbed;
use std::sync::LazyLock;

#[derive(RustEmbed)]
#[folder = "static/"]
struct Files;

static BUILD: LazyLock<String> = LazyLock::new(|| {
    let mut names: Vec<_> = Files::iter().collect();
    names.sort_unstable();
    let hashes: String = names
        .iter()
        .filter_map(|name| Files::get(name))
        .map(|file| format!("{:?}", file.metadata.sha256_hash()))
        .collect();
    crate::ids::digest(&hashes)[..12].to_owned()
});

/// Where a page finds the file `name`.
pub fn at(name: &str) -> String {
    format!("/static/{}/{name}", *BUILD)
}

/// GET /static/{build}/{name}
pub async fn serve(Path((build, name)): Path<(String, String)>) -> Page {
    let file = Files::get(&name).ok_or(PageError::NotFound)?;
    let keep = if build == *BUILD {
        "public, max-age=31536000, immutable"
    } else {
        "no-cache"
    };
    let headers = [
        (header::CONTENT_TYPE, kind_of(&name)),
        (header::CACHE_CONTROL, keep),
    ];
    Ok((headers, file.data).into_response())
}

fn kind_of(name: &str) -> &'static str {
    match name.rsplit('.').next() {
        Some("css") => "text/css; charset=utf-8",
        Some("js") => "text/javascript; charset=utf-8",
        Some("svg") => "image/svg+xml",
        Some("woff2") => "font/woff2",
        Some("png") => "image/png",
        _ => "text/plain; charset=utf-8",
    }
}

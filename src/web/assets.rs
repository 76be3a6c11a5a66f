//! Style, script, font and marks, carried inside the program. The address holds a digest of them all, so that a
//! browser may keep them for ever and still never shows an old one. Texts are compressed once, as small as it goes.

use crate::web::asked::Path;
use crate::web::page::{Page, PageError};
use axum::http::{HeaderMap, HeaderValue, header};
use axum::response::IntoResponse;
use flate2::{Compression, write::GzEncoder};
use rust_embed::RustEmbed;
use std::borrow::Cow;
use std::collections::BTreeMap;
use std::io::Write;
use std::sync::{Arc, LazyLock, Mutex};

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

/// Compressed when first asked for: a start need not wait for files that nobody wants yet.
static COMPRESSED: Mutex<BTreeMap<String, Arc<[u8]>>> = Mutex::new(BTreeMap::new());

/// Where a page finds the file `name`.
pub fn at(name: &str) -> String {
    format!("/static/{}/{name}", *BUILD)
}

/// A file that is sent with something before it.
pub fn text(name: &str) -> Option<String> {
    let file = Files::get(name)?;
    String::from_utf8(file.data.into_owned()).ok()
}

/// Our scripts go out without the lines that are comments alone: every phone in the hall would carry them. A library's stay, its licence is one.
fn sent(name: &str, data: Cow<'static, [u8]>) -> Cow<'static, [u8]> {
    match std::str::from_utf8(&data) {
        Ok(text) if name.ends_with(".js") && !name.starts_with("qr-") => {
            let is_comment = |line: &&str| {
                let line = line.trim_start();
                line.starts_with("//") || (line.starts_with("/**") && line.ends_with("*/"))
            };
            let lines = text.split_inclusive('\n');
            lines
                .filter(|line| !is_comment(&line.trim_end()))
                .collect::<String>()
                .into_bytes()
                .into()
        }
        _ => data,
    }
}

/// GET /static/{build}/{name}
pub async fn serve(Path((build, name)): Path<(String, String)>, asked: HeaderMap) -> Page {
    let file = Files::get(&name).ok_or(PageError::NotFound)?;
    let data = sent(&name, file.data);
    let keep = if build == *BUILD {
        "public, max-age=31536000, immutable"
    } else {
        "no-cache"
    };
    let kind = kind_of(&name);
    let headers = [(header::CONTENT_TYPE, kind), (header::CACHE_CONTROL, keep)];
    // A font is compressed already.
    if kind == "font/woff2" {
        return Ok((headers, data).into_response());
    }
    let small = takes_gzip(&asked)
        .then(|| compressed(&name, &data))
        .flatten();
    let mut response = match small {
        Some(small) => {
            let encoding = [(header::CONTENT_ENCODING, "gzip")];
            (headers, encoding, small.to_vec()).into_response()
        }
        None => (headers, data).into_response(),
    };
    let vary = HeaderValue::from_static("accept-encoding");
    response.headers_mut().insert(header::VARY, vary);
    Ok(response)
}

/// Named, or anything goes, and not with a weight of nothing.
fn takes_gzip(asked: &HeaderMap) -> bool {
    let texts = asked.get_all(header::ACCEPT_ENCODING).iter();
    let mut named = texts
        .filter_map(|value| value.to_str().ok())
        .flat_map(|text| text.split(','));
    named.any(|one| {
        let mut parts = one.split(';').map(str::trim);
        let is_gzip = matches!(parts.next(), Some("gzip" | "x-gzip" | "*"));
        let weight = parts.find_map(|part| part.strip_prefix("q="));
        let is_wanted = weight.is_none_or(|text| text.parse::<f32>().is_ok_and(|q| q > 0.0));
        is_gzip && is_wanted
    })
}

fn compressed(name: &str, data: &[u8]) -> Option<Arc<[u8]>> {
    let mut kept = COMPRESSED.lock().ok()?;
    if let Some(small) = kept.get(name) {
        return Some(small.clone());
    }
    let mut encoder = GzEncoder::new(Vec::new(), Compression::best());
    encoder.write_all(data).ok()?;
    let small: Arc<[u8]> = encoder.finish().ok()?.into();
    kept.insert(name.to_owned(), small.clone());
    Some(small)
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

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn gzip_is_sent_only_to_who_takes_it() {
        for (text, wanted) in [
            ("gzip", true),
            ("br, gzip;q=0.5", true),
            ("*", true),
            ("gzip;q=0", false),
            ("br", false),
            ("identity", false),
            ("gzip; q=oh", false),
        ] {
            let mut asked = HeaderMap::new();
            asked.insert(header::ACCEPT_ENCODING, HeaderValue::from_static(text));
            assert_eq!(takes_gzip(&asked), wanted, "{text}");
        }
        assert!(!takes_gzip(&HeaderMap::new()));
    }
}

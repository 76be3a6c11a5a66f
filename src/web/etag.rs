//! Entity tags of pages, and the short answer (304) to whoever holds the page already.
//! Personal pages stay `no-store`: a browser must not keep them, so it never asks with their tag; a program that holds
//! its own copy may. Pages that are alike for everybody are `private, no-cache`: a browser keeps them and asks each time.

use crate::ids;
use axum::extract::Request;
use axum::http::{HeaderMap, HeaderValue, Method, StatusCode, header};
use axum::middleware::Next;
use axum::response::{IntoResponse, Response};

/// What every form that changes something carries: new each time the page is shown, so no tag of it could ever match.
const ONE_TIME_KEY: &str = "name=\"key\"";

/// The tag of a page's text; None where the page holds a one-time key. Weak, because the same page leaves the house
/// compressed or plain.
pub fn of(text: &str) -> Option<HeaderValue> {
    if text.contains(ONE_TIME_KEY) {
        return None;
    }
    HeaderValue::from_str(&format!("W/\"{}\"", &ids::digest(text)[..24])).ok()
}

/// Answers 304 without the page when the asker holds it as it is now.
pub async fn not_modified(request: Request, next: Next) -> Response {
    let held = (*request.method() == Method::GET)
        .then(|| request.headers().get(header::IF_NONE_MATCH).cloned())
        .flatten();
    let response = next.run(request).await;
    match held {
        Some(held) if names_it(&held, response.headers()) => without_page(response),
        _ => response,
    }
}

/// Compared weakly, as RFC 9110 section 13.1.2 asks.
fn names_it(held: &HeaderValue, answer: &HeaderMap) -> bool {
    let plain = |tag: &str| tag.trim().trim_start_matches("W/").to_owned();
    let text = |value: &HeaderValue| value.to_str().map(str::to_owned).ok();
    let (Some(held), Some(tag)) = (text(held), answer.get(header::ETAG).and_then(text)) else {
        return false;
    };
    held.trim() == "*" || held.split(',').any(|one| plain(one) == plain(&tag))
}

fn without_page(response: Response) -> Response {
    let mut short = StatusCode::NOT_MODIFIED.into_response();
    for (name, value) in response.headers() {
        if *name != header::CONTENT_TYPE && *name != header::CONTENT_LENGTH {
            short.headers_mut().append(name, value.clone());
        }
    }
    // The whole page would have carried it (RFC 9110 section 15.4.5).
    short
        .headers_mut()
        .append(header::VARY, header::ACCEPT_ENCODING.into());
    short
}

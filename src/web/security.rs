//! What stands around every answer: a strict content policy, and the refusal of changes that another site asked for.

use crate::app::App;
use crate::web::gate;
use crate::web::page::PageError;
use axum::extract::{Request, State};
use axum::http::{HeaderMap, HeaderName, HeaderValue, Method, header};
use axum::middleware::Next;
use axum::response::{IntoResponse, Response};

const POLICY: &str = "default-src 'none'; style-src 'self'; script-src 'self'; img-src 'self'; font-src 'self'; \
    connect-src 'self'; worker-src 'self'; form-action 'self'; base-uri 'none'; frame-ancestors 'none'";

pub async fn headers(State(app): State<App>, request: Request, next: Next) -> Response {
    let mut response = next.run(request).await;
    let fixed = [
        (header::CONTENT_SECURITY_POLICY, POLICY),
        (header::X_CONTENT_TYPE_OPTIONS, "nosniff"),
        // no-referrer would make plain http forms send Origin: null.
        (header::REFERRER_POLICY, "same-origin"),
        (
            HeaderName::from_static("permissions-policy"),
            "camera=(self), microphone=(), geolocation=()",
        ),
        (
            HeaderName::from_static("cross-origin-opener-policy"),
            "same-origin",
        ),
        // Tells our refusals from those of whatever stands before us (`waiting.js`).
        (HeaderName::from_static("x-answered-by"), "club"),
    ];
    let headers = response.headers_mut();
    for (name, value) in fixed {
        headers.insert(name, HeaderValue::from_static(value));
    }
    headers
        .entry(header::CACHE_CONTROL)
        .or_insert(HeaderValue::from_static("no-store"));
    if app.settings.is_https() {
        let year = HeaderValue::from_static("max-age=31536000");
        headers.insert(header::STRICT_TRANSPORT_SECURITY, year);
    }
    response
}

/// By its secret address alone, as RFC 8058 has it: a mail program that is itself a page asks from another site.
const ONE_CLICK: &str = "/unsubscribe/";

/// A request that changes something must come from our own page: by Sec-Fetch-Site, else by Origin (all that plain http
/// in a hall's network sends). With neither, and a session cookie, it is refused.
pub async fn same_origin_only(State(app): State<App>, request: Request, next: Next) -> Response {
    let changes = !matches!(
        *request.method(),
        Method::GET | Method::HEAD | Method::OPTIONS
    );
    let is_one_click = request.uri().path().starts_with(ONE_CLICK);
    if changes && !is_one_click && !is_our_own(&app, request.headers()) {
        return PageError::NotYours("This was asked for by another site, so it was not done. Open the page here and try again.".to_owned()).into_response();
    }
    next.run(request).await
}

/// Asked for by a page of ours.
pub fn is_our_own(app: &App, headers: &HeaderMap) -> bool {
    let text = |name: HeaderName| headers.get(name).and_then(|value| value.to_str().ok());
    if let Some(site) = text(HeaderName::from_static("sec-fetch-site")) {
        return matches!(site, "same-origin" | "none");
    }
    match text(header::ORIGIN) {
        Some(origin) => {
            let host = text(header::HOST).unwrap_or_default();
            origin == app.settings.public_base()
                || origin == format!("http://{host}")
                || origin == format!("https://{host}")
        }
        None => gate::session_cookie(app, headers).is_none(),
    }
}

//! Signing in and out, and the cookie that carries a session.

use crate::actions::sign_in::{self, SignInRefusal};
use crate::app::App;
use crate::web::asked::Query;
use crate::web::fields::{Fields, Problems};
use crate::web::gate::{COOKIE, cookie_name};
use crate::web::kept_form::{self, KeptForm};
use crate::web::page::{self, Page};
use crate::web::visit::{Shell, SignedIn, Visit};
use askama::Template;
use axum::extract::State;
use axum::http::{HeaderMap, HeaderValue, header};
use axum::response::Response;
use serde::Deserialize;

#[derive(Template)]
#[template(path = "sign_in.html")]
struct SignInPage {
    shell: Shell,
    problems: Problems,
    sign_in: String,
    next: String,
    kept: Option<KeptForm>,
}

#[derive(Deserialize)]
pub struct Next {
    #[serde(default)]
    next: String,
}

/// GET /sign-in
pub async fn ask(visit: Visit, Query(query): Query<Next>) -> Page {
    let page = SignInPage {
        shell: visit.shell("Sign in"),
        problems: Problems::default(),
        sign_in: String::new(),
        next: query.next,
        kept: None,
    };
    page::show_alike(&visit, &page)
}

/// The same page in answer to a form whose session had ended.
pub fn ask_keeping(visit: &Visit, kept: KeptForm) -> Page {
    page::sign_in_first(&SignInPage {
        shell: visit.shell_refused("Sign in"),
        problems: Problems::default(),
        sign_in: String::new(),
        next: String::new(),
        kept: Some(kept),
    })
}

/// POST /sign-in
pub async fn sign_in(
    State(app): State<App>,
    visit: Visit,
    headers: HeaderMap,
    fields: Fields,
) -> Page {
    let name = fields.text("sign_in");
    app.limits.sign_in(visit.network, &name.to_lowercase())?;
    let typed_by = kept_form::typed_by(&app, &headers).await?;
    let typed = (name.as_str(), fields.raw("password"));
    match sign_in::sign_in(&app.db, &app.hasher, typed, &device_of(&headers), visit.now).await {
        Ok(token) => {
            app.first_answer.lock().await.take();
            let next = own_path(&fields.text("next"));
            let kept = KeptForm::carried(&fields);
            kept_form::go_on(&app, &visit, &token, (kept, typed_by, &next)).await
        }
        Err(SignInRefusal::Store(error)) => Err(error.into()),
        Err(refusal) => page::refused(&SignInPage {
            shell: visit.shell_refused("Sign in"),
            problems: Problems::one("sign_in", refusal.to_string()),
            sign_in: name,
            next: fields.text("next"),
            kept: KeptForm::carried(&fields),
        }),
    }
}

/// POST /sign-out
pub async fn sign_out(State(app): State<App>, who: SignedIn) -> Page {
    sign_in::sign_out(&app.db, who.me.session_id, who.me.person_id).await?;
    let on = if who.tablet.is_some() {
        "/table"
    } else {
        "/sign-in"
    };
    Ok(set_cookie(&app, page::go_to(on)?, COOKIE, "", 0))
}

/// A path on this server, so that a link can't lead a person who just signed in elsewhere.
pub fn own_path(next: &str) -> String {
    // Browsers read a backslash as a slash and drop control characters: "/<tab>/elsewhere" would lead away.
    let is_own = next.starts_with('/')
        && !next.starts_with("//")
        && !next.contains(|c: char| c == '\\' || c.is_control());
    if is_own {
        next.to_owned()
    } else {
        "/".to_owned()
    }
}

pub fn set_session(app: &App, response: Response, token: &str) -> Response {
    set_cookie(app, response, COOKIE, token, 90 * 24 * 3600)
}

pub fn set_cookie(
    app: &App,
    mut response: Response,
    name: &str,
    value: &str,
    keep_s: i64,
) -> Response {
    let secure = if app.settings.is_https() {
        "; Secure"
    } else {
        ""
    };
    let name = cookie_name(app, name);
    let text = format!("{name}={value}; Path=/; HttpOnly; SameSite=Lax; Max-Age={keep_s}{secure}");
    if let Ok(cookie) = HeaderValue::from_str(&text) {
        response.headers_mut().append(header::SET_COOKIE, cookie);
    }
    response
}

/// What kind of thing somebody signed in on, to tell own sessions apart.
pub fn device_of(headers: &HeaderMap) -> String {
    let agent = headers
        .get(header::USER_AGENT)
        .and_then(|value| value.to_str().ok())
        .unwrap_or_default();
    let has = |word: &str| agent.contains(word);
    let system = [
        ("Android", "Android phone or tablet"),
        ("iPhone", "iPhone"),
        ("iPad", "iPad"),
        ("Windows", "Windows computer"),
        ("Mac OS", "Mac"),
        ("Linux", "Linux computer"),
    ]
    .into_iter()
    .find(|(word, _)| has(word))
    .map_or("a browser", |(_, name)| name);
    system.to_owned()
}

//! Lets in who may use a route and sends the others on: works out who is asking, once, and enforces the route's rule.

use crate::app::App;
use crate::club::calendar::Zone;
use crate::club::people::Role;
use crate::ids;
use crate::store::sessions::{self, Me};
use crate::store::{Conn, StoreError, club, kept};
use crate::web::kept_form;
use crate::web::limits::network_of;
use crate::web::not_sent;
use crate::web::page::{self, PageError, Reference, draw_trouble};
use crate::web::visit::Visit;
use axum::extract::{ConnectInfo, Request, State};
use axum::http::{HeaderMap, Method, StatusCode, header};
use axum::middleware::Next;
use axum::response::{IntoResponse, Response};
use std::net::{IpAddr, Ipv4Addr, SocketAddr};

/// Who may use a route.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Who {
    /// Whoever asks, without finding out who that is: health and files must answer while the database is away.
    Unasked,
    /// Everybody, with or without a club.
    Anyone,
    /// Whoever holds the set-up code, while there is no club.
    Newcomer,
    /// Everybody, once there is a club.
    Visitor,
    /// Whoever is signed in.
    SignedIn,
    /// Whoever is signed in with a password, not with a code at a shared tablet, nor by a token.
    SignedInByPassword,
    /// Whoever holds one of these roles.
    Holds(&'static [Role]),
    /// The same, signed in with a password: for what lets people in, shuts them out or changes the club.
    HoldsByPassword(&'static [Role]),
}

pub const COOKIE: &str = "sandbucket";
pub const TABLET_COOKIE: &str = "sandbucket-table";

/// `__Host-` ties a cookie to this host and to https; over plain http browsers would drop it.
pub fn cookie_name(app: &App, name: &str) -> String {
    if app.settings.is_https() {
        format!("__Host-{name}")
    } else {
        name.to_owned()
    }
}

pub fn cookie(app: &App, headers: &HeaderMap, name: &str) -> Option<String> {
    let wanted = cookie_name(app, name);
    axum_extra::extract::CookieJar::from_headers(headers)
        .get(&wanted)
        .map(|cookie| cookie.value().to_owned())
}

pub fn session_cookie(app: &App, headers: &HeaderMap) -> Option<String> {
    cookie(app, headers, COOKIE)
}

pub async fn stand(
    State((app, who)): State<(App, Who)>,
    mut request: Request,
    next: Next,
) -> Response {
    let reference = request
        .extensions()
        .get::<Reference>()
        .map_or_else(String::new, |reference| reference.0.clone());
    let nobody = stranger(&app, &request);
    if who == Who::Unasked {
        let response = next.run(request).await;
        return draw_trouble(&nobody, &reference, with_words(response));
    }
    let token = session_cookie(&app, request.headers());
    let (visit, conn) = match meet(&app, nobody.clone(), token).await {
        Ok(met) => met,
        Err(error) => {
            return draw_trouble(&nobody, &reference, PageError::from(error).into_response());
        }
    };
    request.extensions_mut().insert(visit.clone());
    // A NUL in an address names nothing, and PostgreSQL takes none in a text.
    if request.uri().to_string().contains("%00") {
        return draw_trouble(&visit, &reference, PageError::NotFound.into_response());
    }
    let conn = conn.filter(|_| *request.method() == Method::GET);
    let response = match (admit(&visit, who, request.method(), request.uri()), conn) {
        (Ok(()), Some(conn)) => kept::with(conn, next.run(request)).await,
        (Ok(()), None) => next.run(request).await,
        (Err(Instead::Page(address)), _) => page::go_to(&address).into_response(),
        (Err(Instead::Trouble(PageError::SignInFirst)), _) => {
            kept_form::ask(&app, &visit, request).await
        }
        (Err(Instead::Trouble(error)), _) => error.into_response(),
    };
    draw_trouble(&visit, &reference, with_words(response))
}

/// axum says 'not that way' without a word.
fn with_words(response: Response) -> Response {
    match response.status() {
        StatusCode::METHOD_NOT_ALLOWED => PageError::NotThatWay.into_response(),
        _ => response,
    }
}

/// What somebody gets who may not use a route.
pub(super) enum Instead {
    Page(String),
    Trouble(PageError),
}

pub(super) const fn is_looking(method: &Method) -> bool {
    matches!(*method, Method::GET | Method::HEAD)
}

pub(super) fn admit(
    visit: &Visit,
    who: Who,
    method: &Method,
    uri: &axum::http::Uri,
) -> Result<(), Instead> {
    let send_to = |address: &str| Err(Instead::Page(address.to_owned()));
    let trouble = |error: PageError| Err(Instead::Trouble(error));
    if visit.club.is_none() {
        return match who {
            Who::Unasked | Who::Anyone | Who::Newcomer => Ok(()),
            _ => send_to("/start"),
        };
    }
    match (who, &visit.me) {
        (Who::Unasked | Who::Anyone | Who::Visitor, _) => Ok(()),
        (Who::Newcomer, _) => trouble(PageError::NotFound),
        (_, None) if is_looking(method) && visit.is_at_table => send_to("/table"),
        (_, None) if is_looking(method) => send_to(&format!("/sign-in?next={}", encode(uri))),
        (_, None) => trouble(PageError::SignInFirst),
        (Who::SignedInByPassword | Who::HoldsByPassword(_), Some(_)) if visit.is_by_token => {
            trouble(PageError::NotYours(
                "Not with a token: sign in with your password in a browser.".to_owned(),
            ))
        }
        (Who::SignedInByPassword | Who::HoldsByPassword(_), Some(me))
            if me.tablet_name.is_some() =>
        {
            trouble(PageError::NotYours(
                "Not at the shared tablet: sign in with your password on a device of your own."
                    .to_owned(),
            ))
        }
        (Who::SignedIn | Who::SignedInByPassword, Some(_)) => Ok(()),
        (Who::Holds(roles) | Who::HoldsByPassword(roles), Some(me))
            if me.roles().has_any(roles) =>
        {
            Ok(())
        }
        (Who::Holds(roles) | Who::HoldsByPassword(roles), Some(_)) => {
            let named: Vec<&str> = roles.iter().map(|role| role.code()).collect();
            trouble(PageError::NotYours(format!(
                "This is for: {}.",
                named.join(", ")
            )))
        }
    }
}

fn encode(uri: &axum::http::Uri) -> String {
    let text = uri.path_and_query().map_or("/", |path| path.as_str());
    text.bytes().fold(String::new(), |mut out, byte| {
        if byte.is_ascii_alphanumeric() || matches!(byte, b'/' | b'-' | b'_' | b'.') {
            out.push(char::from(byte));
        } else {
            use std::fmt::Write;
            let _ = write!(out, "%{byte:02X}");
        }
        out
    })
}

/// Who is asking, with the connection that told, unless it was given back for a write.
pub(super) async fn meet(
    app: &App,
    mut visit: Visit,
    token: Option<String>,
) -> Result<(Visit, Option<Conn>), StoreError> {
    let mut conn = app.db.read().await?;
    let found = match token {
        Some(token) => sessions::meet(&mut conn, &ids::digest(&token), visit.now).await?,
        None => None,
    };
    let (me, club) = match found {
        Some((me, club)) => (Some(me), Some(club)),
        None => (None, club::read(&mut conn).await?),
    };
    let mut conn = Some(conn);
    if let Some(me) = me.as_ref().filter(|me| is_stale(me, &visit)) {
        conn = None;
        // Looking goes on where nothing can be written, as on a full disk.
        if let Err(error) = note_seen(app, me).await {
            tracing::warn!(%error, "that somebody was seen could not be noted");
        }
    }
    visit.zone = club
        .as_ref()
        .and_then(|club| Zone::named(&club.time_zone))
        .unwrap_or_else(Zone::utc);
    visit.tablet = me.as_ref().and_then(|me| me.tablet_name.clone());
    visit.me = me;
    visit.club = club;
    Ok((visit, conn))
}

/// Keeps the idle limit honest without a write on every page.
fn is_stale(me: &Me, visit: &Visit) -> bool {
    visit.now.minutes_since(me.seen_ms) >= (me.idle_minutes / 10).clamp(1, 30)
}

async fn note_seen(app: &App, me: &Me) -> Result<(), StoreError> {
    let mut tx = app.db.write().await?;
    sessions::note_seen(&mut tx, me.session_id, app.clock.now()).await?;
    tx.save().await
}

pub(super) fn stranger(app: &App, request: &Request) -> Visit {
    let peer = request
        .extensions()
        .get::<ConnectInfo<SocketAddr>>()
        .map_or(IpAddr::V4(Ipv4Addr::LOCALHOST), |ConnectInfo(address)| {
            address.ip()
        });
    let client = client_of(app, peer, request.headers());
    Visit {
        now: app.clock.now(),
        club: None,
        me: None,
        zone: Zone::utc(),
        is_plain_http: !app.settings.is_https() && !is_local(request.headers()),
        base: app.settings.base_asked_by(host(request.headers())),
        path: request.uri().path().to_owned(),
        is_report: !is_looking(request.method()) && not_sent::is_of_reports(request.uri().path()),
        is_by_token: false,
        network: network_of(client),
        tablet: None,
        is_at_table: cookie(app, request.headers(), TABLET_COOKIE).is_some(),
    }
}

fn host(headers: &HeaderMap) -> &str {
    headers
        .get(header::HOST)
        .and_then(|host| host.to_str().ok())
        .unwrap_or_default()
}

fn is_local(headers: &HeaderMap) -> bool {
    let host = host(headers);
    let name = host.rsplit_once(':').map_or(host, |(name, _)| name);
    matches!(name, "localhost" | "127.0.0.1" | "[::1]")
}

/// The last address in X-Forwarded-For that no trusted proxy added; without a trusted proxy, the peer.
fn client_of(app: &App, peer: IpAddr, headers: &HeaderMap) -> IpAddr {
    let is_trusted = |address: &IpAddr| {
        app.settings
            .trusted_proxies
            .iter()
            .any(|net| net.contains(address))
    };
    if !is_trusted(&peer) {
        return peer;
    }
    let told: Vec<IpAddr> = headers
        .get_all("x-forwarded-for")
        .iter()
        .filter_map(|value| value.to_str().ok())
        .flat_map(|value| value.split(','))
        .filter_map(|part| part.trim().parse().ok())
        .collect();
    told.into_iter()
        .rev()
        .find(|address| !is_trusted(address))
        .unwrap_or(peer)
}

#[cfg(test)]
mod tests;

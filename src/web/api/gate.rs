//! Lets in who shows a token that works, as its person. Nothing else is looked at: a cookie says nothing here, so that no
//! page of another site can ask for anything.

use super::trouble::{self, Occurrence, Trouble};
use crate::app::App;
use crate::club::calendar::Zone;
use crate::ids;
use crate::store::tokens::{self, Token};
use crate::store::{Conn, StoreError, kept};
use crate::web::gate::{is_looking, stranger};
use crate::web::page::PageError;
use axum::extract::{Request, State};
use axum::http::{HeaderMap, header};
use axum::middleware::Next;
use axum::response::{IntoResponse, Response};

/// A token's last use is told this exactly; a write for each request would be too much.
const MINUTES_BETWEEN_NOTES: i64 = 5;

pub async fn stand(State(app): State<App>, mut request: Request, next: Next) -> Response {
    let occurrence = Occurrence::of(&request);
    let response = match meet(&app, &mut request).await {
        // Looking goes on with the connection that found out who asks.
        Ok(Some(conn)) if is_looking(request.method()) => kept::with(conn, next.run(request)).await,
        Ok(conn) => {
            drop(conn);
            next.run(request).await
        }
        Err(trouble) => trouble.into_response(),
    };
    trouble::draw(&occurrence, response)
}

async fn meet(app: &App, request: &mut Request) -> Result<Option<Conn>, Trouble> {
    let mut visit = stranger(app, request);
    app.limits.api_network(visit.network)?;
    // A NUL in an address names nothing, and PostgreSQL takes none in a text.
    if request.uri().to_string().contains("%00") {
        return Err(PageError::NotFound.into());
    }
    let shown = shown(request.headers()).ok_or_else(Trouble::no_token)?;
    if !ids::is_token(shown) {
        return Err(Trouble::wrong_token());
    }
    let mut conn = app.db.read().await?;
    let met = tokens::meet(&mut conn, &ids::digest(shown), visit.now).await?;
    let (token, me, club) = met.ok_or_else(Trouble::wrong_token)?;
    app.limits.api_person(me.person_id)?;
    let mut conn = Some(conn);
    if token
        .used_ms
        .is_none_or(|used| visit.now.minutes_since(used) >= MINUTES_BETWEEN_NOTES)
    {
        conn = None;
        // Looking goes on where nothing can be written, as on a full disk.
        if let Err(error) = note_used(app, &token).await {
            tracing::warn!(%error, "that a token was used could not be noted");
        }
    }
    visit.zone = Zone::named(&club.time_zone).unwrap_or_else(Zone::utc);
    visit.is_by_token = true;
    visit.me = Some(me);
    visit.club = Some(club);
    request.extensions_mut().insert(visit);
    request.extensions_mut().insert(token);
    Ok(conn)
}

async fn note_used(app: &App, token: &Token) -> Result<(), StoreError> {
    let mut tx = app.db.write().await?;
    tokens::note_used(&mut tx, token.id, app.clock.now()).await?;
    tx.save().await
}

/// What is shown as a token, whether or not it is one.
fn shown(headers: &HeaderMap) -> Option<&str> {
    let line = headers.get(header::AUTHORIZATION)?.to_str().ok()?;
    let (scheme, secret) = line.split_once(' ')?;
    scheme.eq_ignore_ascii_case("bearer").then(|| secret.trim())
}

//! For whoever watches the server: is it alive, and may traffic be sent to it.

use crate::app::App;
use axum::extract::State;
use axum::http::StatusCode;
use std::time::Duration;

/// Whoever asks wants to know now, not when a page would give up waiting for the database.
const PATIENCE: Duration = Duration::from_secs(1);

pub async fn live() -> &'static str {
    "live\n"
}

pub async fn ready(State(app): State<App>) -> (StatusCode, &'static str) {
    if app.is_draining() {
        return (StatusCode::SERVICE_UNAVAILABLE, "stopping\n");
    }
    let answers = tokio::time::timeout(PATIENCE, app.db.is_ready()).await;
    if answers == Ok(true) {
        (StatusCode::OK, "ready\n")
    } else {
        (
            StatusCode::SERVICE_UNAVAILABLE,
            "the database does not answer\n",
        )
    }
}

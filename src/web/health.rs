//! For whoever watches the server: is it alive, and may traffic be sent to it.

use crate::app::App;
use axum::extract::State;
use axum::http::StatusCode;

pub async fn live() -> &'static str {
    "live\n"
}

pub async fn ready(State(app): State<App>) -> (StatusCode, &'static str) {
    if app.is_draining() {
        return (StatusCode::SERVICE_UNAVAILABLE, "stopping\n");
    }
    if app.db.is_ready().await {
        (StatusCode::OK, "ready\n")
    } else {
        (
            StatusCode::SERVICE_UNAVAILABLE,
            "the database does not answer\n",
        )
    }
}

//! Documents for print: set one after the other, since each takes memory, and sent as a PDF.

use crate::app::App;
use crate::web::page::{Page, PageError};
use axum::http::header;
use axum::response::IntoResponse;

/// What `work` sets, once it is its turn.
pub(super) async fn set<T: Send + 'static>(
    app: &App,
    work: impl FnOnce() -> T + Send + 'static,
) -> Result<T, PageError> {
    let turn = app.press.clone().lock_owned().await;
    let set = tokio::task::spawn_blocking(move || {
        // Held until it is done, though nobody may wait for it any more.
        let _turn = turn;
        work()
    });
    set.await
        .map_err(|error| PageError::Internal(error.to_string()))
}

/// `name`: of the file, letters only.
pub(super) fn as_pdf(name: &str, bytes: Vec<u8>) -> Page {
    let headers = [
        (header::CONTENT_TYPE, "application/pdf".to_owned()),
        (
            header::CONTENT_DISPOSITION,
            format!("inline; filename=\"{name}.pdf\""),
        ),
    ];
    Ok((headers, bytes).into_response())
}

//! Each list as a spreadsheet: what the list shows to whoever asks, all of it at once. How a sheet is written is
//! `club::sheet::written`; which columns can be brought in again is `club::sheet::columns`.

pub mod charges;
pub mod club;
pub mod kit;
pub mod pool;
pub mod season;

use crate::app::App;
use crate::bench::kit::KitKind;
use crate::club::calendar::Instant;
use crate::club::people::NOTED;
use crate::club::sheet::Holds;
use crate::club::sheet::columns::{self, Column};
use crate::club::sheet::written::Sheet;
use crate::web::page::{Page, PageError};
use crate::web::visit::SignedIn;
use axum::http::{HeaderName, HeaderValue, header};
use axum::response::IntoResponse;

/// So often may somebody ask for one.
fn check_limit(app: &App, who: &SignedIn) -> Result<(), PageError> {
    app.limits.export(who.network, who.me.person_id)
}

/// The columns of such a sheet that this person may have.
fn columns_for(who: &SignedIn, holds: Holds, kind: Option<KitKind>) -> Vec<Column> {
    let mut all = columns::of(holds, kind);
    all.retain(|column| who.me.roles().may_read_notes() || !NOTED.contains(&column.code));
    all
}

/// A file to be kept, named after the list and the day.
fn answer(who: &SignedIn, name: &str, sheet: Sheet) -> Page {
    let plain: String = name
        .chars()
        .filter(|letter| letter.is_ascii_alphanumeric() || *letter == '-')
        .collect();
    let day = who.zone.day_of(who.now);
    let disposition = HeaderValue::from_str(&format!("attachment; filename=\"{plain}-{day}.csv\""));
    let disposition = disposition.map_err(|error| PageError::Internal(error.to_string()))?;
    let headers: [(HeaderName, HeaderValue); 3] = [
        (
            header::CONTENT_TYPE,
            HeaderValue::from_static("text/csv; charset=utf-8"),
        ),
        (header::CONTENT_DISPOSITION, disposition),
        (header::CACHE_CONTROL, HeaderValue::from_static("no-store")),
    ];
    Ok((headers, sheet.into_text()).into_response())
}

/// `2026-11-25 18:30` in the hall, as spreadsheet programs read it.
fn at(instant: Instant, who: &SignedIn) -> String {
    format!(
        "{} {}",
        who.zone.day_of(instant),
        who.zone.time_words(instant)
    )
}

//! The JSON API: what the pool's pages do, for programs. Its addresses are those of the pages with `/api/v1` before them,
//! and what changes something is sent on as the form that the page would send: no rule is written twice, and nothing can
//! be done that a page could not. `table` says what there is; `document` tells it to programs, `about` to people.

pub mod about;
pub mod document;
pub mod table;

mod form;
mod gate;
mod in_flight;
mod operation;
mod seen;
mod trouble;
mod words;

mod club;
mod condition;
mod connectors;
mod designs;
mod hand_out;
mod history;
mod kit;
mod kit_changes;
mod labels;
mod loans;
mod log;
mod night;
mod packs;
mod people;
mod places;
mod readings;
mod register;
mod take_back;

pub use in_flight::InFlight;
pub use operation::Operation;

use crate::app::App;
use crate::web::page::PageError;
use axum::Router;
use axum::middleware::from_fn_with_state;
use trouble::Trouble;

/// Where it begins. An address that is there once stays.
pub const BASE: &str = "/api/v1";

pub fn router(app: &App) -> Router<App> {
    let mut router = Router::new();
    for operation in table::table() {
        router = router.route(operation.path, operation.answer);
    }
    router
        .fallback(async || Trouble::from(PageError::NotFound))
        .layer(from_fn_with_state(app.clone(), gate::stand))
}

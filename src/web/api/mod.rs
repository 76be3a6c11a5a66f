//! The JSON API: what the pool's pages do, for programs. Its addresses are those of the pages with `/api/v1` before them,
//! and what changes something is sent on as the form that the page would send: no rule is written twice, and nothing can
//! be done that a page could not. `table` says what there is; `document` tells it to programs, `about` to people.

pub mod about;
pub mod document;
pub mod table;

mod codes;
mod compute;
mod done;
mod form;
mod gate;
mod in_flight;
mod operation;
mod picture;
mod trouble;
mod words;

mod care;
mod charge;
mod charge_start;
mod charges;
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
mod pack_draw;
mod packs;
mod people;
mod photos;
mod places;
mod readings;
mod register;
mod returned;
mod rounds;
mod scan;
mod season;
mod storage;
mod take_back;
mod take_back_check;

pub use in_flight::InFlight;
pub use operation::{Content, Operation};

use crate::app::App;
use crate::web::page::{self, PageError};
use axum::Router;
use axum::middleware::from_fn_with_state;
use axum::response::{IntoResponse, Response};
use axum::routing::{MethodRouter, any};
use std::any::Any;
use tower_http::catch_panic::CatchPanicLayer;
use trouble::Trouble;

/// Where it begins. An address that is there once stays.
pub const BASE: &str = "/api/v1";

pub fn router(app: &App) -> Router<App> {
    let mut router = Router::new();
    for operation in table::table() {
        router = router.route(operation.path, operation.answer);
    }
    at_the_gate(router.fallback(nothing), app)
}

async fn nothing() -> Trouble {
    PageError::NotFound.into()
}

/// What answers at the base with a slash behind it: there no nested router looks.
pub fn base_with_slash(app: &App) -> MethodRouter<App> {
    any(nothing).layer(from_fn_with_state(app.clone(), gate::stand))
}

/// These routes of the API, with what stands around each.
pub fn at_the_gate(routes: Router<App>, app: &App) -> Router<App> {
    routes
        .layer(CatchPanicLayer::custom(after_panic))
        .layer(from_fn_with_state(app.clone(), gate::stand))
}

fn after_panic(panic: Box<dyn Any + Send + 'static>) -> Response {
    Trouble::from(page::panicked(panic.as_ref())).into_response()
}

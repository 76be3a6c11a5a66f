//! Pages: one file per subject, each with its page struct, its form and short handlers. No SQL, no rules.
//! `routes` is the spine: one table of who may use what. `gate` enforces it.

pub mod api;
pub mod asked;
pub mod assets;
pub mod etag;
pub mod fields;
pub mod gate;
pub mod history;
mod kept_danger;
mod kept_form;
pub mod limits;
pub mod page;
pub mod picture;
pub mod routes;
pub mod security;
pub mod style;
pub mod upload;
pub mod visit;
pub mod volts_form;
pub mod words;

mod as_sheet;
mod back_already;
pub mod book;
pub mod bring_back;
mod bring_in;
pub mod calendar;
pub mod care_rules;
mod care_seen;
pub mod charge;
mod charge_asked;
mod charge_card;
mod charge_hand_over;
pub mod charge_logs;
mod charge_many;
pub mod charge_paper;
mod charge_shown;
pub mod charges;
pub mod charging_now;
pub mod confirm_address;
pub mod connectors;
pub mod designs;
pub mod disposal;
mod draw_seen;
pub mod drills;
mod events;
pub mod first;
mod first_minute;
pub mod front;
pub mod gather;
mod glance;
pub mod going_away;
pub mod hand_out;
mod hand_out_told;
mod hand_out_volts;
pub mod health;
pub mod invite;
pub mod kit;
pub mod kit_form;
pub mod kit_list;
mod kit_seen_to;
pub mod kit_way_out;
pub mod label;
pub mod label_sheet;
mod label_sheet_typed;
pub mod loans;
pub mod log_check;
pub mod log_page;
pub mod log_volts;
pub mod mails;
pub mod me;
pub mod mine;
pub mod my_actions;
pub mod night;
mod not_out;
mod not_sent;
pub mod over_time;
pub mod pack;
pub mod pack_forms;
mod pack_next;
pub mod pack_row;
pub mod pack_way_out;
pub mod packs;
pub mod pass_on;
pub mod people;
pub mod person;
pub mod person_forms;
pub mod phones;
pub mod photos;
pub mod places;
pub mod posters;
mod press;
pub mod reading_round;
mod reading_round_typed;
pub mod readings;
mod readings_told;
pub mod register;
pub mod reminder_rules;
pub mod reminders;
pub mod report;
pub mod report_erase;
pub mod reported;
pub mod reports;
pub mod rounds;
pub mod rounds_back;
pub mod rounds_home;
pub mod rounds_new;
pub mod rounds_read;
mod rounds_told;
pub mod scan;
mod scan_charge;
mod scanned;
pub mod season;
pub mod settings;
pub mod sign_in;
pub mod stood;
mod stop;
pub mod table;
pub mod take_back;
pub mod take_back_items;
pub mod take_back_volts;
pub mod to_see_to;
pub mod tokens;
pub mod unsubscribe;
pub mod wall_card;
pub mod watch;
mod worker;

use crate::app::App;
use axum::Router;
use axum::extract::DefaultBodyLimit;
use axum::middleware::{from_fn, from_fn_with_state};
use tower::ServiceBuilder;
use tower_http::catch_panic::CatchPanicLayer;
use tower_http::compression::CompressionLayer;

/// In bytes; more than any page of ours sends.
pub const LARGEST_FORM: usize = 256 * 1024;

pub fn router(app: &App) -> Router {
    around(routes::router(app), app)
}

/// These routes with everything that stands around a page, from the outside in.
pub fn around(routes: Router<App>, app: &App) -> Router {
    // As one layer: each that is laid on alone is boxed anew for every request.
    let stack = ServiceBuilder::new()
        .layer(from_fn(page::with_reference))
        .layer(compression())
        .layer(from_fn_with_state(app.clone(), security::headers))
        .layer(CatchPanicLayer::custom(page::after_panic))
        .layer(from_fn(etag::not_modified))
        .layer(DefaultBodyLimit::max(LARGEST_FORM));
    routes.layer(stack).with_state(app.clone())
}

/// Pages travel compressed; files come compressed from `assets` and pass through. A page that holds a secret and repeats
/// what a stranger made the browser ask for could give the secret away by its length (BREACH). Here none does: form keys
/// are new each time a page is shown, the session's token stands in no page, and since its cookie is SameSite=Lax another
/// site can't make a signed-in browser fetch pages by the thousand unseen.
fn compression() -> CompressionLayer {
    CompressionLayer::new().gzip(true)
}

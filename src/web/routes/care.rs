//! The routes of storage care: what is to see to, events, storage rounds, going away, the club's rules of it.

use super::{OVERSIGHT, OVERSIGHT_BY_PASSWORD, POOL, Route, get, post};
use crate::web::as_sheet::season as season_sheet;
use crate::web::{
    care_rules, events, going_away, rounds, rounds_back, rounds_home, rounds_new, rounds_read,
    season, to_see_to,
};

pub(super) fn of_care() -> Vec<Route> {
    vec![
        get("/to-see-to", OVERSIGHT, to_see_to::show),
        get("/events", OVERSIGHT, events::list),
        get("/events/new", OVERSIGHT, events::ask_new),
        post("/events/new", OVERSIGHT, events::make),
        get("/events/{id}", OVERSIGHT, events::show),
        post("/events/{id}", OVERSIGHT, events::change),
        post("/events/{id}/end", OVERSIGHT, events::end),
        post("/events/{id}/call-off", OVERSIGHT, events::call_off),
        get("/storage-rounds", OVERSIGHT, rounds::list),
        get("/storage-rounds/new", POOL, rounds_new::ask_new),
        post("/storage-rounds/new", POOL, rounds_new::begin),
        get("/storage-rounds/{id}", OVERSIGHT, rounds::show),
        post("/storage-rounds/{id}/add", POOL, rounds::add),
        post("/storage-rounds/{id}/read", POOL, rounds_read::read),
        get("/storage-rounds/{id}/home", POOL, rounds_home::ask_home),
        post("/storage-rounds/{id}/home", POOL, rounds_home::take_home),
        post("/storage-rounds/{id}/close", POOL, rounds::close),
        get("/packs/{number}/back", POOL, rounds_back::ask),
        post("/packs/{number}/back", POOL, rounds_back::is_back),
        get("/going-away", OVERSIGHT, going_away::show),
        get("/season", OVERSIGHT, season::show),
        get("/season.csv", OVERSIGHT, season_sheet::weeks),
        get("/season/events.csv", OVERSIGHT, season_sheet::events),
        get("/settings/care", OVERSIGHT_BY_PASSWORD, care_rules::show),
        post("/settings/care", OVERSIGHT_BY_PASSWORD, care_rules::change),
    ]
}

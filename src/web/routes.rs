//! One table of routes: method, address, who may use it, what answers. A route without a rule can't be written down.

use crate::app::App;
use crate::club::people::Role::{self, Member, Organiser, Quartermaster};
use crate::web::gate::{self, Who};
use crate::web::{assets, connectors, first, front, health, kit, kit_form, page, places, sign_in};
use axum::Router;
use axum::handler::Handler;
use axum::http::Method;
use axum::middleware::from_fn_with_state;
use axum::routing::{MethodRouter, get as on_get, post as on_post};

pub struct Route {
    pub method: Method,
    pub path: &'static str,
    pub who: Who,
    answer: MethodRouter<App>,
}

fn get<T: 'static>(path: &'static str, who: Who, handler: impl Handler<T, App>) -> Route {
    Route {
        method: Method::GET,
        path,
        who,
        answer: on_get(handler),
    }
}

fn post<T: 'static>(path: &'static str, who: Who, handler: impl Handler<T, App>) -> Route {
    Route {
        method: Method::POST,
        path,
        who,
        answer: on_post(handler),
    }
}

pub const POOL: Who = Who::Holds(&[Quartermaster]);
pub const OVERSIGHT: Who = Who::Holds(&[Quartermaster, Organiser]);
pub const EVERY_ROLE: Who = Who::Holds(&Role::ALL);
pub const ORGANISER: Who = Who::Holds(&[Organiser]);
pub const MEMBER: Who = Who::Holds(&[Member]);

pub fn table() -> Vec<Route> {
    use Who::{Anyone, Newcomer, SignedIn, Visitor};
    vec![
        get("/health/live", Anyone, health::live),
        get("/health/ready", Anyone, health::ready),
        get("/static/{build}/{name}", Anyone, assets::serve),
        get("/start", Newcomer, first::ask_code),
        post("/start", Newcomer, first::start),
        get("/sign-in", Visitor, sign_in::ask),
        post("/sign-in", Visitor, sign_in::sign_in),
        post("/sign-out", SignedIn, sign_in::sign_out),
        get("/", SignedIn, front::show),
        get("/kit", EVERY_ROLE, kit::list),
        get("/kit/new", POOL, kit_form::ask_new),
        post("/kit/new", POOL, kit_form::add),
        get("/kit/{id}", EVERY_ROLE, kit::show),
        get("/kit/{id}/change", POOL, kit_form::ask_change),
        post("/kit/{id}/change", POOL, kit_form::change),
        post("/kit/{id}/set-aside", POOL, kit::set_aside),
        post("/kit/{id}/mend", POOL, kit::mend),
        post("/kit/{id}/count", POOL, kit::count),
        post("/kit/{id}/life", POOL, kit::end_life),
        get("/connectors", EVERY_ROLE, connectors::list),
        get("/connectors/new", POOL, connectors::ask_new),
        post("/connectors/new", POOL, connectors::add),
        get("/places", OVERSIGHT, places::list),
        get("/places/new", POOL, places::ask_new),
        post("/places/new", POOL, places::add),
        get("/places/{id}", OVERSIGHT, places::show),
        post("/places/{id}", POOL, places::change),
        post("/places/{id}/close", POOL, places::close),
    ]
}

pub fn router(app: &App) -> Router<App> {
    let mut router = Router::new();
    for route in table() {
        let gate = from_fn_with_state((app.clone(), route.who), gate::stand);
        router = router.route(route.path, route.answer.layer(gate));
    }
    let nowhere = from_fn_with_state((app.clone(), Who::Anyone), gate::stand);
    router.fallback_service(
        on_get(lost)
            .post(lost)
            .layer(nowhere)
            .with_state(app.clone()),
    )
}

async fn lost() -> page::PageError {
    page::PageError::NotFound
}

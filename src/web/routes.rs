//! One table of routes: method, address, who may use it, what answers. A route without a rule can't be written down.

mod care;
mod reminders;

use crate::app::App;
use crate::club::people::Role::{self, Member, Organiser, Quartermaster};
use crate::web::gate::{self, Who};
use crate::web::{
    api, assets, bring_back, charge, charge_hand_over, charge_many, charge_paper, charges,
    connectors, designs, first, front, gather, hand_out, health, invite, kit, kit_form, kit_list,
    kit_seen_to, kit_way_out, label, label_sheet, loans, log_check, log_page, log_volts, me, mine,
    night, over_time, pack, pack_forms, pack_way_out, packs, page, pass_on, people, person,
    person_forms, photos, places, reading_round, readings, register, report, scan, security,
    settings, sign_in, stood, style, table, take_back, take_back_items, take_back_volts,
};
use axum::Router;
use axum::handler::Handler;
use axum::http::Method;
use axum::middleware::from_fn_with_state;
use axum::routing::{MethodRouter, get as on_get, post as on_post};
use tower::ServiceBuilder;

mod danger;

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
/// Letting people in, shutting them out, changing the club: never with a code at the shared tablet.
pub const OVERSIGHT_BY_PASSWORD: Who = Who::HoldsByPassword(&[Quartermaster, Organiser]);
pub const POOL_BY_PASSWORD: Who = Who::HoldsByPassword(&[Quartermaster]);
pub const EVERY_ROLE: Who = Who::Holds(&Role::ALL);
pub const ORGANISER: Who = Who::Holds(&[Organiser]);
/// Reads volts and handles packs.
pub const READS: Who = Who::Holds(&[Member, Quartermaster]);

pub fn table() -> Vec<Route> {
    use Who::{Anyone, Newcomer, SignedIn, Unasked, Visitor};
    let mut all = vec![
        get("/health/live", Unasked, health::live),
        get("/health/ready", Unasked, health::ready),
        get("/static/{build}/{name}", Unasked, assets::serve),
        get("/start", Newcomer, first::ask_code),
        post("/start", Anyone, first::start),
        get("/demo/end", OVERSIGHT_BY_PASSWORD, first::ask_end),
        post("/demo/end", OVERSIGHT_BY_PASSWORD, first::end),
        get("/sign-in", Visitor, sign_in::ask),
        post("/sign-in", Visitor, sign_in::sign_in),
        post("/sign-out", SignedIn, sign_in::sign_out),
        get("/", SignedIn, front::show),
        get("/style", SignedIn, style::show),
        get("/hand-out", READS, hand_out::ask),
        post("/hand-out", READS, hand_out::hand_out),
        get("/take-back", POOL, take_back::ask),
        get("/take-back/items", POOL, take_back::items),
        post("/take-back/items", POOL, take_back_items::look),
        get("/take-back/volts", POOL, take_back_volts::ask_volts),
        post("/take-back/volts", POOL, take_back_volts::take_back),
        get("/take-back/done", POOL, take_back_volts::done),
        get("/loans", OVERSIGHT, loans::list),
        get("/loans/{id}", EVERY_ROLE, loans::show),
        post("/loans/{id}/extend", POOL, loans::extend),
        get("/lent/{id}/change", POOL, pass_on::ask),
        post("/lent/{id}/pass-on", POOL, pass_on::pass_on),
        get("/lent/{id}/lost", POOL, pass_on::ask_lost),
        post("/lent/{id}/lost", POOL, pass_on::lose),
        post("/lent/{id}/reopen", POOL, loans::reopen),
        get("/mine", SignedIn, mine::mine),
        get(
            "/mine/{lent}/bring-back",
            SignedIn,
            bring_back::ask_bring_back,
        ),
        post("/mine/{lent}/bring-back", SignedIn, bring_back::bring_back),
        get(
            "/mine/{lent}/brought-back",
            SignedIn,
            bring_back::brought_back,
        ),
        get("/night", OVERSIGHT, night::show),
        post("/night", POOL, night::open),
        post("/night/close", POOL, night::close),
        get("/log", ORGANISER, log_page::show),
        get("/log/check", OVERSIGHT, log_check::show),
        get("/stood", OVERSIGHT, stood::show),
    ];
    all.extend(of_kit());
    all.extend(of_packs());
    all.extend(of_charge_logs());
    all.extend(care::of_care());
    all.extend(reminders::of_reminders());
    all.extend(of_labels());
    all.extend(danger::of_reports());
    all.extend(danger::of_quarantine());
    all.extend(danger::of_book());
    all.extend(danger::of_first_minute());
    all.extend(of_people());
    all.extend(of_sheets());
    all.extend(of_tokens());
    all
}

/// Tokens for programs, the calendar of a person, and what there is to read about the API; its own routes are `api::table`.
fn of_tokens() -> Vec<Route> {
    use crate::web::{calendar, tokens};
    use Who::{SignedInByPassword, Visitor};
    vec![
        get("/calendar/{token}", Visitor, calendar::feed),
        get("/me/calendar", SignedInByPassword, calendar::show),
        post("/me/calendar", SignedInByPassword, calendar::renew),
        post("/me/calendar/end", SignedInByPassword, calendar::end),
        get("/me/tokens", SignedInByPassword, tokens::list),
        post("/me/tokens", SignedInByPassword, tokens::make),
        post("/me/tokens/{id}/end", SignedInByPassword, tokens::end),
        get("/api", Visitor, api::about::show),
        get("/api/openapi.json", Visitor, api::about::document),
    ]
}

/// Lists as spreadsheets, each for whoever sees the list, and spreadsheets brought in.
fn of_sheets() -> Vec<Route> {
    use crate::web::as_sheet::{charges, club, kit, pool};
    use crate::web::bring_in;
    vec![
        get("/packs.csv", EVERY_ROLE, pool::packs),
        get("/packs/{number}/readings.csv", EVERY_ROLE, pool::readings),
        get("/packs/{number}/charges.csv", EVERY_ROLE, charges::of_pack),
        get("/designs.csv", EVERY_ROLE, pool::designs),
        get("/connectors.csv", EVERY_ROLE, pool::connectors),
        get("/kit.csv", EVERY_ROLE, kit::list),
        get("/places.csv", OVERSIGHT, club::places),
        get("/people.csv", OVERSIGHT, club::people),
        get("/loans.csv", OVERSIGHT, club::loans),
        get("/log.csv", ORGANISER, club::log),
        get("/bring-in", POOL, bring_in::ask),
        post("/bring-in", POOL, bring_in::send),
        get("/bring-in/{id}/columns", POOL, bring_in::ask_columns),
        post("/bring-in/{id}/columns", POOL, bring_in::choose_columns),
        get("/bring-in/{id}/questions", POOL, bring_in::ask_questions),
        post("/bring-in/{id}/questions", POOL, bring_in::answer_questions),
        get("/bring-in/{id}", POOL, bring_in::check),
        post("/bring-in/{id}", POOL, bring_in::bring_in),
        post("/bring-in/{id}/remove", POOL, bring_in::remove),
        get("/bring-in/{id}/done", POOL, bring_in::done),
    ]
}

/// Kit, connector families, and the places where packs and kit lie.
fn of_kit() -> Vec<Route> {
    vec![
        get("/kit", EVERY_ROLE, kit_list::list),
        get("/kit/new", POOL, kit_form::ask_new),
        post("/kit/new", POOL, kit_form::add),
        get("/kit/{id}", EVERY_ROLE, kit::show),
        get("/kit/{id}/change", POOL, kit_form::ask_change),
        post("/kit/{id}/change", POOL, kit_form::change),
        post("/kit/{id}/set-aside", EVERY_ROLE, kit_seen_to::set_aside),
        post("/kit/{id}/looked-over", POOL, kit_seen_to::look_over),
        post("/kit/{id}/mend", POOL, kit_seen_to::mend),
        post("/kit/{id}/count", POOL, kit_seen_to::count),
        get("/kit/{id}/way-out", POOL, kit_way_out::ask),
        post("/kit/{id}/way-out", POOL, kit_way_out::take),
        get("/kit/{id}/gone", OVERSIGHT, kit_way_out::gone),
        get("/connectors", EVERY_ROLE, connectors::list),
        get("/connectors/new", POOL, connectors::ask_new),
        post("/connectors/new", POOL, connectors::add),
        get("/connectors/{code}", OVERSIGHT, connectors::show),
        post("/connectors/{code}", POOL, connectors::change),
        post("/connectors/{code}/remove", POOL, connectors::remove),
        get("/places", OVERSIGHT, places::list),
        get("/places/new", POOL, places::ask_new),
        post("/places/new", POOL, places::add),
        get("/places/{id}", OVERSIGHT, places::show),
        post("/places/{id}", POOL, places::change),
        post("/places/{id}/close", POOL, places::close),
        post("/places/{id}/reopen", POOL, places::reopen),
    ]
}

/// Everything about packs and their designs.
fn of_packs() -> Vec<Route> {
    vec![
        get("/packs", EVERY_ROLE, packs::list),
        post("/packs", POOL, register::add_packs),
        get("/packs/new", POOL, register::new_packs),
        get("/packs/registered", POOL, register::registered),
        get("/packs/{number}", EVERY_ROLE, pack::show),
        get(
            "/packs/{number}/readings",
            EVERY_ROLE,
            readings::all_readings,
        ),
        get("/packs/{number}/over-time", EVERY_ROLE, over_time::show),
        get("/packs/{number}/volts", READS, log_volts::ask),
        post("/packs/{number}/volts", READS, log_volts::log),
        get("/packs/{number}/charge", EVERY_ROLE, charge::show),
        get("/packs/{number}/charge.pdf", EVERY_ROLE, charge_paper::pdf),
        post("/packs/{number}/charge", READS, charge::start),
        get("/charges", EVERY_ROLE, charges::list),
        get("/charges/evening", POOL, charge_many::show),
        get("/charges/{id}", EVERY_ROLE, charges::show),
        post("/charges/{id}/end", READS, charges::end),
        post("/charges/{id}/read-back", READS, charges::read_back),
        get("/charges/{id}/hand-over", POOL, charge_hand_over::ask),
        post("/charges/{id}/hand-over", READS, charge_hand_over::hand),
        get("/readings/many", POOL, reading_round::ask),
        post("/readings/many", POOL, reading_round::log),
        get("/readings/done", POOL, reading_round::done),
        get("/packs/{number}/condition", EVERY_ROLE, report::ask_of_pack),
        post(
            "/packs/{number}/condition",
            EVERY_ROLE,
            report::send_of_pack,
        ),
        post("/packs/{number}/mended", POOL, pack_forms::mended),
        post("/packs/{number}/release", OVERSIGHT, pack_forms::release),
        get("/packs/{number}/way-out", POOL, pack_way_out::ask),
        post("/packs/{number}/way-out", POOL, pack_way_out::take),
        get("/packs/{number}/details", POOL, register::ask_details),
        post("/packs/{number}/details", POOL, register::change_details),
        get("/designs", EVERY_ROLE, designs::list_designs),
        post("/designs", POOL, designs::add_design),
        get("/designs/new", POOL, designs::new_design),
        get("/designs/{id}", OVERSIGHT, designs::show_design),
        post("/designs/{id}", POOL, designs::change_design),
        get("/designs/{id}/compare", EVERY_ROLE, designs::compare::show),
    ]
}

/// Charge logs of packs, brought in and read back before they are stored.
fn of_charge_logs() -> Vec<Route> {
    use crate::web::charge_logs;
    vec![
        get("/packs/{number}/charge-logs", EVERY_ROLE, charge_logs::list),
        get("/packs/{number}/charge-logs/new", READS, charge_logs::ask),
        post("/packs/{number}/charge-logs/new", READS, charge_logs::send),
        get("/charge-logs/read-back/{id}", READS, charge_logs::read_back),
        post("/charge-logs/read-back/{id}", READS, charge_logs::keep),
        post(
            "/charge-logs/read-back/{id}/choices",
            READS,
            charge_logs::choose,
        ),
        post(
            "/charge-logs/read-back/{id}/forget",
            READS,
            charge_logs::forget,
        ),
        get("/charge-logs/{id}", EVERY_ROLE, charge_logs::show),
        post("/charge-logs/{id}/remove", READS, charge_logs::remove),
    ]
}

/// Labels of packs, the page behind each, gathering by scanning; and their photos.
fn of_labels() -> Vec<Route> {
    vec![
        get("/t/{code}", Who::Visitor, scan::show),
        get("/labels", POOL, label_sheet::ask),
        post("/labels", POOL, label_sheet::put_on_sheet),
        get("/labels/sheet", POOL, label_sheet::ready),
        get("/labels/sheet.pdf", POOL, label_sheet::pdf),
        get("/packs/{number}/label", POOL, label::show),
        post("/packs/{number}/label", POOL, label::change),
        get("/packs/{number}/label.svg", POOL, label::picture),
        get("/packs/{number}/photos", EVERY_ROLE, photos::show),
        post("/packs/{number}/photos", READS, photos::add),
        get("/packs/{number}/photos/{photo}", EVERY_ROLE, photos::large),
        get(
            "/packs/{number}/photos/{photo}/small",
            EVERY_ROLE,
            photos::small,
        ),
        post(
            "/packs/{number}/photos/{photo}/remove",
            READS,
            photos::remove,
        ),
        get("/gather", READS, gather::show),
        post("/gather", READS, gather::begin),
        post("/gather/add", READS, gather::add),
        post("/gather/leave-out", READS, gather::leave_out),
        post("/gather/end", READS, gather::end),
    ]
}

/// People: who is in the club, their ways in, the shared tablet, the club's settings.
fn of_people() -> Vec<Route> {
    use Who::{SignedIn, SignedInByPassword, Visitor};
    vec![
        get("/people", OVERSIGHT, people::list),
        get("/people/new", POOL, people::ask_guest),
        post("/people/new", POOL, people::add_guest),
        get("/people/invite", OVERSIGHT_BY_PASSWORD, invite::ask_invite),
        post("/people/invite", OVERSIGHT_BY_PASSWORD, invite::invite),
        get("/people/{id}", OVERSIGHT, person::show),
        get("/people/{id}/induction", POOL, person_forms::ask_induction),
        post("/people/{id}/induction", POOL, person_forms::note_induction),
        get(
            "/people/{id}/roles",
            OVERSIGHT_BY_PASSWORD,
            person_forms::ask_roles,
        ),
        post(
            "/people/{id}/roles",
            OVERSIGHT_BY_PASSWORD,
            person_forms::set_roles,
        ),
        post("/people/{id}/link", OVERSIGHT_BY_PASSWORD, invite::renew),
        post(
            "/people/{id}/deactivate",
            OVERSIGHT_BY_PASSWORD,
            person::deactivate,
        ),
        post(
            "/people/{id}/reactivate",
            OVERSIGHT_BY_PASSWORD,
            person::reactivate,
        ),
        get(
            "/people/{id}/erase",
            OVERSIGHT_BY_PASSWORD,
            person::ask_erase,
        ),
        post("/people/{id}/erase", OVERSIGHT_BY_PASSWORD, person::erase),
        get("/join/{token}", Visitor, invite::ask_join),
        post("/join/{token}", Visitor, invite::join),
        get("/reset/done", Visitor, invite::reset_done),
        get("/reset/{token}", Visitor, invite::ask_reset),
        post("/reset/{token}", Visitor, invite::reset),
        get("/me", SignedIn, me::show),
        post("/me/name", SignedInByPassword, me::rename),
        post("/me/password", SignedInByPassword, me::change_password),
        post("/me/table-code", SignedInByPassword, me::set_table_code),
        post(
            "/me/sessions/end-others",
            SignedInByPassword,
            me::end_others,
        ),
        post("/me/sessions/{id}/end", SignedInByPassword, me::end_session),
        get("/table", Visitor, table::ask),
        post("/table", Visitor, table::change_over),
        get("/tablets", OVERSIGHT_BY_PASSWORD, table::list),
        post("/tablets", POOL_BY_PASSWORD, table::open),
        post("/tablets/{id}/end", POOL_BY_PASSWORD, table::end),
        get("/settings", OVERSIGHT_BY_PASSWORD, settings::show),
        post("/settings", OVERSIGHT_BY_PASSWORD, settings::change),
    ]
}

pub fn router(app: &App) -> Router<App> {
    let mut router = Router::new();
    for route in table() {
        let gate = from_fn_with_state((app.clone(), route.who), gate::stand);
        let ours = from_fn_with_state(app.clone(), security::same_origin_only);
        let around = ServiceBuilder::new().layer(gate).layer(ours);
        router = router.route(route.path, route.answer.layer(around));
    }
    router = router.nest(api::BASE, api::router(app));
    router = router.route(&format!("{}/", api::BASE), api::base_with_slash(app));
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

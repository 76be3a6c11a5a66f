//! The routes of danger: what somebody reports, signed in or not, and who reads it; packs in quarantine and how they are got rid
//! of.

use super::{EVERY_ROLE, OVERSIGHT, POOL, Route, get, post};

/// What somebody sees and tells, signed in or not; and those who read it.
pub(super) fn of_reports() -> Vec<Route> {
    use crate::web::gate::Who::{Unasked, Visitor};
    use crate::web::{posters, report, report_erase, reported, reports, worker};
    vec![
        get("/t/{code}/report", Visitor, report::ask_at_label),
        post("/t/{code}/report", Visitor, report::send_at_label),
        get("/p/{code}", Visitor, report::ask_at_poster),
        post("/p/{code}", Visitor, report::send_at_poster),
        get("/offline", Visitor, report::late::show),
        post("/offline", Visitor, report::late::send),
        get("/worker.js", Unasked, worker::script),
        get("/contact", Visitor, report::ask_contact),
        post("/contact", Visitor, report::send_contact),
        get("/reported/{token}", Visitor, reported::show),
        post("/reported/{token}", Visitor, reported::add_photo),
        get("/report", EVERY_ROLE, report::ask_own),
        post("/report", EVERY_ROLE, report::send_own),
        get("/reports", OVERSIGHT, reports::list),
        post("/reports", OVERSIGHT, reports::read_many),
        get("/reports/{id}", OVERSIGHT, reports::show),
        post("/reports/{id}", OVERSIGHT, reports::see_to),
        get("/reports/{id}/erase", OVERSIGHT, report_erase::ask),
        post("/reports/{id}/erase", OVERSIGHT, report_erase::erase),
        get("/reports/{id}/photo", OVERSIGHT, reports::photo),
        get("/reports/{id}/photo/small", OVERSIGHT, reports::small),
        get("/posters", OVERSIGHT, posters::list),
        post("/posters", OVERSIGHT, posters::make),
        get("/posters/{id}", OVERSIGHT, posters::show),
        get("/posters/{id}/code.svg", OVERSIGHT, posters::picture),
        get("/posters/{id}/poster.pdf", OVERSIGHT, posters::pdf),
        post("/posters/{id}/end", OVERSIGHT, posters::end),
    ]
}

/// Packs that are watched, and how they leave for good.
pub(super) fn of_quarantine() -> Vec<Route> {
    use crate::web::{disposal, watch};
    vec![
        get("/quarantine", EVERY_ROLE, watch::list),
        get("/packs/{number}/watch", EVERY_ROLE, watch::show),
        post("/packs/{number}/watch", EVERY_ROLE, watch::look),
        get("/packs/{number}/disposal", EVERY_ROLE, disposal::show),
        post("/packs/{number}/disposal", POOL, disposal::dispose),
        get("/packs/{number}/disposal/photo", OVERSIGHT, disposal::photo),
    ]
}

/// The first minute prepared: the card for the wall, and drills.
pub(super) fn of_first_minute() -> Vec<Route> {
    use crate::web::{drills, wall_card};
    vec![
        get("/wall-card", EVERY_ROLE, wall_card::show),
        get("/wall-card.pdf", EVERY_ROLE, wall_card::pdf),
        get("/wall-card/plan", OVERSIGHT, wall_card::ask),
        post("/wall-card/plan", OVERSIGHT, wall_card::keep),
        get("/drills", OVERSIGHT, drills::list),
        post("/drills", OVERSIGHT, drills::note),
        post("/drills/due", OVERSIGHT, drills::set_due),
    ]
}

/// The incident book.
pub(super) fn of_book() -> Vec<Route> {
    use crate::web::gate::Who::SignedIn;
    use crate::web::{book, my_actions};
    vec![
        get("/mine/actions", SignedIn, my_actions::show),
        post("/mine/actions/{action}", SignedIn, my_actions::done),
        get("/book", OVERSIGHT, book::list),
        get("/book/new", OVERSIGHT, book::ask),
        post("/book/new", OVERSIGHT, book::open),
        get("/book/check", OVERSIGHT, book::check::show),
        get("/book/whom-to-tell", OVERSIGHT, book::whom::ask),
        post("/book/whom-to-tell", OVERSIGHT, book::whom::keep),
        get("/book/check.html", OVERSIGHT, book::export::verifier),
        get("/book/export.zip", OVERSIGHT, book::export::zip_of_all),
        get("/book/export.pdf", OVERSIGHT, book::export::pdf_of_all),
        get(
            "/book/{incident}/export.zip",
            OVERSIGHT,
            book::export::zip_of_one,
        ),
        get(
            "/book/{incident}/export.pdf",
            OVERSIGHT,
            book::export::pdf_of_one,
        ),
        get("/book/{incident}", OVERSIGHT, book::show),
        post("/book/{incident}", OVERSIGHT, book::tell),
        post("/book/{incident}/files", OVERSIGHT, book::attach),
        get("/book/{incident}/files/{file}", OVERSIGHT, book::file),
    ]
}

//! The routes of reminders: one's own, the club's, mail as it was sent, and the way out of it.

use super::{EVERY_ROLE, OVERSIGHT, OVERSIGHT_BY_PASSWORD, Route, get, post};
use crate::web::gate::Who::{SignedInByPassword, Visitor};
use crate::web::{confirm_address, mails, phones, reminder_rules, reminders, unsubscribe};

pub(super) fn of_reminders() -> Vec<Route> {
    vec![
        get("/reminders", EVERY_ROLE, reminders::in_words),
        get("/me/reminders", SignedInByPassword, reminders::show),
        post("/me/reminders", SignedInByPassword, reminders::choose),
        post("/me/reminders/ask", SignedInByPassword, reminders::ask),
        post("/me/phones", SignedInByPassword, phones::ask),
        post("/me/phones/{id}/end", SignedInByPassword, phones::end),
        get("/mails", OVERSIGHT, mails::list),
        get("/mails/{id}", EVERY_ROLE, mails::show),
        get(
            "/settings/reminders",
            OVERSIGHT_BY_PASSWORD,
            reminder_rules::show,
        ),
        post(
            "/settings/reminders",
            OVERSIGHT_BY_PASSWORD,
            reminder_rules::change,
        ),
        get("/confirm-address/{token}", Visitor, confirm_address::ask),
        post(
            "/confirm-address/{token}",
            Visitor,
            confirm_address::confirm,
        ),
        get("/unsubscribe/{token}", Visitor, unsubscribe::ask),
        post("/unsubscribe/{token}", Visitor, unsubscribe::end),
    ]
}

//! What is to see to besides the packs: a line for each loan that is overdue and each check of a place that is due.

use super::ToDo;
use crate::club::calendar::Day;
use crate::club::place_checks::{Check, of_check};
use crate::club::to_see_to::{Line, of_loan};
use crate::store::to_see_to::Besides;
use crate::web::visit::SignedIn;
use crate::web::words::past;
use uuid::Uuid;

pub fn told(all: &[Besides], who: &SignedIn) -> Vec<ToDo> {
    let of_one = |what: &[Besides]| match what.first()?.what.as_str() {
        "loan" => loan(what, who),
        "extinguisher" => check(Check::Extinguisher, &what[0], who),
        "detector" => check(Check::Detector, &what[0], who),
        _ => None,
    };
    let is_of_one = |one: &Besides, next: &Besides| (&one.what, one.id) == (&next.what, next.id);
    all.chunk_by(is_of_one).filter_map(of_one).collect()
}

fn to_do(line: Line, (path, id): (&str, Uuid), ask: &str, who: &SignedIn) -> ToDo {
    ToDo {
        href: format!("/{path}/{id}"),
        since: past(line.since, who.now, &who.zone),
        ask: ask.to_owned(),
        line,
    }
}

/// `things`: what is out on one loan.
fn loan(things: &[Besides], who: &SignedIn) -> Option<ToDo> {
    let first = things.first()?;
    let name = first.person.as_deref().unwrap_or("(erased)");
    let numbers: Vec<&str> = things.iter().map(|one| one.name.as_str()).collect();
    let due = Day::parse(first.day.as_deref()?)?;
    let line = of_loan((&numbers, name), due, (who.now, &who.zone))?;
    Some(to_do(line, ("loans", first.id), name, who))
}

fn check(check: Check, place: &Besides, who: &SignedIn) -> Option<ToDo> {
    let due = Day::parse(place.day.as_deref()?)?;
    let line = of_check(check, (&place.name, due), (who.now, &who.zone))?;
    Some(to_do(line, ("places", place.id), "quartermasters", who))
}

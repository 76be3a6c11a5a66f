//! What is to see to besides the packs: a line for each loan that is overdue, check of a place that is due, place over its limit,
//! kit to mend or to look over, charge past its time or with kit that was set aside, open storage round, action after an incident, and
//! danger that was told of no pack of the club.

use super::ToDo;
use crate::club::besides::{
    Charge, Kit, of_action, of_bad_kit, of_charge, of_danger, of_kit, of_place, of_round,
};
use crate::club::book::story::ActionStands;
use crate::club::calendar::{Day, Instant};
use crate::club::place_checks::{Check, of_check};
use crate::club::reports::Thing;
use crate::club::to_see_to::{Line, of_loan};
use crate::store::to_see_to::Besides;
use crate::web::visit::SignedIn;
use crate::web::words::past;

pub fn told(all: &[Besides], who: &SignedIn) -> Vec<ToDo> {
    let is_of_one = |one: &Besides, next: &Besides| {
        one.id.is_some() && (&one.what, one.id) == (&next.what, next.id)
    };
    all.chunk_by(is_of_one)
        .filter_map(|things| of_one(things, who))
        .collect()
}

/// `things`: of one loan all that is out, of one place all chemistries, of one charge all kit that is set aside; else one.
fn of_one(things: &[Besides], who: &SignedIn) -> Option<ToDo> {
    let first = things.first()?;
    let person = first.person.as_deref().unwrap_or("(erased)");
    let (path, line, ask) = match first.what.as_str() {
        "loan" => ("loans", loan(things, person, who), person),
        "extinguisher" => ("places", check(Check::Extinguisher, first, who), RUNS),
        "detector" => ("places", check(Check::Detector, first, who), RUNS),
        "kit" => ("kit", kit(first), RUNS),
        "energy" => ("places", energy(things), RUNS),
        "charge" => ("charges", charge(first, who), person),
        "bad_kit" => ("charges", Some(bad_kit(things)), person),
        "round" => ("storage-rounds", round(first), RUNS),
        "action" => ("book", action(first, who), person),
        "report" => ("reports", danger(first), RUNS),
        _ => return None,
    };
    let line = line?;
    let within = first
        .id
        .map_or_else(|| first.name.clone(), |id| id.to_string());
    Some(ToDo {
        href: format!("/{path}/{within}"),
        since: past(line.since, who.now, &who.zone),
        ask: ask.to_owned(),
        line: super::worded(line, who),
    })
}

/// Who is asked where nobody has it.
pub(super) const RUNS: &str = "quartermasters";

fn loan(things: &[Besides], name: &str, who: &SignedIn) -> Option<Line> {
    let numbers: Vec<&str> = things.iter().map(|one| one.name.as_str()).collect();
    let due = Day::parse(things.first()?.day.as_deref()?)?;
    of_loan((&numbers, name), due, (who.now, &who.zone))
}

fn check(check: Check, place: &Besides, who: &SignedIn) -> Option<Line> {
    let due = Day::parse(place.day.as_deref()?)?;
    of_check(check, (&place.name, due), (who.now, &who.zone))
}

fn kit(one: &Besides) -> Option<Line> {
    of_kit(&Kit {
        number: &one.name,
        to_mend: one.amount.unwrap_or(0),
        unchecked: one.most.unwrap_or(0),
        why: one.words.as_deref().unwrap_or_default(),
        since: one.at_ms.unwrap_or_default(),
    })
}

fn energy(parts: &[Besides]) -> Option<Line> {
    let first = parts.first()?;
    let each = parts.iter().map(Besides::energy_mwh);
    let energy_mwh = each.fold(0, i64::saturating_add);
    let came: Option<Instant> = parts.iter().filter_map(|part| part.at_ms).max();
    of_place(
        &first.name,
        (energy_mwh, first.most),
        came.unwrap_or_default(),
    )
}

fn charge(one: &Besides, who: &SignedIn) -> Option<Line> {
    let charge = Charge {
        pack: &one.name,
        charger: one.words.as_deref().unwrap_or_default(),
        started: one.at_ms?,
        most_minutes: one.amount?,
        cutoff_minutes: one.most?,
    };
    of_charge(&charge, (who.now, &who.zone))
}

fn bad_kit(things: &[Besides]) -> Line {
    let said = things.iter().filter_map(|one| one.words.as_deref());
    let kit: Vec<(&str, &str)> = said.filter_map(|words| words.split_once(": ")).collect();
    let since = things.iter().filter_map(|one| one.at_ms).max();
    let pack = things.first().map_or("", |one| one.name.as_str());
    of_bad_kit(pack, &kit, since.unwrap_or_default())
}

fn round(one: &Besides) -> Option<Line> {
    let packs = (one.amount?, one.most?);
    Some(of_round(&one.name, packs, one.at_ms?))
}

fn danger(one: &Besides) -> Option<Line> {
    let thing = one.words.as_deref().and_then(Thing::from_code);
    Some(of_danger(
        &one.name,
        thing,
        one.amount == Some(1),
        one.at_ms?,
    ))
}

fn action(one: &Besides, who: &SignedIn) -> Option<Line> {
    let stands = ActionStands::from_code(one.words.as_deref()?)?;
    let by = Day::parse(one.day.as_deref()?)?;
    of_action((&one.name, stands), by, (who.now, &who.zone))
}

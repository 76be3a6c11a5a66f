//! The words beside a pack's state, and what to do next: why it stands as it does.

use crate::actions::By;
use crate::battery::volts::Volts;
use crate::club::states::{Life, State};
use crate::club::verdict::{Finding, Gravity};
use crate::store::findings::Found;
use crate::store::packs::PackView;

/// Nothing but the age of its last reading makes it not known.
pub(super) fn is_by_age(pack: &PackView, stand: (State, &[Found])) -> bool {
    let (state, open) = stand;
    let is_found = |found: &Found| found.gravity() >= Gravity::NotKnown;
    state == State::NotKnown && pack.last_read_ms.is_some() && !open.iter().any(is_found)
}

/// The gravest finding speaks; without one the record says so, and never that a pack is safe.
pub(super) fn why(
    by: &By,
    pack: &PackView,
    stand: (State, &[Found]),
    because: Option<&str>,
) -> (String, String) {
    let open = stand.1;
    if is_by_age(pack, stand) {
        let old = Finding::reading_old(pack.days_unread(by.at), &by.limits());
        return (old.words, old.next);
    }
    if pack.life() != Life::InUse {
        return (why_not_in_use(pack, open, because), String::new());
    }
    let is_unknown = |found: &Found| found.gravity() >= Gravity::NotKnown;
    if pack.last_read_ms.is_none() && !open.iter().any(is_unknown) {
        let finding = Finding::never_read();
        return (finding.words, finding.next);
    }
    let gravest = open.iter().map(Found::gravity).max();
    let speaking: Vec<&Found> = open
        .iter()
        .filter(|found| Some(found.gravity()) == gravest)
        .collect();
    if speaking.is_empty() {
        return (no_fault(pack), String::new());
    }
    let words = speaking.iter().map(|found| found.words.as_str());
    let next = speaking.iter().map(|found| found.next_words.as_str());
    (first_few(&each_once(words)), each_once(next).join(" "))
}

fn each_once<'a>(sentences: impl Iterator<Item = &'a str>) -> Vec<&'a str> {
    let mut told: Vec<&str> = Vec::new();
    for sentence in sentences.filter(|sentence| !sentence.is_empty()) {
        if !told.contains(&sentence) {
            told.push(sentence);
        }
    }
    told
}

/// What is read in a hall, and kept in the log with each change. All of it stands on the pack's page.
const FEW: usize = 3;

/// A flood of reports makes no flood of words.
fn first_few(told: &[&str]) -> String {
    let more = told.len().saturating_sub(FEW);
    if more == 0 {
        return told.join(" ");
    }
    format!("{} And {more} more like that.", told[..FEW].join(" "))
}

/// Why a person took it out of use. A retired pack lies here still, and a lost one somewhere: what is dangerous about it is said as well.
fn why_not_in_use(pack: &PackView, open: &[Found], because: Option<&str>) -> String {
    let mut words = because.unwrap_or(&pack.state_words).to_owned();
    let dangers = open
        .iter()
        .filter(|found| found.gravity() >= Gravity::Danger);
    let lies_somewhere = matches!(pack.life(), Life::Retired | Life::Lost);
    for danger in dangers.filter(|_| lies_somewhere) {
        if !words.contains(&danger.words) {
            words = format!("{} {}", sentence(&words), danger.words);
        }
    }
    words
}

fn sentence(words: &str) -> String {
    let end = if words.ends_with(['.', '!', '?']) {
        ""
    } else {
        "."
    };
    format!("{words}{end}")
}

/// One voltage for several cells is their average: the record says what it can't see.
fn no_fault(pack: &PackView) -> String {
    match (pack.volts(), pack.cells_series) {
        (Some(Volts::Pack(_)), cells @ 2..) => {
            format!(
                "No known fault on record. Its {cells} cells can't be seen: one voltage is their average."
            )
        }
        _ => "No known fault on record.".to_owned(),
    }
}

//! Why a cell's resistance counts against its pack: the worst cell by each rule, in words, and how sure that is.

use super::super::history::{History, since_words};
use super::super::reason::{
    Figure, Reason, Sure, Unit, figure_words, limit_words, others_words, source_of,
};
use super::gathered::Said;
use crate::battery::resistance_history::{Against, Concern, Held};
use crate::battery::resistance_read::{MeterKind, ResistanceReading, load_milliohm_ah};
use crate::club::calendar::Instant;
use crate::club::verdict::{Finding, Gravity, Rule};

/// Half of the last digit of a charger that tells whole milliohms: common practice, no source.
const METER_MILLIOHM: f64 = 0.5;

pub const fn rule_of(against: Against) -> Rule {
    match against {
        Against::Ladder => Rule::ResistanceHigh,
        Against::Mates => Rule::ResistanceApart,
        Against::FirstReadings { .. } => Rule::ResistanceUp,
        Against::Sisters => Rule::ResistanceOverSisters,
    }
}

/// Of the worst cell, naming the others.
pub fn reason(
    history: &History<'_>,
    said: &[Said],
    rule: Rule,
    newest: &ResistanceReading,
) -> Option<Reason> {
    let each = said
        .iter()
        .flat_map(|said| said.held.iter().map(move |held| (said, held)));
    let of_rule = each.filter(|(_, held)| rule_of(held.against) == rule);
    let past: Vec<(&Said, &Held)> = of_rule
        .filter(|(_, held)| held.concern > Concern::Fine)
        .collect();
    let (said, worst) = *past.iter().max_by(|(_, one), (_, other)| {
        let by_concern = one.concern.cmp(&other.concern);
        by_concern.then_with(|| one.figure.total_cmp(&other.figure))
    })?;
    let as_grave = past
        .iter()
        .filter(|(_, held)| held.concern == worst.concern);
    let mut others: Vec<usize> = as_grave.map(|(_, held)| held.cell).collect();
    others.retain(|cell| *cell != worst.cell);
    others.sort_unstable();
    others.dedup();
    let (gravity, next) = match worst.concern {
        Concern::Grave => (Gravity::ToMend, SET_ASIDE),
        Concern::Caution => (Gravity::Caution, PRACTICE),
        Concern::Watch => (Gravity::Note, WATCH),
        Concern::Fine => return None,
    };
    let words = format!("{}{}", words(history, said, worst), others_words(&others));
    Some(Reason {
        finding: Finding::new(rule, gravity, words, next),
        cell: Some(worst.cell),
        figure: Some(Figure {
            value: worst.figure,
            limit: worst.limit,
            unit: match worst.against {
                Against::Ladder => Unit::MilliohmAh,
                _ => Unit::Times,
            },
        }),
        source: source_of(rule),
        sure: sure(said, worst, newest),
    })
}

/// What lies past the limit by less than a meter tells is not sure.
fn sure(said: &Said, worst: &Held, newest: &ResistanceReading) -> Sure {
    let own = newest.cells_uohm.get(worst.cell - 1).copied().unwrap_or(0) as f64 / 1_000.0;
    let past = own * (1.0 - worst.limit / worst.figure);
    if past < METER_MILLIOHM {
        Sure::Perhaps
    } else {
        Sure::of_readings(said.past(worst))
    }
}

const WATCH: &str = "Read it again at the next charge, with the same meter.";
const PRACTICE: &str = "Use it for practice only. Read it again with the same meter at about 20 °C and more than half full: under the limit, it is lifted.";
const SET_ASIDE: &str = "Don't use it. Read it again with the same meter at about 20 °C and more than half full, its plug pressed home: under the limit, it is lifted; else a quartermaster looks at it. Retiring it is for a person to say.";

fn words(history: &History<'_>, said: &Said, held: &Held) -> String {
    let figure = figure_words(held.figure, held.limit);
    let (cell, limit) = (held.cell, limit_words(held.limit));
    match held.against {
        Against::FirstReadings { since_ms } => {
            let since = since_words(Instant(since_ms), history.asked);
            format!(
                "Cell {cell} has {figure} times the resistance it had {since}; the club's limit is {limit}."
            )
        }
        Against::Mates => format!(
            "Cell {cell} has {figure} times the resistance of its mates; the club's limit is {limit}."
        ),
        Against::Sisters => format!(
            "Cell {cell} has {figure} times the resistance of this pack's sisters; from {limit} times on it is watched."
        ),
        Against::Ladder => {
            let ah = history.build().capacity_mah.max(1) as f64 / 1_000.0;
            let milliohm = held.figure / ah;
            let kind = said.meter.map(|meter| meter.kind);
            let has = match kind.filter(|kind| *kind == MeterKind::Alternating) {
                Some(kind) => {
                    let shown = milliohm / load_milliohm_ah(1.0, kind, 1_000);
                    format!(
                        "{shown:.1} milliohm at 25 °C by its AC meter, about {milliohm:.1} under load"
                    )
                }
                None => format!("{milliohm:.1} milliohm at 25 °C"),
            };
            format!("Cell {cell} has {has}, {figure} milliohm Ah; the club's limit is {limit}.")
        }
    }
}

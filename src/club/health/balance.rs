//! How far the cells stand apart in charge, which a flat part of the curve hides: a caution where the volts alone give none.

use super::Part;
use super::history::{HealthReading, History};
use super::reason::{Figure, Reason, Sure, Unit, source_of};
use crate::battery::imbalance::Imbalance;
use crate::battery::range::Range;
use crate::battery::volts::{Volts, volts_words};
use crate::club::calendar::Instant;
use crate::club::verdict::{Finding, Gravity, Rule};

#[derive(Clone, Copy, Debug, PartialEq)]
pub struct BalanceTold {
    pub at: Instant,
    pub imbalance: Imbalance,
}

/// Of the latest reading whose volts tell its charge.
pub(super) fn weighed(history: &History<'_>) -> (Option<BalanceTold>, Part) {
    let mut part = Part::default();
    let Some((reading, cells, imbalance)) = latest(history) else {
        return (None, part);
    };
    if history.is_newest(reading) {
        part.answers.push(Rule::ImbalanceByCharge);
    }
    part.reasons.extend(reason(history, cells, &imbalance));
    let at = reading.at;
    (Some(BalanceTold { at, imbalance }), part)
}

fn latest<'a>(history: &History<'a>) -> Option<(&'a HealthReading, &'a [i64], Imbalance)> {
    let chemistry = history.build().chemistry;
    let latest_first = history.readings.iter().rev();
    let mut told = latest_first.filter_map(|reading| {
        let Some(Volts::Cells(cells)) = &reading.volts else {
            return None;
        };
        history.settled_mv(reading)?;
        Some((*reading, cells.as_slice(), Imbalance::of(chemistry, cells)?))
    });
    told.next()
}

/// A spread that is wide in volts has its own rule.
fn reason(history: &History<'_>, cells: &[i64], imbalance: &Imbalance) -> Option<Reason> {
    let asked = history.asked;
    let points = imbalance.spread_percent?;
    let limit = asked.limits.imbalance_percent;
    let is_seen_in_volts = imbalance.spread_mv > asked.club.tightened().spread_watch_mv;
    if is_seen_in_volts || points.least <= 0.0 || points.likely <= limit as f64 {
        return None;
    }
    let at = |mv: Option<&i64>| cells.iter().position(|each| Some(each) == mv);
    let (high, low) = (at(cells.iter().max())? + 1, at(cells.iter().min())? + 1);
    let next = "Balance it at the next charge, let it rest an hour and log the cells again.";
    let finding = Finding::new(
        Rule::ImbalanceByCharge,
        Gravity::Caution,
        words((high, low), imbalance.spread_mv, points, limit),
        next,
    );
    Some(Reason {
        finding,
        cell: imbalance.odd.map(|odd| odd.cell),
        figure: Some(Figure {
            value: points.likely,
            limit: limit as f64,
            unit: Unit::PercentOfCharge,
        }),
        source: source_of(Rule::ImbalanceByCharge),
        sure: if points.least > limit as f64 {
            Sure::OneReading
        } else {
            Sure::Perhaps
        },
    })
}

fn words((high, low): (usize, usize), spread_mv: i64, points: Range, limit: i64) -> String {
    let Range {
        least,
        likely,
        most,
    } = points;
    let apart = volts_words(spread_mv);
    format!(
        "Cells {high} and {low} are {apart} V apart, which is about {likely:.0} % of charge there ({least:.0} to {most:.0}); the club's limit is {limit} %."
    )
}

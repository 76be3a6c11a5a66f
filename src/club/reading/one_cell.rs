//! One reading, of a cell or of a pack's average cell, against the limits: hard stops, their softer neighbours, and what is
//! asked about because hardly any cell shows it.

use super::{DO_NOT_CHARGE, Name, Reading, Rested};
use crate::battery::chemistry::Chemistry;
use crate::battery::limits::CellLimits;
use crate::battery::pack::Build;
use crate::battery::volts::volts_words;
use crate::club::verdict::{Finding, Gravity, Rule};

/// What was meant, when a point slipped by one place: 3.85 for 38.5 or 0.385. None when that suits no cell either.
fn slipped_point(mv: i64, table: &CellLimits) -> Option<i64> {
    let suits = |mv: &i64| (table.minimum_mv..=table.over_full_mv).contains(mv);
    [mv / 10, mv.saturating_mul(10)].into_iter().find(suits)
}

/// Hardly any cell shows that.
pub(super) fn is_strange(one: &Reading, table: &CellLimits) -> bool {
    !(table.plausible_low_mv..=table.plausible_high_mv).contains(&one.mv)
}

/// What may have been meant.
pub(super) fn put_right(one: &Reading, table: &CellLimits) -> String {
    match slipped_point(one.mv, table).filter(|_| one.name != Name::Average) {
        Some(meant) => format!("Was {} V meant? Log it again.", volts_words(meant)),
        None if one.mv < table.plausible_low_mv => {
            "Is the cell dead, or is the meter not touching? Measure and log it again.".to_owned()
        }
        None => "Was it mistyped? Measure and log it again.".to_owned(),
    }
}

pub(super) fn asked_about(one: &Reading, table: &CellLimits, is_confirmed: bool) -> Finding {
    let (name, value) = (one.name, volts_words(one.mv));
    let is_low = one.mv < table.plausible_low_mv;
    if is_confirmed && is_low {
        let words =
            format!("{name} shows {value} V and it was confirmed: the cell is dead or missing.");
        return Finding::new(Rule::MissingCell, Gravity::Danger, words, DO_NOT_CHARGE)
            .of_cell(name.cell());
    }
    if is_confirmed {
        let full = volts_words(table.full_mv);
        let words = format!("{name} shows {value} V and it was confirmed; full is {full} V.");
        return Finding::new(Rule::OverCharged, Gravity::Danger, words, DO_NOT_CHARGE)
            .of_cell(name.cell());
    }
    let (low, high) = (
        volts_words(table.plausible_low_mv),
        volts_words(table.plausible_high_mv),
    );
    let words = format!(
        "{name} was logged with {value} V, which hardly any cell shows: they lie between {low} and {high} V."
    );
    Finding::new(
        Rule::Implausible,
        Gravity::ToMend,
        words,
        &put_right(one, table),
    )
    .of_cell(name.cell())
}

const ONE_CELL_TYPED: &str = "Don't charge or use it: it is in quarantine now. If the volts of one cell were typed for those of the pack, correct the reading.";

impl Reading {
    /// Three cells or more that together show what one alone does: perhaps one was typed.
    fn after_over_discharge(&self, build: &Build, table: &CellLimits) -> &'static str {
        let whole = self.mv.saturating_mul(build.cells_series);
        let is_of_one = (table.minimum_mv..=table.over_full_mv).contains(&whole);
        if self.name == Name::Average && build.cells_series > 2 && is_of_one {
            ONE_CELL_TYPED
        } else {
            DO_NOT_CHARGE
        }
    }
}

/// Hard stops and their softer neighbours, one finding for each rule and reading. `limits`: the pack's own, the club's.
pub(super) fn past_limits(
    build: &Build,
    limits: (&CellLimits, &CellLimits),
    believed: &[&Reading],
    rested: Rested,
) -> Vec<Finding> {
    let ordinary = limits.1.empty_mv..=limits.1.over_full_warn_mv;
    let past = believed.iter().filter(|one| !ordinary.contains(&one.mv));
    past.filter_map(|one| past_limit(build, limits, one, rested))
        .collect()
}

/// More than half is in lead yet that is charged again, but it is spoiled by lying so.
fn charge_soon(chemistry: Chemistry, empty: &str) -> (String, &'static str) {
    let label = chemistry.label();
    match chemistry {
        Chemistry::Pb => (
            format!("{label} is charged again below {empty} V."),
            "Charge it full soon: lead is spoiled by lying part full.",
        ),
        _ => (
            format!("{label} is empty below {empty} V."),
            "Charge it soon, at least to storage.",
        ),
    }
}

fn past_limit(
    build: &Build,
    limits: (&CellLimits, &CellLimits),
    one: &Reading,
    rested: Rested,
) -> Option<Finding> {
    let (of_pack, table) = limits;
    let own = build.chemistry.limits();
    let label = build.chemistry.label();
    let for_label = format!("for {label}");
    let named = |is_stricter: bool| match is_stricter {
        true => "on its label",
        false => &for_label,
    };
    let full_of = named(table.full_mv < own.full_mv);
    let lowest_of = if table.minimum_mv > of_pack.minimum_mv {
        "club's minimum".to_owned()
    } else if of_pack.minimum_mv > own.minimum_mv {
        "lowest on its label".to_owned()
    } else {
        format!("minimum for {label}")
    };
    let by_club = if table.over_full_mv < of_pack.over_full_mv {
        " in this club"
    } else {
        ""
    };
    let reads = match rested {
        Rested::JustUsed => "reads",
        Rested::Minutes(_) => "rests at",
    };
    let start = format!("{} {reads} {} V", one.name, volts_words(one.mv));
    let (minimum, empty) = (volts_words(table.minimum_mv), volts_words(table.empty_mv));
    let (full, most) = (volts_words(table.full_mv), volts_words(table.over_full_mv));
    let (rule, gravity, words, next) = match one.mv {
        mv if mv < table.minimum_mv => (
            Rule::OverDischarged,
            Gravity::Danger,
            format!("{start}; the {lowest_of} is {minimum} V."),
            one.after_over_discharge(build, table),
        ),
        mv if mv > table.over_full_mv => (
            Rule::OverCharged,
            Gravity::Danger,
            format!(
                "{start}; full {full_of} is {full} V and more than {most} V is overcharged{by_club}."
            ),
            "Don't charge or use it: it is in quarantine now. Check the charger it came from.",
        ),
        mv if mv > table.over_full_warn_mv => (
            Rule::OverFullWarn,
            Gravity::Caution,
            format!("{start}; full {full_of} is {full} V."),
            "Check the charger it came from before the next charge.",
        ),
        mv if mv < table.empty_mv => {
            let (words, next) = charge_soon(build.chemistry, &empty);
            (
                Rule::Empty,
                Gravity::Caution,
                format!("{start}; {words}"),
                next,
            )
        }
        _ => return None,
    };
    Some(Finding::new(rule, gravity, words, next).of_cell(one.name.cell()))
}

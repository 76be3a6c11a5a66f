//! The first verdict: from volts, and whether the pack had rested, to findings with their numbers. Also which findings a
//! later reading closes. A value on the dangerous side counts at once, rested or not; an implausible one is asked about.
//! The table of limits is `battery::limits`; what a person saw is `seen`. mV and minutes.

use super::calendar::Instant;
use super::limits::ClubLimits;
use super::verdict::{Finding, Gravity, Rule};
use crate::battery::limits::CellLimits;
use crate::battery::pack::Build;
use crate::battery::volts::{Volts, volts_words};

/// How long the pack had been left alone when it was read.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Rested {
    JustUsed,
    Minutes(i64),
}

impl Rested {
    pub const A_WHILE: Self = Self::Minutes(15);
    pub const AN_HOUR: Self = Self::Minutes(60);

    /// What a form offers.
    pub const OFFERED: [Self; 3] = [Self::JustUsed, Self::A_WHILE, Self::AN_HOUR];

    /// As it is stored: no minutes are a pack just used.
    pub const fn of_minutes(minutes: i64) -> Self {
        match minutes {
            ..=0 => Self::JustUsed,
            _ => Self::Minutes(minutes),
        }
    }

    pub const fn minutes(self) -> i64 {
        match self {
            Self::JustUsed => 0,
            Self::Minutes(minutes) => minutes,
        }
    }

    /// The nearest of what a form offers, never longer than it was.
    pub const fn code(self) -> &'static str {
        match self.minutes() {
            60.. => "rested_an_hour",
            15..60 => "rested_a_while",
            _ => "just_used",
        }
    }

    pub fn from_code(code: &str) -> Option<Self> {
        Self::OFFERED.into_iter().find(|each| each.code() == code)
    }

    pub const fn label(self) -> &'static str {
        match self.minutes() {
            60.. => "Rested an hour or more",
            15..60 => "Rested 15 minutes or more",
            _ => "Just used",
        }
    }
}

/// The verdict on volts as typed: an implausible value is asked about and sets the pack aside.
pub fn judge(build: &Build, volts: &Volts, rested: Rested, limits: &ClubLimits) -> Vec<Finding> {
    judge_within(build, volts, rested, &limits.tightened(), false)
}

/// The verdict after the person was asked and says that the meter really shows this.
pub fn judge_confirmed(
    build: &Build,
    volts: &Volts,
    rested: Rested,
    limits: &ClubLimits,
) -> Vec<Finding> {
    judge_within(build, volts, rested, &limits.tightened(), true)
}

/// Minutes to wait before the spread can be judged; None when the pack has rested enough.
pub fn log_again_after_minutes(rested: Rested, limits: &ClubLimits) -> Option<i64> {
    rest_left(rested, &limits.tightened())
}

fn rest_left(rested: Rested, tightened: &ClubLimits) -> Option<i64> {
    let wait = tightened
        .rest_minutes
        .saturating_sub(rested.minutes().max(0));
    (wait > 0).then_some(wait)
}

/// When the spread of a pack that was read too soon can be judged; None when nothing waits for it.
pub fn log_again_at(
    volts: &Volts,
    rested: Rested,
    taken: Instant,
    limits: &ClubLimits,
) -> Option<Instant> {
    volts.spread_mv()?;
    log_again_after_minutes(rested, limits).map(|wait| taken.plus_minutes(wait))
}

/// Whether a reading with the findings `new` closes a finding that was open. Danger is never closed by a reading, nor is
/// what a person saw; an implausible reading closes nothing.
pub fn closed_by_reading(open: Rule, new: &[Finding], rested: Rested, limits: &ClubLimits) -> bool {
    let has = |rule: Rule| new.iter().any(|each| each.rule == rule);
    if has(Rule::Implausible) {
        return false;
    }
    let is_spread_judged = || {
        log_again_after_minutes(rested, limits).is_none()
            && !has(Rule::SpreadNotJudged)
            && !has(Rule::CellsNotSeen)
    };
    match open {
        Rule::SpreadWide | Rule::SpreadWatch | Rule::SpreadNotJudged => {
            is_spread_judged() && !has(open)
        }
        Rule::Empty => !has(Rule::Empty) && !has(Rule::OverDischarged) && !has(Rule::MissingCell),
        Rule::OverFullWarn => !has(Rule::OverFullWarn) && !has(Rule::OverCharged),
        Rule::CellsNotSeen => !has(Rule::CellsNotSeen),
        Rule::Implausible
        | Rule::CouldNotRead
        | Rule::CameBackUnchecked
        | Rule::NeverRead
        | Rule::ReadingOld => true,
        // No balancing brings such cells back, so that volts alone don't either: somebody says so.
        Rule::SpreadOut => false,
        Rule::Seen(_)
        | Rule::OverDischarged
        | Rule::OverCharged
        | Rule::MissingCell
        | Rule::BatchSister
        | Rule::ReportedUnlooked
        | Rule::TookTooMuch
        | Rule::StoppedWrong
        | Rule::InIncident => false,
        // What readings tell together is closed by what they tell together: `health`.
        Rule::ResistanceUp
        | Rule::ResistanceApart
        | Rule::ResistanceHigh
        | Rule::ResistanceOverSisters
        | Rule::CapacityLow
        | Rule::SelfDischarge
        | Rule::ImbalanceByCharge => false,
    }
}

/// One measured thing with its name: a cell, or the average of a pack that shows no cells.
struct Reading {
    name: Name,
    mv: i64,
}

#[derive(Clone, Copy, PartialEq, Eq)]
enum Name {
    /// From 0.
    Cell(usize),
    Average,
}

impl Name {
    /// Cell 1 first.
    const fn cell(self) -> Option<usize> {
        match self {
            Self::Cell(index) => Some(index + 1),
            Self::Average => None,
        }
    }
}

impl std::fmt::Display for Name {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            Self::Cell(index) => write!(f, "Cell {}", index + 1),
            Self::Average => write!(f, "The average cell"),
        }
    }
}

/// The same by limits that are tightened already: many readings in a row are judged by the same.
pub(in crate::club) fn judge_within(
    build: &Build,
    volts: &Volts,
    rested: Rested,
    limits: &ClubLimits,
    is_confirmed: bool,
) -> Vec<Finding> {
    let own = build.limits();
    let table = &limits.of_cell(build);
    let readings = named(build, volts);
    let (strange, believed): (Vec<&Reading>, Vec<&Reading>) = readings
        .iter()
        .partition(|one| one_cell::is_strange(one, table));
    let mut findings = wrong_count(build, volts, is_confirmed);
    findings.extend(
        strange
            .iter()
            .map(|one| one_cell::asked_about(one, table, is_confirmed)),
    );
    findings.extend(one_cell::past_limits(
        build,
        (&own, table),
        &believed,
        rested,
    ));
    findings.extend(one_cell_fewer(build, &own, volts));
    findings.extend(match volts {
        Volts::Cells(_) => spread(&believed, rested, limits),
        Volts::Pack(_) => Some(cells_not_seen(build)),
    });
    findings.sort_by_key(|each| std::cmp::Reverse(each.gravity));
    findings
}

fn named(build: &Build, volts: &Volts) -> Vec<Reading> {
    match volts {
        Volts::Cells(cells) => {
            let cell = |(index, mv): (usize, &i64)| Reading {
                name: Name::Cell(index),
                mv: *mv,
            };
            cells.iter().enumerate().map(cell).collect()
        }
        Volts::Pack(mv) => vec![Reading {
            name: Name::Average,
            mv: average_mv(build, *mv),
        }],
    }
}

/// Rounded towards the nearer danger, so that a fraction of a millivolt never hides one.
pub(super) fn average_mv(build: &Build, pack_mv: i64) -> i64 {
    let (pack, cells) = (Volts::Pack(pack_mv), build.cells_series);
    let low_mv = pack.lowest_mv(cells);
    if low_mv >= build.limits().full_mv {
        pack.highest_mv(cells)
    } else {
        low_mv
    }
}

/// A pack voltage under the minimum that would suit one cell fewer: common practice, no source.
fn one_cell_fewer(build: &Build, table: &CellLimits, volts: &Volts) -> Option<Finding> {
    let cells = build.cells_series;
    let Volts::Pack(mv) = volts else {
        return None;
    };
    let is_under = cells > 1 && *mv < table.minimum_mv.saturating_mul(cells);
    let fewer = cells.saturating_sub(1);
    let suits = table.empty_mv.saturating_mul(fewer)..=table.over_full_mv.saturating_mul(fewer);
    let suits_fewer = suits.contains(mv);
    let value = volts_words(*mv);
    let words = format!(
        "The pack shows {value} V, which suits {fewer} and not {cells}: one may be dead or missing."
    );
    (is_under && suits_fewer)
        .then(|| Finding::new(Rule::MissingCell, Gravity::Danger, words, DO_NOT_CHARGE))
}

/// Fewer or more volts than the design has cells. Confirmed, fewer means a cell that can't be seen.
fn wrong_count(build: &Build, volts: &Volts, is_confirmed: bool) -> Vec<Finding> {
    let Volts::Cells(cells) = volts else {
        return Vec::new();
    };
    let (count, wanted) = (
        i64::try_from(cells.len()).unwrap_or(i64::MAX),
        build.cells_series,
    );
    if count == wanted {
        return Vec::new();
    }
    let words =
        format!("The number of voltages logged is {count}; a {wanted}S pack has {wanted} cells.");
    if is_confirmed && count < wanted {
        return vec![Finding::new(
            Rule::MissingCell,
            Gravity::Danger,
            words,
            DO_NOT_CHARGE,
        )];
    }
    let next = "Count the cells at the balance plug and log them again.";
    vec![Finding::new(
        Rule::Implausible,
        Gravity::ToMend,
        words,
        next,
    )]
}

const DO_NOT_CHARGE: &str = "Don't charge or use it: it is in quarantine now.";

/// A pack with a balance lead that was only measured whole is a caution; one that can't show its cells, a note.
fn cells_not_seen(build: &Build) -> Finding {
    let cells = build.cells_series;
    let words = format!(
        "One voltage for the whole pack was logged: it is the average of {cells} cells and can't show a weak one."
    );
    if build.sees_cells && cells > 1 {
        let next = "Log each cell at the balance plug.";
        return Finding::new(Rule::CellsNotSeen, Gravity::Caution, words, next);
    }
    let next = "Watch for a pack that is down sooner than its sisters.";
    Finding::new(Rule::CellsNotSeen, Gravity::Note, words, next)
}

pub mod asked_first;
pub mod beside;
mod one_cell;
mod spread;

use spread::spread;
pub use spread::{OUT_OF_SERVICE_MV, failed_again};

/// Do its last volts still tell how much is in the pack? Read within a day, rested, and not before it last went out: who
/// had it may have used it since. `read`: when, and how long it had rested. A day: common practice, no source.
pub fn still_tells_charge(
    read: (Option<Instant>, Option<i64>),
    lent_ms: Option<Instant>,
    now: Instant,
    limits: &ClubLimits,
) -> bool {
    let (Some(at), Some(rested_minutes)) = read else {
        return false;
    };
    now.minutes_since(at) < 24 * 60
        && rested_minutes >= limits.rest_minutes
        && lent_ms.is_none_or(|lent| lent < at)
}

#[cfg(test)]
mod club_tests;
#[cfg(test)]
mod tests;

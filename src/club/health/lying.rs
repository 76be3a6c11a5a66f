//! What the pack loses by lying, from two rested readings with nothing drawn or charged between, as somebody said, or, of a cell
//! that fell alone, as far as is on record: the newest such one against the one before it, and against one of a month before. A single mistyped reading long ago so counts once only.

use super::Part;
use super::history::{HealthReading, History, days_between};
use super::reason::{Figure, Reason, Sure, Unit, source_of};
use crate::battery::range::{Range, median, others};
use crate::battery::self_discharge::{CellLoss, Loss, MONTH, expected_percent_a_month, lost};
use crate::club::calendar::Instant;
use crate::club::reading::beside::Context;
use crate::club::verdict::{Finding, Gravity, Rule};
use std::borrow::Cow;

/// Rather against one of so many days before than against a nearer one: a month's fall is told from a meter's error.
const MONTH_DAYS: f64 = 28.0;
const DAYS_LEAST: f64 = 1.0;
/// A room, where nobody said: common practice, no source.
const ROOM_CELSIUS: f64 = 20.0;

#[derive(Clone, Debug, PartialEq)]
pub struct LyingTold {
    pub at: Instant,
    pub days: f64,
    pub cells: Vec<CellLoss>,
    /// What a good pack loses.
    pub expected_percent_a_month: Range,
}

/// Two readings with only lying between.
struct Pair<'a> {
    days: f64,
    before_mv: Cow<'a, [i64]>,
}

pub(super) fn weighed(history: &History<'_>) -> (Option<LyingTold>, Part) {
    let mut part = Part::default();
    let chemistry = history.build().chemistry;
    // Limits of lithium.
    let has_limits = chemistry.is_lithium();
    let said = latest_run(history, lay_before).and_then(|run| run.told(history));
    // What the record tells opens a caution; somebody who looks, or says that it only lay, answers it.
    let by_record = || on_record(history).filter(|_| has_limits);
    let Some((end, told)) = said else {
        let found = by_record();
        part.answers
            .extend(found.as_ref().map(|_| Rule::SelfDischarge));
        part.reasons.extend(found);
        return (None, part);
    };
    let Some((days, cells)) = told.last().cloned() else {
        return (None, part);
    };
    if history.is_newest(end) {
        part.answers.push(Rule::SelfDischarge);
    }
    if has_limits {
        let by_word = reason(history, &told);
        let found = by_word.or_else(by_record);
        if found
            .as_ref()
            .is_some_and(|found| found.sure == Sure::OnRecord)
        {
            part.answers.push(Rule::SelfDischarge);
        }
        part.reasons.extend(found);
    }
    let celsius = end.celsius.unwrap_or(ROOM_CELSIUS);
    let told = LyingTold {
        at: end.at,
        days,
        cells,
        expected_percent_a_month: expected_percent_a_month(chemistry, celsius),
    };
    (Some(told), part)
}

/// The latest reading before which the pack only lay, and those it is held against: the one before, one of a month before.
struct Run<'a> {
    end: &'a HealthReading,
    end_mv: Cow<'a, [i64]>,
    /// At least one.
    pairs: Vec<Pair<'a>>,
}

/// What each pair comes to, with its days.
type Told = Vec<(f64, Vec<CellLoss>)>;

impl<'a> Run<'a> {
    fn told(&self, history: &History<'_>) -> Option<(&'a HealthReading, Told)> {
        let chemistry = history.build().chemistry;
        let limits = &history.asked.limits.loss;
        let told = |pair: &Pair<'_>| {
            let cells = lost(chemistry, &pair.before_mv, &self.end_mv, pair.days, limits);
            cells.ok().map(|cells| (pair.days, cells))
        };
        let told: Told = self.pairs.iter().filter_map(told).collect();
        (!told.is_empty()).then_some((self.end, told))
    }
}

fn latest_run<'a>(
    history: &History<'a>,
    lay_before: fn(&[&HealthReading], usize) -> bool,
) -> Option<Run<'a>> {
    let readings = &history.readings;
    let is_end = |at: &usize| lay_before(readings, *at) && is_settled(history, *at);
    let end_at = (0..readings.len()).rev().find(is_end)?;
    let end = *readings.get(end_at)?;
    let end_mv = history.settled_mv(end)?;
    let mut pairs: Vec<Pair<'_>> = Vec::new();
    let lain = (0..end_at)
        .rev()
        .take_while(|at| lay_before(readings, at + 1));
    for before in lain.filter_map(|at| readings.get(at)) {
        let days = days_between(before.at, end.at);
        let Some(before_mv) = history.settled_mv(before).filter(|_| days >= DAYS_LEAST) else {
            continue;
        };
        // The one before, and of the farther ones the nearest that is a month away, else the farthest.
        pairs.truncate(1);
        pairs.push(Pair { days, before_mv });
        if days >= MONTH_DAYS {
            break;
        }
    }
    (!pairs.is_empty()).then_some(Run { end, end_mv, pairs })
}

fn is_settled(history: &History<'_>, at: usize) -> bool {
    let reading = history.readings.get(at);
    reading.is_some_and(|reading| history.settled_mv(reading).is_some())
}

/// Between this reading and the one before it nothing went in or out: somebody said so, or both were storage checks.
fn lay_before(readings: &[&HealthReading], at: usize) -> bool {
    let before = at.checked_sub(1).and_then(|before| readings.get(before));
    let Some((before, reading)) = before.zip(readings.get(at)) else {
        return false;
    };
    let is_check = |reading: &HealthReading| reading.context == Some(Context::StorageCheck);
    reading
        .charge
        .map_or(is_check(before) && is_check(reading), |charge| {
            charge.mah() == 0
        })
}

/// Nothing on record took anything out of it or put anything in.
fn lay_on_record(readings: &[&HealthReading], at: usize) -> bool {
    let before = at.checked_sub(1).and_then(|before| readings.get(before));
    let both = before.zip(readings.get(at));
    both.is_some_and(|(before, reading)| {
        let is_charged = reading.charge.is_some_and(|charge| charge.mah() != 0);
        !is_charged && reading.used.is_some_and(|used| used <= before.at)
    })
}

/// After less, cells that settle or were balanced look like one that sags: common practice, no source.
const ON_RECORD_DAYS: f64 = 7.0;
/// Where the others moved no more than two readings may be off, and none rose by more, nobody used or charged it: common practice, no
/// source.
const HARDLY_MV: f64 = 20.0;

/// Where nobody said that it only lay, its record may, and its other cells must agree: then a cell that fell alone is told.
fn on_record(history: &History<'_>) -> Option<Reason> {
    let run = latest_run(history, lay_on_record)?;
    if !history.is_newest(run.end) {
        return None;
    }
    let (_, told) = run.told(history)?;
    let fell_alone = |(days, cells): &(f64, Vec<CellLoss>)| {
        let fallen: Vec<f64> = cells.iter().map(|cell| cell.fallen_mv as f64).collect();
        if fallen.iter().any(|mv| *mv < -HARDLY_MV) {
            return None;
        }
        let alone = cells.iter().enumerate().filter(|(index, cell)| {
            let mates = median(&others(&fallen, *index));
            cell.is_sagging && mates.is_some_and(|mv| mv.abs() <= HARDLY_MV)
        });
        let alone: Vec<CellLoss> = alone.map(|(_, cell)| *cell).collect();
        (*days >= ON_RECORD_DAYS && !alone.is_empty()).then_some((*days, alone))
    };
    let alone: Told = told.iter().filter_map(fell_alone).collect();
    let mut found = reason(history, &alone)?;
    found.finding.words = format!(
        "As far as is on record it only lay. {}",
        found.finding.words
    );
    found.sure = Sure::OnRecord;
    Some(found)
}

/// The gravest of all cells and pairs.
fn reason(history: &History<'_>, told: &[(f64, Vec<CellLoss>)]) -> Option<Reason> {
    let each = told
        .iter()
        .flat_map(|(days, cells)| cells.iter().map(move |cell| (*days, cell)));
    let reasons = each.filter_map(|(days, cell)| of_cell(history, days, cell));
    reasons.max_by(|one, other| {
        let figure = |reason: &Reason| {
            reason
                .figure
                .map_or(0.0, |figure| figure.value / figure.limit)
        };
        let by_gravity = one.finding.gravity.cmp(&other.finding.gravity);
        by_gravity.then_with(|| figure(one).total_cmp(&figure(other)))
    })
}

fn of_cell(history: &History<'_>, days: f64, cell: &CellLoss) -> Option<Reason> {
    let limits = &history.asked.limits.loss;
    let of_month = |percent: Range| (percent, limits.percent_a_month as f64, Unit::PercentAMonth);
    let of_day = |percent: Range| {
        let a_day = percent.times(1.0 / MONTH);
        (
            a_day,
            limits.discard_percent_a_day as f64,
            Unit::PercentADay,
        )
    };
    let percent = cell.percent_a_month;
    let (gravity, (range, limit, unit)) = match cell.loss {
        Loss::Discard => (Gravity::ToMend, of_day(percent?)),
        Loss::Fast => (Gravity::Caution, of_month(percent?)),
        // One whose mates rose did not fall.
        _ if cell.is_sagging && cell.loss > Loss::CannotTellYet => {
            let mv = Range::around(cell.sags_more_mv_a_month? as f64, []);
            let limit = limits.sag_mv_a_month as f64;
            (Gravity::Caution, (mv, limit, Unit::MvAMonth))
        }
        Loss::PerhapsFast => (Gravity::Note, of_month(percent?)),
        Loss::CannotTellYet | Loss::Fine => return None,
    };
    let next = match gravity {
        Gravity::ToMend => SET_ASIDE,
        _ => WATCH,
    };
    Some(Reason {
        finding: Finding::new(
            Rule::SelfDischarge,
            gravity,
            words(cell, days, (range, limit, unit)),
            next,
        ),
        cell: Some(cell.cell),
        figure: Some(Figure {
            value: range.likely,
            limit,
            unit,
        }),
        source: source_of(Rule::SelfDischarge),
        sure: if cell.loss == Loss::PerhapsFast && unit == Unit::PercentAMonth {
            Sure::Perhaps
        } else {
            Sure::OneReading
        },
    })
}

const WATCH: &str = "Charge it to storage, balance it, and log the cells after a month of lying: a cell that keeps losing does not come back.";
const SET_ASIDE: &str = "Don't use or charge it until a quartermaster has looked at it; charged to storage and logged a day later it tells whether it still loses.";

fn words(cell: &CellLoss, days: f64, (range, limit, unit): (Range, f64, Unit)) -> String {
    let Range {
        least,
        likely,
        most,
    } = range;
    let which = cell.cell;
    let lay = lay_words(days);
    match unit {
        Unit::MvAMonth if days < BY_MONTH_FROM_DAYS => format!(
            "Cell {which} sagged {} mV a day more than its mates {lay}; the club's limit is {limit:.0} mV a month.",
            few(likely / MONTH)
        ),
        Unit::MvAMonth => format!(
            "Cell {which} sagged {likely:.0} mV a month more than its mates {lay}; the club's limit is {limit:.0} mV."
        ),
        Unit::PercentADay => format!(
            "Cell {which} lost about {likely:.0} % of its charge a day ({least:.0} to {most:.0}) {lay}; the club's limit is {limit:.0} %."
        ),
        _ => {
            let rate = RateTold::of(range, days);
            let limit = rate.limit_words(limit);
            format!("Cell {which} lost about {rate} {lay}; the club's limit is {limit}.")
        }
    }
}

/// After less, what it lost tells of days and not of a month: common practice, no source.
const BY_MONTH_FROM_DAYS: f64 = 7.0;

fn lay_words(days: f64) -> String {
    match days.round() as i64 {
        ..=1 => "while it lay for a day".to_owned(),
        days => format!("while it lay for {days} days"),
    }
}

/// Tenths where there are few.
fn few(value: f64) -> String {
    if value < 9.95 {
        format!("{value:.1}")
    } else {
        format!("{value:.0}")
    }
}

/// A loss by lying as people are told it: `43 % of its charge a month (35 to 48)`; by the day where less than a week was watched,
/// and where a month of it would be more than it holds.
pub struct RateTold {
    likely: String,
    least: String,
    most: String,
    is_by_day: bool,
}

impl RateTold {
    pub fn of(percent_a_month: Range, days: f64) -> Self {
        let Range {
            least,
            likely,
            most,
        } = percent_a_month;
        let is_by_day = days < BY_MONTH_FROM_DAYS || most > 100.0;
        let one = |value: f64| {
            if is_by_day {
                few((value / MONTH).min(100.0))
            } else {
                format!("{value:.0}")
            }
        };
        Self {
            likely: one(likely),
            least: one(least),
            most: one(most),
            is_by_day,
        }
    }

    fn limit_words(&self, percent_a_month: f64) -> String {
        let unit = if self.is_by_day { " a month" } else { "" };
        format!("{percent_a_month:.0} %{unit}")
    }
}

impl std::fmt::Display for RateTold {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        let Self {
            likely,
            least,
            most,
            ..
        } = self;
        let unit = if self.is_by_day { "day" } else { "month" };
        write!(f, "{likely} % of its charge a {unit} ({least} to {most})")
    }
}

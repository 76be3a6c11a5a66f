//! A pack's resistance held against what it can be held against: the ladder, its other cells, its own first readings, its
//! sisters. Told as figures with the limit that each is past; the club's verdict makes states and sentences of them.
//! One reading on the dangerous side counts at once; one on the kind side does not outweigh the two before it.
//! More resistance in a cell never makes that cell's own outcome kinder. (Its mates' it may: they are measured by it.)

use super::chemistry::Chemistry;
use super::range::{lower_median, others, upper_median};
use super::resistance_read::{Grade, Incomparable, Ladder, ResistanceReading, load_milliohm_ah};

/// So many first readings make what a pack is held against, and so many last ones its course.
const SEVERAL: usize = 3;
/// Read farther apart than so many days, a pack's first readings are not of one age: common practice, no source.
const YOUNG_DAYS: i64 = 60;
const DAY_MS: i64 = 86_400_000;

/// In hundredths: 150 is one and a half times. All of them common practice; the doubling at 80 % of capacity is told by a
/// student vehicle team too.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct ResistanceLimits {
    pub ladder: Ladder,
    /// Above: watch, grave.
    pub mates_watch_percent: i64,
    pub mates_grave_percent: i64,
    /// From: caution, grave.
    pub first_caution_percent: i64,
    pub first_grave_percent: i64,
    /// From: watch. Sisters may be of another age.
    pub sisters_watch_percent: i64,
}

impl Default for ResistanceLimits {
    fn default() -> Self {
        Self {
            ladder: Ladder::default(),
            mates_watch_percent: 125,
            mates_grave_percent: 150,
            first_caution_percent: 150,
            first_grave_percent: 200,
            sisters_watch_percent: 150,
        }
    }
}

/// Rising.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Concern {
    Fine,
    Watch,
    /// Practice only.
    Caution,
    /// Retire.
    Grave,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Against {
    /// The figure and the limit are milliohm Ah.
    Ladder,
    /// The figure and the limit are times, as in all below: of the median of the pack's other cells.
    Mates,
    /// Of the same cell's first readings, the earliest of which was then.
    FirstReadings { since_ms: i64 },
    /// Of the middle of the sisters' middle cells.
    Sisters,
}

/// One cell held against one thing.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Held {
    /// Cell 1 first.
    pub cell: usize,
    pub against: Against,
    pub figure: f64,
    /// The limit that it is past, or the next where it is fine.
    pub limit: f64,
    pub concern: Concern,
    /// How many readings of the pack speak in it: one alone may be mistyped.
    pub readings: usize,
}

#[derive(Clone, Debug, PartialEq)]
pub struct HeldAgainst {
    pub held: Vec<Held>,
    /// Why the newest reading speaks in what is held against the mates alone; the rest is told of those before it.
    pub newest_incomparable: Option<Incomparable>,
}

impl HeldAgainst {
    pub fn gravest(&self) -> Concern {
        let concerns = self.held.iter().map(|each| each.concern);
        concerns.max().unwrap_or(Concern::Fine)
    }
}

/// What was read with the meter of the newest reading, as rows of one figure for each cell; oldest first. Cells of one
/// reading are compared whatever meter read it.
struct Course {
    /// The first that could be compared, the newest not among them: milliohm at 25 °C.
    first: Vec<Vec<f64>>,
    /// So many of them were read within some weeks of the earliest.
    young: usize,
    since_ms: Option<i64>,
    /// The last that could be compared.
    last: Vec<Vec<f64>>,
    /// The last of all, as times the median of the other cells.
    times_mates: Vec<Vec<f64>>,
}

/// `history`: oldest first. `sisters`: the newest reading of each pack of the same design. None without a usable reading.
pub fn held_against(
    chemistry: Chemistry,
    capacity_mah: i64,
    history: &[ResistanceReading],
    sisters: &[ResistanceReading],
    limits: &ResistanceLimits,
) -> Option<HeldAgainst> {
    let newest = history.iter().rfind(|reading| reading.is_usable())?;
    let course = course(history, newest);
    let newest_incomparable = newest.milliohm_at_25().err();
    let sisters_milliohm = sisters_middle(sisters, newest);
    let mut held = Vec::new();
    for cell in 0..newest.cells_uohm.len() {
        held.extend(against_mates(&course, cell, limits));
        let milliohm_ah = |milliohm| load_milliohm_ah(milliohm, newest.meter.kind, capacity_mah);
        held.extend(against_ladder(
            &course,
            cell,
            chemistry,
            milliohm_ah,
            &limits.ladder,
        ));
        held.extend(against_first(&course, cell, limits));
        held.extend(against_sisters(&course, cell, sisters_milliohm, limits));
    }
    Some(HeldAgainst {
        held,
        newest_incomparable,
    })
}

fn course(history: &[ResistanceReading], newest: &ResistanceReading) -> Course {
    let usable: Vec<_> = history
        .iter()
        .filter(|each| each.is_usable() && each.cells_uohm.len() == newest.cells_uohm.len())
        .collect();
    let of_meter = usable.iter().copied();
    let same: Vec<_> = of_meter.filter(|each| each.meter == newest.meter).collect();
    let comparable = |each: &&ResistanceReading| each.milliohm_at_25().ok();
    let newest_comparable = same.iter().rposition(|each| comparable(each).is_some());
    let before = &same[..newest_comparable.unwrap_or(0)];
    let mut last: Vec<Vec<f64>> = same
        .iter()
        .rev()
        .filter_map(comparable)
        .take(SEVERAL)
        .collect();
    last.reverse();
    let latest = &usable[usable.len().saturating_sub(SEVERAL)..];
    let dated = |each: &&ResistanceReading| Some((each.at_ms, comparable(each)?));
    let first = before.iter().filter_map(dated).take(SEVERAL);
    let (first_ms, first): (Vec<i64>, Vec<Vec<f64>>) = first.unzip();
    let since_ms = first_ms.first().copied();
    let until_ms = since_ms.map(|since_ms| since_ms.saturating_add(YOUNG_DAYS * DAY_MS));
    Course {
        young: first_ms
            .iter()
            .filter(|at_ms| Some(**at_ms) <= until_ms)
            .count(),
        first,
        since_ms,
        last,
        times_mates: latest
            .iter()
            .map(|each| times_mates(&each.cells_uohm))
            .collect(),
    }
}

/// Of an even number of mates the lower in the middle counts: two bad cells of three must not hide one another. Empty for
/// a single cell.
pub fn times_mates(cells_uohm: &[i64]) -> Vec<f64> {
    let cells: Vec<f64> = cells_uohm.iter().map(|uohm| *uohm as f64).collect();
    let times = |(index, own): (usize, &f64)| Some(own / lower_median(&others(&cells, index))?);
    cells.iter().enumerate().filter_map(times).collect()
}

/// The newest of these last ones, or what they tell in their middle where that is more; and how many speak.
fn counts(cell: usize, last: &[Vec<f64>]) -> Option<(f64, usize)> {
    let figures = of_cell(cell, last);
    let steady = upper_median(&figures)?;
    Some((steady.max(*figures.last()?), figures.len()))
}

fn of_cell(cell: usize, rows: &[Vec<f64>]) -> Vec<f64> {
    rows.iter()
        .filter_map(|row| row.get(cell).copied())
        .collect()
}

fn against_mates(course: &Course, cell: usize, limits: &ResistanceLimits) -> Option<Held> {
    let (figure, readings) = counts(cell, &course.times_mates)?;
    let (watch, grave) = (
        times(limits.mates_watch_percent),
        times(limits.mates_grave_percent),
    );
    let (concern, limit) = if figure > grave {
        (Concern::Grave, grave)
    } else if figure > watch {
        (Concern::Watch, watch)
    } else {
        (Concern::Fine, watch)
    };
    Some(Held {
        cell: cell + 1,
        against: Against::Mates,
        figure,
        limit,
        concern,
        readings,
    })
}

fn against_ladder(
    course: &Course,
    cell: usize,
    chemistry: Chemistry,
    milliohm_ah: impl Fn(f64) -> f64,
    ladder: &Ladder,
) -> Option<Held> {
    let (milliohm, readings) = counts(cell, &course.last)?;
    let figure = as_far_as_told(milliohm_ah(milliohm));
    let grade = ladder.grade(chemistry, figure)?;
    let concern = match grade {
        Grade::Good | Grade::Used => Concern::Fine,
        Grade::PracticeOnly => Concern::Caution,
        Grade::Retire => Concern::Grave,
    };
    Some(Held {
        cell: cell + 1,
        against: Against::Ladder,
        figure,
        limit: ladder.limit_under(grade) as f64,
        concern,
        readings,
    })
}

/// The newest reading is not one of its own first ones.
fn against_first(course: &Course, cell: usize, limits: &ResistanceLimits) -> Option<Held> {
    let first = of_cell(cell, &course.first);
    // Where the next ones came long after, they may have risen already and are no measure by themselves.
    let young = lower_median(&first[..course.young.min(first.len())])?;
    let (milliohm, readings) = counts(cell, &course.last)?;
    let figure = as_far_as_told(milliohm / lower_median(&first)?.min(young));
    let (caution, grave) = (
        times(limits.first_caution_percent),
        times(limits.first_grave_percent),
    );
    let (concern, limit) = if figure >= grave {
        (Concern::Grave, grave)
    } else if figure >= caution {
        (Concern::Caution, caution)
    } else {
        (Concern::Fine, caution)
    };
    Some(Held {
        cell: cell + 1,
        against: Against::FirstReadings {
            since_ms: course.since_ms?,
        },
        figure,
        limit,
        concern,
        readings: readings.max(first.len() + 1),
    })
}

fn against_sisters(
    course: &Course,
    cell: usize,
    sisters_milliohm: Option<f64>,
    limits: &ResistanceLimits,
) -> Option<Held> {
    let (milliohm, readings) = counts(cell, &course.last)?;
    let figure = as_far_as_told(milliohm / sisters_milliohm?);
    let limit = times(limits.sisters_watch_percent);
    let concern = if figure >= limit {
        Concern::Watch
    } else {
        Concern::Fine
    };
    Some(Held {
        cell: cell + 1,
        against: Against::Sisters,
        figure,
        limit,
        concern,
        readings,
    })
}

/// The middle of the sisters' middle cells, milliohm at 25 °C; of those that the same meter measured.
fn sisters_middle(sisters: &[ResistanceReading], newest: &ResistanceReading) -> Option<f64> {
    let middles: Vec<f64> = sisters
        .iter()
        .filter(|each| each.is_usable() && each.meter == newest.meter)
        .filter_map(|each| lower_median(&each.milliohm_at_25().ok()?))
        .collect();
    lower_median(&middles)
}

/// Brought to 25 °C and divided, what has reached a limit may lie short of it by a float's last digit: nine decimals are told.
fn as_far_as_told(figure: f64) -> f64 {
    const DECIMALS: f64 = 1e9;
    (figure * DECIMALS).round() / DECIMALS
}

fn times(percent: i64) -> f64 {
    percent as f64 / 100.0
}

#[cfg(test)]
#[path = "resistance_history_tests.rs"]
mod tests;

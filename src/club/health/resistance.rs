//! A cell's resistance over time, beside its mates and its pack's sisters, and by itself. What one meter said of a pack
//! against its own first readings stands until the same meter says otherwise, since meters do not tell the same figure.

mod gathered;
mod reasons;

use super::Part;
use super::history::{Asked, HealthPack, HealthReading, History};
use super::limits::HealthLimits;
use crate::battery::resistance_history::Held;
use crate::battery::resistance_read::{Incomparable, ResistanceReading, load_milliohm_ah};
use crate::battery::trend::Point;
use crate::club::calendar::Instant;
use crate::club::limits::ClubLimits;
use crate::club::verdict::Rule;
use gathered::{Gathered, Meters, resistance_of};
use reasons::{reason, rule_of};

/// One cell in the newest reading.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct CellResistance {
    /// Cell 1 first.
    pub cell: usize,
    /// As the meter showed it.
    pub milliohm: f64,
    /// None where it can't be compared.
    pub milliohm_at_25: Option<f64>,
    /// As a load would show it, at 25 °C.
    pub milliohm_ah: Option<f64>,
    pub times_mates: Option<f64>,
    /// These two count the readings just before as well.
    pub times_first: Option<f64>,
    pub times_sisters: Option<f64>,
}

#[derive(Clone, Debug, PartialEq)]
pub struct ResistanceTold {
    pub at: Instant,
    pub meter: Option<String>,
    pub cells: Vec<CellResistance>,
    pub incomparable: Option<Incomparable>,
}

#[derive(Default)]
pub(super) struct Weighed {
    pub told: Option<ResistanceTold>,
    /// The worst cell of the newest reading at 25 °C, as a load shows it.
    pub worst_uohm: Option<i64>,
    /// Months, and times of the first readings of the cell that rose most; oldest first.
    pub course: Vec<Point>,
}

/// What takes a reading that can be compared.
const OVER_TIME: [Rule; 3] = [
    Rule::ResistanceUp,
    Rule::ResistanceHigh,
    Rule::ResistanceOverSisters,
];

pub(super) fn weighed(history: &History<'_>) -> (Weighed, Part) {
    let gathered = Gathered::of(history);
    let Some((newest, newest_read)) = gathered.newest(history) else {
        return <_>::default();
    };
    let said = gathered.said(history);
    let at_25 = newest.milliohm_at_25();
    let mut part = Part::default();
    if history.is_newest(newest_read) {
        part.answers.push(Rule::ResistanceApart);
        if at_25.is_ok() {
            part.answers.extend(OVER_TIME);
        }
    }
    let [up, high, sisters] = OVER_TIME;
    for rule in [up, Rule::ResistanceApart, high, sisters] {
        part.reasons.extend(reason(history, &said, rule, &newest));
    }
    let by_it = said
        .iter()
        .filter(|each| each.meter.is_none_or(|meter| meter == newest.meter));
    let own: Vec<Held> = by_it.flat_map(|each| each.held.iter().copied()).collect();
    let worst = at_25.as_ref().ok().and_then(|cells| {
        let worst = cells.iter().copied().max_by(f64::total_cmp)?;
        Some((load_milliohm_ah(worst, newest.meter.kind, 1_000) * 1_000.0).round() as i64)
    });
    let weighed = Weighed {
        told: Some(told(history, &newest, newest_read, &own)),
        worst_uohm: worst,
        course: gathered.course(newest.meter, &own),
    };
    (weighed, part)
}

/// Ohm of each cell at 25 °C, as a load shows it, by one reading alone: the average cell's is what a charge is reckoned with,
/// whose volts are the average cell's too. None where it says nothing or can't be compared.
pub fn measured_ohms(pack: &HealthPack, reading: &HealthReading) -> Option<Vec<f64>> {
    let asked = Asked {
        pack,
        readings: std::slice::from_ref(reading),
        sisters: &[],
        now: reading.at,
        club: &ClubLimits::default(),
        limits: &HealthLimits::default(),
        zone: None,
    };
    let read = resistance_of(&History::of(&asked), reading, &mut Meters::default())?;
    let cells = read.milliohm_at_25().ok()?;
    let as_load = |milliohm: &f64| load_milliohm_ah(*milliohm, read.meter.kind, 1_000) / 1_000.0;
    Some(cells.iter().map(as_load).collect())
}

fn told(
    history: &History<'_>,
    newest: &ResistanceReading,
    read: &HealthReading,
    held: &[Held],
) -> ResistanceTold {
    let at_25 = newest.milliohm_at_25();
    let of = |cell: usize, rule: Rule| {
        let mut of_cell = held.iter().filter(|each| each.cell == cell);
        of_cell
            .find(|each| rule_of(each.against) == rule)
            .map(|each| each.figure)
    };
    let cell = |(index, uohm): (usize, &i64)| {
        let cell = index + 1;
        let milliohm_at_25 = at_25
            .as_ref()
            .ok()
            .and_then(|cells| cells.get(index).copied());
        let capacity_mah = history.build().capacity_mah;
        CellResistance {
            cell,
            milliohm: *uohm as f64 / 1_000.0,
            milliohm_at_25,
            milliohm_ah: milliohm_at_25
                .map(|milliohm| load_milliohm_ah(milliohm, newest.meter.kind, capacity_mah)),
            times_mates: of(cell, Rule::ResistanceApart),
            // Of a reading that can't be compared these would be what the ones before it say.
            times_first: of(cell, Rule::ResistanceUp).filter(|_| at_25.is_ok()),
            times_sisters: of(cell, Rule::ResistanceOverSisters).filter(|_| at_25.is_ok()),
        }
    };
    ResistanceTold {
        at: read.at,
        meter: read.resistance.as_ref().and_then(|each| each.meter.clone()),
        cells: newest.cells_uohm.iter().enumerate().map(cell).collect(),
        incomparable: at_25.err(),
    }
}

//! How long it takes to bring a pack to a voltage and how much that moves, as ranges: between a cell of little resistance from the
//! end of what its volts leave open that is nearer, and a worn one from the farther; charged, the one holds less than its label
//! says and the other more. Knows no charger: current and watts are given.
//! Units: mV of one cell, mA and mW of the whole pack, mAh, minutes, degrees Celsius, ohm of one cell.

use super::charge_time::{
    Cell, Charged, ENDS_AT_C, HOLDS, MAY_TAKE_LESS, MAY_TAKE_LONGER, Setting, charged,
};
use super::chemistry::Chemistry;
use super::curve::{Curve, StateOfCharge};
use super::discharge_time::{Drain, discharged};
use super::pack::Build;
use super::resistance::{Typical, times_at};
use super::settling::NEARLY_MINUTES;
use super::volts::Volts;

/// Whole minutes and mAh, the least rounded down and the most up.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Course {
    pub least_minutes: i64,
    pub most_minutes: i64,
    pub least_mah: i64,
    pub most_mah: i64,
}

/// A pack as it was read. `rested_minutes`: by then; 0: it was just used, or nobody knows. `resistance_ohm`: of one cell in ten
/// seconds, at 25 degrees; None: not measured.
#[derive(Clone, Copy, Debug)]
pub struct Rested<'p> {
    pub build: &'p Build,
    pub volts: &'p Volts,
    pub rested_minutes: i64,
    pub resistance_ohm: Option<f64>,
    pub celsius: i64,
}

/// What a small charger bleeds off a cell that is ahead, and the least time balancing is reckoned with: common practice,
/// no source.
const BALANCES_WITH_MA: f64 = 200.0;
const BALANCES_MINUTES: i64 = 10;
/// A resistance measured once may have grown since: common practice, no source.
const MEASURED_MAY_GROW: f64 = 1.25;
/// Nickel takes up to a quarter more than it gives before its end is detected (timers are set to 110 to 125 %: nickel cell
/// handbooks, from memory).
const NICKEL_TAKES: f64 = 1.25;
/// Lead takes in some more than it gives, and holds its end volts for up to four hours: from memory.
const LEAD_TAKES: f64 = 1.2;
pub const LEAD_HOLDS_MINUTES: f64 = 240.0;

/// Charged up to so many volts a cell. None: it would not end.
pub fn up(pack: &Rested, current_ma: i64, target_mv: i64) -> Option<Course> {
    let (current_a, capacity_ah) = (amps(current_ma)?, pack.capacity_ah());
    match pack.build.chemistry {
        Chemistry::NiMh => {
            let most_ah = capacity_ah * NICKEL_TAKES;
            Some(between(
                (0.0, 0.0),
                (most_ah / current_a * 60.0, most_ah * 1_000.0),
            ))
        }
        Chemistry::Pb => Some(lead(pack, current_a)),
        _ => {
            let curve = Curve::of(pack.build.chemistry)?;
            let start = pack.charge(pack.cell_v());
            let (fresh, _) = pack.cells(&curve);
            let fresh = holding(fresh, HOLDS.0);
            let set = pack.setting(&curve, current_a, target_mv);
            let least = charged(&fresh, start.high_percent, &set)?;
            let most = slowest(pack, &curve, start.low_percent, &set)?;
            Some(between(
                (least.minutes * MAY_TAKE_LESS, least.charge_ah * 1_000.0),
                (most.minutes * MAY_TAKE_LONGER, most.charge_ah * 1_000.0),
            ))
        }
    }
}

/// The same where it is waited for until its cells are alike: it is done once the lowest of them is full, and what is bled off the
/// others meanwhile is counted by the charger too. With the time for it. None: it would not end.
pub fn up_balanced(
    pack: &Rested,
    course: Course,
    current_ma: i64,
    target_mv: i64,
) -> Option<Course> {
    let waited = Course {
        most_minutes: course.most_minutes + balancing_minutes(pack),
        ..course
    };
    let cells = pack.build.cells_series;
    let lowest_mv = pack.volts.lowest_mv(cells);
    if lowest_mv.saturating_mul(cells) >= pack.volts.total_mv() {
        return Some(waited);
    }
    let curve = Curve::of(pack.build.chemistry)?;
    let set = pack.setting(&curve, amps(current_ma)?, target_mv);
    let start = pack.charge(lowest_mv as f64 / 1_000.0);
    let most = slowest(pack, &curve, start.low_percent, &set)?;
    let minutes = (most.minutes * MAY_TAKE_LONGER).ceil() as i64;
    Some(Course {
        most_minutes: waited.most_minutes.max(minutes),
        most_mah: course
            .most_mah
            .max((most.charge_ah * 1_000.0).ceil() as i64),
        ..course
    })
}

fn slowest(pack: &Rested, curve: &Curve, from_percent: f64, set: &Setting) -> Option<Charged> {
    let (_, worn) = pack.cells(curve);
    charged(&holding(worn, HOLDS.1), from_percent, set)
}

/// So many times what its label says.
fn holding(cell: Cell, times: f64) -> Cell {
    Cell {
        capacity_ah: cell.capacity_ah * times,
        ..cell
    }
}

/// Discharged until it would rest at so many volts a cell; `power_mw` is what the charger can get rid of. None: volts do
/// not tell its charge, it can't give so much, or it would not end.
pub fn down(pack: &Rested, current_ma: i64, power_mw: i64, target_mv: i64) -> Option<Course> {
    let curve = Curve::of(pack.build.chemistry)?;
    let target = curve.percent_at(target_mv as f64 / 1_000.0);
    let drain = Drain {
        current_a: amps(current_ma)?,
        power_w: Some(power_mw as f64 / 1_000.0 / pack.build.cells_series.max(1) as f64),
    };
    let start = pack.charge(pack.cell_v());
    let (fresh, worn) = pack.cells(&curve);
    // What a worn cell loses inside need not be got rid of: the least is its, the most a fresh one's.
    let least = discharged(&worn, start.low_percent, target, &drain)?;
    let most = discharged(&fresh, start.high_percent, target, &drain)?;
    Some(between(
        (least.minutes, least.charge_ah * 1_000.0),
        (most.minutes * MAY_TAKE_LONGER, most.charge_ah * 1_000.0),
    ))
}

/// The most that making its cells alike adds: the charge between the highest and the lowest, bled off the ones ahead.
pub fn balancing_minutes(pack: &Rested) -> i64 {
    let Volts::Cells(cells) = pack.volts else {
        return 0;
    };
    if cells.len() < 2 {
        return 0;
    }
    let percent = |mv: Option<&i64>| {
        let curve = Curve::of(pack.build.chemistry)?;
        Some(curve.percent_at(*mv? as f64 / 1_000.0))
    };
    let apart = percent(cells.iter().max())
        .zip(percent(cells.iter().min()))
        .map_or(0.0, |(high, low)| high - low);
    let ahead_mah = apart / 100.0 * pack.build.capacity_mah as f64;
    (bled_off_minutes(ahead_mah).ceil() as i64).max(BALANCES_MINUTES)
}

/// So long the charge that a cell is ahead takes to bleed off.
pub(super) fn bled_off_minutes(ahead_mah: f64) -> f64 {
    ahead_mah / BALANCES_WITH_MA * 60.0
}

fn lead(pack: &Rested, current_a: f64) -> Course {
    let (start, capacity_ah) = (pack.charge(pack.cell_v()), pack.capacity_ah());
    let missing = |percent: f64| (100.0 - percent) / 100.0 * capacity_ah;
    let least_ah = missing(start.high_percent);
    let most_ah = missing(start.low_percent) * LEAD_TAKES;
    between(
        (least_ah / current_a * 60.0, least_ah * 1_000.0),
        (
            most_ah / current_a * 60.0 + LEAD_HOLDS_MINUTES,
            most_ah * 1_000.0,
        ),
    )
}

fn between(least: (f64, f64), most: (f64, f64)) -> Course {
    Course {
        least_minutes: least.0.floor() as i64,
        most_minutes: (most.0.ceil() as i64).max(1),
        least_mah: least.1.floor() as i64,
        most_mah: most.1.ceil() as i64,
    }
}

fn amps(current_ma: i64) -> Option<f64> {
    (current_ma > 0).then_some(current_ma as f64 / 1_000.0)
}

impl Rested<'_> {
    fn capacity_ah(&self) -> f64 {
        self.build.capacity_mah.max(1) as f64 / 1_000.0
    }

    fn cell_v(&self) -> f64 {
        self.volts.total_mv() as f64 / 1_000.0 / self.build.cells_series.max(1) as f64
    }

    /// What the volts of a cell tell, as a band. Straight after use they rise yet, so that it holds rather more than they tell and
    /// never has more room: what may go in, and where that is cut off, is not reckoned higher by this doubt.
    fn charge(&self, cell_v: f64) -> StateOfCharge {
        let (cell, celsius) = ((self.build.chemistry, cell_v), Some(self.celsius as f64));
        let open = StateOfCharge::open_by(cell, celsius, self.rested_minutes);
        if self.rested_minutes >= NEARLY_MINUTES {
            return open;
        }
        StateOfCharge {
            low_percent: StateOfCharge::of(cell.0, cell.1, celsius).low_percent,
            ..open
        }
    }

    fn setting(&self, curve: &Curve, current_a: f64, target_mv: i64) -> Setting {
        Setting {
            current_a,
            stop_v: (target_mv as f64 / 1_000.0).min(curve.volts_at(100.0)),
            cutoff_a: (self.capacity_ah() * ENDS_AT_C).min(current_a),
            power_w: None,
        }
    }

    /// The quickest and the slowest cell it may be.
    fn cells(&self, curve: &Curve) -> (Cell, Cell) {
        let (typical, ah) = (Typical::of(self.build.chemistry), self.capacity_ah());
        let (fresh, worn) = match self.resistance_ohm {
            Some(ohm) => (ohm, ohm * MEASURED_MAY_GROW),
            None => (typical.fresh_ohm_ah / ah, typical.worn_ohm_ah / ah),
        };
        let cell = |ohm: f64| Cell {
            curve: curve.clone(),
            capacity_ah: ah,
            resistance_ohm: ohm * times_at(self.celsius as f64),
        };
        (cell(fresh), cell(worn))
    }
}

#[cfg(test)]
#[path = "course_tests.rs"]
mod tests;

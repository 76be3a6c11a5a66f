//! How long a charge takes: at a current, or at what the supply's watts allow, until the cell meets its full voltage, then
//! at that voltage until the current has fallen to the cut-off (constant current, constant voltage: Battery University
//! BU-409). The cell is a resting curve, an ohmic and one slow resistance; it is stepped through, not looked up.
//! Units: V, A, Ah, W and ohm of one cell (its whole parallel group), minutes.

use super::curve::Curve;
use super::resistance::with_slow_part;

/// Where a charge ends, in C: BU-409 gives 3 to 5 % of the rating.
pub const ENDS_AT_C: f64 = 0.05;
/// Two measured charges of an NMC pouch took 3 to 12 % longer than such a model says.
pub const MAY_TAKE_LONGER: f64 = 1.12;
pub const MAY_TAKE_LESS: f64 = 0.97;
/// What its label says is told of the cell that holds least and of the one that holds most: a fresh one holds up to a twelfth
/// more, a worn one less.
pub const HOLDS: (f64, f64) = (0.85, 1.08);
/// How long the slow part of the resistance takes to come, seconds: PyBaMM's LiCoO2 cell settles within some minutes of
/// rest to a third of what it was off.
const SLOW_S: f64 = 360.0;
/// Each step moves at most this much of the charge, in percent; where the current changes of itself it lasts at most a minute, and
/// less where it would fall by more than a tenth meanwhile, down to half a second.
const STEP_PERCENT: f64 = 0.25;
const STEP_S: f64 = 60.0;
const FALLS_TO: f64 = 0.9;
const HARDLY_FALLS_TO: f64 = 0.97;
const LEAST_STEP_S: f64 = 0.5;
/// Longer than any charge: what has not ended by then does not.
const NEVER_S: f64 = 40.0 * 24.0 * 3_600.0;

/// One cell, or its parallel group. `resistance_ohm`: in ten seconds, at the temperature it is charged at.
#[derive(Clone, Debug, PartialEq)]
pub struct Cell {
    pub curve: Curve,
    pub capacity_ah: f64,
    pub resistance_ohm: f64,
}

/// What the charger is set to, for one cell. `power_w`: what the supply leaves it; None: enough.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Setting {
    pub current_a: f64,
    pub stop_v: f64,
    pub cutoff_a: f64,
    pub power_w: Option<f64>,
}

#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Charged {
    pub minutes: f64,
    /// Until the full voltage was met.
    pub first_minutes: f64,
    pub charge_ah: f64,
    pub start_percent: f64,
    pub end_percent: f64,
}

/// A cell on its way: what it holds, how far the slow part of its resistance has come, and since when.
#[derive(Clone, Copy)]
pub(super) struct Stepped {
    pub(super) percent: f64,
    slow_v: f64,
    pub(super) seconds: f64,
    /// Where on its curve it is.
    after: usize,
    /// How long the last step took, and how much of the slow part came in it: steps are mostly alike.
    last_step: (f64, f64),
}

impl Stepped {
    pub(super) const fn at(percent: f64) -> Self {
        Self {
            percent,
            slow_v: 0.0,
            seconds: 0.0,
            after: 0,
            last_step: (0.0, 0.0),
        }
    }

    /// Resting volts and the slow part: what the ohmic resistance comes on top of.
    pub(super) fn behind_v(&mut self, cell: &Cell) -> f64 {
        cell.curve.volts_next_to(self.percent, &mut self.after) + self.slow_v
    }

    pub(super) fn is_endless(&self) -> bool {
        self.seconds >= NEVER_S
    }

    /// On by one step, of `most_ah` and `most_s` at most; `current_a` is positive into the cell. Gives back what went in or out, Ah.
    pub(super) fn step(
        &mut self,
        cell: &Cell,
        current_a: f64,
        (most_ah, most_s): (f64, f64),
    ) -> f64 {
        let step_ah = most_ah.min(STEP_PERCENT / 100.0 * cell.capacity_ah);
        let step_s = (step_ah * 3_600.0 / current_a.abs()).min(most_s);
        let moved_ah = current_a * step_s / 3_600.0;
        let ten_seconds = cell.resistance_ohm;
        let slow_ohm = ten_seconds * (with_slow_part(ten_seconds * cell.capacity_ah) - 1.0);
        self.percent += moved_ah / cell.capacity_ah * 100.0;
        if step_s != self.last_step.0 {
            self.last_step = (step_s, 1.0 - (-step_s / SLOW_S).exp());
        }
        self.slow_v += (current_a * slow_ohm - self.slow_v) * self.last_step.1;
        self.seconds += step_s;
        moved_ah.abs()
    }
}

/// From a state of charge on. None: it would not end. The moments at which its full voltage is met and at which it ends are found
/// between two steps: else they would hang on where a step happens to fall, and more current might seem to take longer.
pub fn charged(cell: &Cell, from_percent: f64, set: &Setting) -> Option<Charged> {
    let mut now = Stepped::at(from_percent);
    let (mut charge_ah, mut first_s, mut most_s) = (0.0, None, STEP_S);
    let mut flows = currents(cell, set, &mut now);
    while !now.is_endless() {
        let (pushed_a, held_a) = flows;
        let current_a = pushed_a.min(held_a);
        let is_held = pushed_a >= held_a;
        if is_held && first_s.is_none() {
            first_s = Some(now.seconds);
        }
        if let Some(first_s) = first_s.filter(|_| current_a <= set.cutoff_a) {
            return Some(Charged {
                minutes: now.seconds / 60.0,
                first_minutes: first_s / 60.0,
                charge_ah,
                start_percent: from_percent,
                end_percent: now.percent,
            });
        }
        if current_a <= 0.0 {
            return None;
        }
        let at_most_s = if is_held { most_s } else { f64::INFINITY };
        let mut next = now;
        let moved_ah = next.step(cell, current_a, (f64::INFINITY, at_most_s));
        let step_s = next.seconds - now.seconds;
        let next_flows = currents(cell, set, &mut next);
        let (next_pushed_a, next_held_a) = next_flows;
        let next_a = next_pushed_a.min(next_held_a);
        if is_held && next_a < FALLS_TO * current_a && step_s > LEAST_STEP_S {
            most_s = step_s / 2.0;
            continue;
        }
        // Past what is looked for: only as far as there.
        let room_a = held_a - pushed_a;
        let part = if is_held && next_a < set.cutoff_a {
            (current_a - set.cutoff_a) / (current_a - next_a)
        } else if !is_held && next_held_a < next_pushed_a {
            room_a / (room_a + next_pushed_a - next_held_a)
        } else {
            1.0
        };
        if part < 1.0 {
            let part_s = (part * step_s).max(LEAST_STEP_S / 10.0);
            charge_ah += now.step(cell, current_a, (f64::INFINITY, part_s));
            flows = currents(cell, set, &mut now);
            continue;
        }
        if is_held && next_a > HARDLY_FALLS_TO * current_a {
            most_s = (2.0 * step_s).min(STEP_S);
        }
        charge_ah += moved_ah;
        (now, flows) = (next, next_flows);
    }
    None
}

/// What is pushed into it by current or watts, and what its full voltage lets in.
fn currents(cell: &Cell, set: &Setting, at: &mut Stepped) -> (f64, f64) {
    let behind_v = at.behind_v(cell);
    let ohm = cell.resistance_ohm;
    let pushed_a = set.power_w.map_or(set.current_a, |watts| {
        set.current_a.min(current_at(watts, behind_v, ohm))
    });
    (pushed_a, (set.stop_v - behind_v) / ohm)
}

/// What so many watts push into a cell: `(resting + I R) I = P`.
fn current_at(watts: f64, resting_v: f64, ohm: f64) -> f64 {
    if ohm <= 0.0 {
        return watts / resting_v;
    }
    ((resting_v * resting_v + 4.0 * ohm * watts).sqrt() - resting_v) / (2.0 * ohm)
}

#[cfg(test)]
#[path = "charge_time_tests.rs"]
mod tests;

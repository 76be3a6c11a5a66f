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
/// less where it would fall by more than a fifth meanwhile, down to half a second.
const STEP_PERCENT: f64 = 0.25;
const STEP_S: f64 = 60.0;
const FALLS_TO: f64 = 0.8;
const HARDLY_FALLS_TO: f64 = 0.93;
const LEAST_STEP_S: f64 = 0.5;
/// The moment its full voltage is met is found to this, and in many fewer guesses.
const GUESS_S: f64 = 1e-6;
const GUESSES_MAX: usize = 50;
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
    slow_ohm: f64,
    slow_v: f64,
    pub(super) seconds: f64,
    /// Where on its curve it is.
    after: usize,
    /// How long the last step took, and how much of the slow part came in it: steps are mostly alike.
    last_step: (f64, f64),
}

impl Stepped {
    pub(super) fn at(cell: &Cell, percent: f64) -> Self {
        let ten_seconds = cell.resistance_ohm;
        Self {
            percent,
            slow_ohm: ten_seconds * (with_slow_part(ten_seconds * cell.capacity_ah) - 1.0),
            slow_v: 0.0,
            seconds: 0.0,
            after: 0,
            last_step: (0.0, 0.0),
        }
    }

    fn resting_v(&mut self, cell: &Cell) -> f64 {
        cell.curve.volts_next_to(self.percent, &mut self.after)
    }

    /// Resting volts and the slow part: what the ohmic resistance comes on top of.
    pub(super) fn behind_v(&mut self, cell: &Cell) -> f64 {
        self.resting_v(cell) + self.slow_v
    }

    /// What its full voltage lets in.
    fn held_a(&mut self, cell: &Cell, set: &Setting) -> f64 {
        (set.stop_v - self.behind_v(cell)) / cell.resistance_ohm
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
        self.run(cell, current_a, step_s)
    }

    /// On at one current: exact however long, since how the slow part comes is solved and not stepped.
    fn run(&mut self, cell: &Cell, current_a: f64, step_s: f64) -> f64 {
        let moved_ah = current_a * step_s / 3_600.0;
        self.percent += moved_ah / cell.capacity_ah * 100.0;
        if step_s != self.last_step.0 {
            self.last_step = (step_s, 1.0 - (-step_s / SLOW_S).exp());
        }
        self.slow_v += (current_a * self.slow_ohm - self.slow_v) * self.last_step.1;
        self.seconds += step_s;
        moved_ah.abs()
    }
}

/// From a state of charge on. None: it would not end. The moments at which its full voltage is met and at which it ends are found
/// between two steps: else they would hang on where a step happens to fall, and more current might seem to take longer.
pub fn charged(cell: &Cell, from_percent: f64, set: &Setting) -> Option<Charged> {
    let mut now = Stepped::at(cell, from_percent);
    let pushed_ah = match set.power_w {
        None => pushed(cell, set, &mut now),
        Some(watts) => pushed_by_watts(cell, set, watts, &mut now),
    }?;
    let first_s = now.seconds;
    let held_ah = held(cell, set, &mut now)?;
    Some(Charged {
        minutes: now.seconds / 60.0,
        first_minutes: first_s / 60.0,
        charge_ah: pushed_ah + held_ah,
        start_percent: from_percent,
        end_percent: now.percent,
    })
}

/// At its current until the full voltage is met, from one point of its curve to the next: between them the resting volts rise
/// evenly, so that nothing need be stepped through. Gives back what went in, Ah.
fn pushed(cell: &Cell, set: &Setting, now: &mut Stepped) -> Option<f64> {
    let mut charge_ah = 0.0;
    let loaded_v = set.stop_v - set.current_a * cell.resistance_ohm;
    let mut resting_v = now.resting_v(cell);
    loop {
        let short_v = loaded_v - resting_v - now.slow_v;
        if short_v <= 0.0 {
            return Some(charge_ah);
        }
        if set.current_a <= 0.0 || now.is_endless() {
            return None;
        }
        let to_percent = cell.curve.next_point(now.percent);
        let most_s = (to_percent - now.percent) * cell.capacity_ah * 36.0 / set.current_a;
        let mut next = *now;
        let moved_ah = next.run(cell, set.current_a, most_s);
        // Else rounding might leave it just before the point, again and again.
        next.percent = to_percent;
        let next_v = next.resting_v(cell);
        if next_v + next.slow_v < loaded_v {
            charge_ah += moved_ah;
            (*now, resting_v) = (next, next_v);
            continue;
        }
        let rise_v_s = (next_v - resting_v) / most_s;
        let slow_v = set.current_a * now.slow_ohm - now.slow_v;
        let step_s = met_after_s(short_v, rise_v_s, slow_v).min(most_s);
        return Some(charge_ah + now.run(cell, set.current_a, step_s));
    }
}

/// When volts that rise evenly and by a slow part that comes meanwhile have made up what they are short of. What is left falls ever
/// more slowly, so that each straight guess (Newton's) is early, and the next one nearer.
fn met_after_s(short_v: f64, rise_v_s: f64, slow_v: f64) -> f64 {
    let mut after_s = 0.0;
    for _ in 0..GUESSES_MAX {
        let coming = (-after_s / SLOW_S).exp();
        let left_v = short_v - rise_v_s * after_s - slow_v * (1.0 - coming);
        let guess_s = left_v / (rise_v_s + slow_v / SLOW_S * coming);
        after_s += guess_s;
        if guess_s < GUESS_S {
            break;
        }
    }
    after_s
}

/// The same where watts hold the current back, which falls as the cell's volts rise.
fn pushed_by_watts(cell: &Cell, set: &Setting, watts: f64, now: &mut Stepped) -> Option<f64> {
    let mut charge_ah = 0.0;
    let flows = |at: &mut Stepped| {
        let behind_v = at.behind_v(cell);
        let pushed_a = set
            .current_a
            .min(current_at(watts, behind_v, cell.resistance_ohm));
        (pushed_a, at.held_a(cell, set))
    };
    let (mut pushed_a, mut held_a) = flows(now);
    while pushed_a < held_a {
        if pushed_a <= 0.0 || now.is_endless() {
            return None;
        }
        let mut next = *now;
        let moved_ah = next.step(cell, pushed_a, (f64::INFINITY, f64::INFINITY));
        let (next_pushed_a, next_held_a) = flows(&mut next);
        if next_held_a >= next_pushed_a {
            charge_ah += moved_ah;
            (*now, pushed_a, held_a) = (next, next_pushed_a, next_held_a);
            continue;
        }
        // Past the moment: only as far as there.
        let room_a = held_a - pushed_a;
        let part = room_a / (room_a + next_pushed_a - next_held_a);
        let part_s = (part * (next.seconds - now.seconds)).max(LEAST_STEP_S / 10.0);
        charge_ah += now.step(cell, pushed_a, (f64::INFINITY, part_s));
        (pushed_a, held_a) = flows(now);
    }
    Some(charge_ah)
}

/// At its full voltage until the current has fallen to the cut-off. Each step goes with the mean of the currents at its two ends (Heun's
/// method): with the one at its beginning, a charge would seem to take the longer the more current it began with. Gives back what went in, Ah.
fn held(cell: &Cell, set: &Setting, now: &mut Stepped) -> Option<f64> {
    let (mut charge_ah, mut most_s) = (0.0, STEP_S);
    let mut current_a = now.held_a(cell, set).min(set.current_a);
    while current_a > set.cutoff_a {
        if current_a <= 0.0 || now.is_endless() {
            return None;
        }
        let mut guess = *now;
        guess.step(cell, current_a, (f64::INFINITY, most_s));
        let (step_s, guess_a) = (guess.seconds - now.seconds, guess.held_a(cell, set));
        if guess_a < FALLS_TO * current_a && step_s > LEAST_STEP_S {
            most_s = step_s / 2.0;
            continue;
        }
        let mut next = *now;
        let moved_ah = next.run(cell, (current_a + guess_a.max(0.0)) / 2.0, step_s);
        let next_a = next.held_a(cell, set);
        // Past the end: only as far as there.
        if next_a < set.cutoff_a {
            let part = (current_a - set.cutoff_a) / (current_a - next_a);
            let part_s = (part * step_s).max(LEAST_STEP_S / 10.0);
            let mean_a = (current_a + set.cutoff_a) / 2.0;
            charge_ah += now.run(cell, mean_a, part_s);
            current_a = now.held_a(cell, set);
            continue;
        }
        if next_a > HARDLY_FALLS_TO * current_a {
            most_s = (2.0 * step_s).min(STEP_S);
        }
        charge_ah += moved_ah;
        (*now, current_a) = (next, next_a);
    }
    Some(charge_ah)
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

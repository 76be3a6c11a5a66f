//! How long it takes until a cell's resting volts have come down: at a current, or at what the charger can get rid of in
//! watts, which is what holds a storage discharge back. The cell is the one of `charge_time`.
//! Units: V, A, Ah, W and ohm of one cell (its whole parallel group), minutes.

use super::charge_time::{Cell, Stepped};

/// What draws on one cell: a current, or less where the charger's watts hold it back.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Drain {
    pub current_a: f64,
    pub power_w: Option<f64>,
}

#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Discharged {
    pub minutes: f64,
    pub charge_ah: f64,
    /// Between the cell's poles when it is reached, still under load.
    pub end_v: f64,
}

/// From one state of charge down to another. None: nothing draws, the cell can't give so many watts, or it would not end.
pub fn discharged(
    cell: &Cell,
    from_percent: f64,
    to_percent: f64,
    drain: &Drain,
) -> Option<Discharged> {
    let ohm = cell.resistance_ohm;
    let mut state = Stepped::at(cell, from_percent);
    let mut charge_ah = 0.0;
    loop {
        let behind_v = state.behind_v(cell);
        let current_a = match drain.power_w {
            Some(watts) => drain.current_a.min(drawn_at(watts, behind_v, ohm)?),
            None => drain.current_a,
        };
        // A rest too small to count would never be moved.
        if state.percent - to_percent < 1e-6 {
            return Some(Discharged {
                minutes: state.seconds / 60.0,
                charge_ah,
                end_v: behind_v - current_a * ohm,
            });
        }
        if current_a <= 0.0 || state.is_endless() {
            return None;
        }
        let left_ah = (state.percent - to_percent) / 100.0 * cell.capacity_ah;
        charge_ah += state.step(cell, -current_a, (left_ah, f64::INFINITY));
    }
}

/// What so many watts draw from a cell: `(resting - I R) I = P`. None: more than it can give.
fn drawn_at(watts: f64, resting_v: f64, ohm: f64) -> Option<f64> {
    if ohm <= 0.0 {
        return Some(watts / resting_v);
    }
    let root = resting_v * resting_v - 4.0 * ohm * watts;
    (root >= 0.0).then(|| (resting_v - root.sqrt()) / (2.0 * ohm))
}

#[cfg(test)]
#[path = "discharge_time_tests.rs"]
mod tests;

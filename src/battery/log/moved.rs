//! The charge that went in and out, by the current over time, straight on from reading to reading. Units: A, s, Ah.

use super::parts::{Part, Scale};
use super::{Log, Sample};
use std::ops::Range;

#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Moved {
    pub charged_ah: f64,
    pub discharged_ah: f64,
    /// How far off it may be, since nobody saw when the current stepped between two readings.
    pub doubt_ah: f64,
}

pub(super) fn moved(samples: &[Sample], scale: Scale) -> Moved {
    let mut all = Moved::default();
    for two in samples.windows(2) {
        let hours = (two[1].seconds - two[0].seconds) / 3_600.0;
        let (from_a, to_a) = (two[0].amps, two[1].amps);
        for ah in triangles(from_a, to_a, hours) {
            all.charged_ah += ah.max(0.0);
            all.discharged_ah += (-ah).max(0.0);
        }
        if scale.is_edge(from_a, to_a) {
            all.doubt_ah += (to_a - from_a).abs() * hours / 2.0;
        }
    }
    all
}

/// What lies on either side of the moment at which a current turns; all in the first where it does not.
fn triangles(from_a: f64, to_a: f64, hours: f64) -> [f64; 2] {
    if from_a * to_a >= 0.0 {
        return [(from_a + to_a) / 2.0 * hours, 0.0];
    }
    let turns_at = from_a.abs() / (from_a.abs() + to_a.abs());
    [
        from_a / 2.0 * hours * turns_at,
        to_a / 2.0 * hours * (1.0 - turns_at),
    ]
}

impl Log {
    pub fn moved(&self) -> Moved {
        moved(self.samples(), self.scale())
    }

    pub fn moved_in(&self, part: &Part) -> Moved {
        self.moved_between(part.readings())
    }

    pub(super) fn moved_between(&self, readings: Range<usize>) -> Moved {
        let inside = self.samples().get(readings).unwrap_or_default();
        moved(inside, self.scale())
    }
}

#[cfg(test)]
#[path = "moved_tests.rs"]
mod tests;

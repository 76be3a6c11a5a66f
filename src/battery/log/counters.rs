//! The charge that a file's own counters say. Chargers and testers set them to nothing anew at a step, at a cycle or never,
//! some take one up where another stood, so only a rise that the current can have brought is counted. Units: Ah, s.

use super::{Log, Sample};
use std::fmt;

/// A column that rises while current flows in one direction.
#[derive(Clone, Copy)]
pub(super) struct Counter {
    pub at: fn(&Sample) -> Option<f64>,
    /// 1 where charging, -1 where discharging.
    pub towards: f64,
}

pub(super) const CHARGING: Counter = Counter {
    at: |sample| sample.charging_ah,
    towards: 1.0,
};
pub(super) const DISCHARGING: Counter = Counter {
    at: |sample| sample.discharging_ah,
    towards: -1.0,
};
/// One that rises and falls; its falls are those of its other sign.
const NET: Counter = Counter {
    at: |sample| sample.net_ah,
    towards: 1.0,
};
const NET_BACK: Counter = Counter {
    at: |sample| sample.net_ah.map(|ah| -ah),
    towards: -1.0,
};

/// What was counted, and at most how much it may have missed.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Count {
    pub ah: f64,
    pub missed_ah: f64,
}

/// By the file's own counters; None where it has none, or none that can be followed.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Counted {
    pub charged: Option<Count>,
    pub discharged: Option<Count>,
}

pub(super) fn counted(samples: &[Sample]) -> Counted {
    let by = |counter: Counter| count(samples, counter, counter.towards);
    Counted {
        charged: by(CHARGING).or_else(|| by(NET)),
        discharged: by(DISCHARGING).or_else(|| by(NET_BACK)),
    }
}

/// A counter rounds, and takes its current more often than it is written down.
const MORE: f64 = 1.1;

pub(super) fn count(samples: &[Sample], counter: Counter, towards: f64) -> Option<Count> {
    let digit_ah = smallest_rise(samples, counter);
    let mut all = Count::default();
    let mut is_there = false;
    for two in samples.windows(2) {
        let [from, to] = [two[0], two[1]];
        let flows = (from.amps * towards).max(to.amps * towards).max(0.0);
        let most_ah = flows * (to.seconds - from.seconds) / 3_600.0;
        is_there |= (counter.at)(&from).is_some();
        match rise(&from, &to, counter) {
            Some(ah) if ah <= 0.0 => {}
            Some(ah) if most_ah > 0.0 && ah <= MORE * most_ah + digit_ah => all.ah += ah,
            _ => all.missed_ah += most_ah,
        }
    }
    (is_there && all.missed_ah <= all.ah).then_some(all)
}

/// None where one was not written down, or it fell in the middle of a step.
fn rise(from: &Sample, to: &Sample, counter: Counter) -> Option<f64> {
    let (before, after) = ((counter.at)(from)?, (counter.at)(to)?);
    let is_new_step = from.step.is_none() || from.step != to.step;
    match after - before {
        rise if rise >= 0.0 => Some(rise),
        // Set to nothing, and counting since.
        _ => is_new_step.then_some(after),
    }
}

/// Its last digit, as far as the log shows it.
fn smallest_rise(samples: &[Sample], counter: Counter) -> f64 {
    let rises = samples
        .windows(2)
        .filter_map(|two| rise(&two[0], &two[1], counter));
    let least = rises.filter(|ah| *ah > 0.0).fold(f64::INFINITY, f64::min);
    if least.is_finite() { least } else { 0.0 }
}

/// Where a file's counter and its own current over time come to different charge. The Display is the sentence for a person.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Differing {
    pub is_charge: bool,
    pub counted_ah: f64,
    pub by_current_ah: f64,
}

impl fmt::Display for Differing {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let way = if self.is_charge { "in" } else { "out" };
        let (counted, by_current) = (amount(self.counted_ah), amount(self.by_current_ah));
        write!(
            f,
            "The file's counter says that {counted} went {way}; its current over time comes to {by_current}."
        )
    }
}

/// `2245 mAh`, `21.7 mAh`
pub fn amount(ah: f64) -> String {
    let mah = ah * 1_000.0;
    if mah.abs() >= 100.0 {
        format!("{mah:.0} mAh")
    } else {
        format!("{mah:.1} mAh")
    }
}

/// Apart by more than this, beyond what either leaves open, the two are told to differ.
const APART: f64 = 0.02;

impl Log {
    pub fn counted(&self) -> Counted {
        counted(self.samples())
    }

    pub fn differing(&self) -> Vec<Differing> {
        let (moved, counted) = (self.moved(), self.counted());
        let differs = |is_charge: bool, count: Option<Count>, by_current_ah: f64| {
            let count = count?;
            let larger_ah = count.ah.max(by_current_ah);
            let open_ah = moved.doubt_ah + count.missed_ah + APART * larger_ah;
            let is_apart = (count.ah - by_current_ah).abs() > open_ah;
            is_apart.then_some(Differing {
                is_charge,
                counted_ah: count.ah,
                by_current_ah,
            })
        };
        let charged = differs(true, counted.charged, moved.charged_ah);
        let discharged = differs(false, counted.discharged, moved.discharged_ah);
        charged.into_iter().chain(discharged).collect()
    }
}

#[cfg(test)]
#[path = "counters_tests.rs"]
mod tests;

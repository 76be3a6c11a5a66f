//! A log of a charge or a discharge, of one cell or of a pack: what a charger or a tester wrote down, reading by reading, and
//! what it tells: its parts, the charge moved, the capacity, the resistance. Leaves files and their columns to the club.
//! Units: s, V, A, Ah, ohm; of the whole thing that was logged, where it does not say 'cell'.

pub mod cells;
pub mod counters;
pub mod current_sign;
pub mod edges;
pub mod moved;
pub mod parts;
pub mod sweeps;
#[cfg(test)]
mod synthetic_tests;
pub mod thinned;

use super::volts::CELLS_MAX;
use current_sign::{CurrentSign, SignUnclear};
use parts::{Kind, Part, Scale};

/// One reading. What the log does not have is None.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Sample {
    pub seconds: f64,
    pub volts: f64,
    pub amps: f64,
    pub celsius: Option<f64>,
    pub cycle: Option<i64>,
    pub step: Option<i64>,
    pub charging_ah: Option<f64>,
    pub discharging_ah: Option<f64>,
    pub net_ah: Option<f64>,
    /// The resistance that the charger or tester says.
    pub stated_ohm: Option<f64>,
    /// Of each cell, by the balance lead. 0: not told, which chargers write too for a cell that is not there.
    pub cells: [f32; CELLS_MAX],
}

/// More than any pack or charger of a club has; beyond it a number was mistaken or is in another unit.
pub const VOLTS_MAX: f64 = 1_000.0;
pub const AMPS_MAX: f64 = 10_000.0;
const CELL_VOLTS_MAX: f32 = 10.0;
/// A sensor that is open may read a little under nothing.
const VOLTS_MIN: f64 = -0.1;
/// Room for a clock that counts from 1970.
const SECONDS_MAX: f64 = 1e11;

/// The Display is the sentence for a person; `at` is the reading it is about.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub enum LogProblem {
    #[error("There is nothing in this log.")]
    Empty,
    #[error("This log has one reading. It takes two to tell anything.")]
    OneReading { at: usize },
    #[error("All readings of this log have the same time.")]
    NoTime { at: usize },
    #[error("The time goes back, from {before} s to {now} s.")]
    TimeGoesBack { at: usize, before: f64, now: f64 },
    #[error("{found} s is no time.")]
    NotSeconds { at: usize, found: f64 },
    #[error("{found} V is no voltage of a pack. Is it in millivolts?")]
    NotVolts { at: usize, found: f64 },
    #[error("{found} V is no voltage of a cell. Is it in millivolts?")]
    NotCellVolts { at: usize, found: f32 },
    #[error("{found} A is no current of a pack. Is it in milliamperes?")]
    NotAmps { at: usize, found: f64 },
}

impl LogProblem {
    /// Which reading, the first being 0.
    pub const fn at(&self) -> Option<usize> {
        match self {
            Self::Empty => None,
            Self::OneReading { at }
            | Self::NoTime { at }
            | Self::TimeGoesBack { at, .. }
            | Self::NotSeconds { at, .. }
            | Self::NotVolts { at, .. }
            | Self::NotCellVolts { at, .. }
            | Self::NotAmps { at, .. } => Some(*at),
        }
    }
}

/// Readings in the order of their time, as they were written: which sign of the current is charging is not said yet.
#[derive(Clone, Debug, PartialEq)]
pub struct Recorded {
    samples: Vec<Sample>,
    scale: Scale,
    parts: Vec<Part>,
}

impl Recorded {
    pub fn new(samples: Vec<Sample>) -> Result<Self, LogProblem> {
        for (at, sample) in samples.iter().enumerate() {
            is_possible(at, sample)?;
        }
        let goes_back = |two: &[Sample]| two[1].seconds < two[0].seconds;
        if let Some(before) = samples.windows(2).position(goes_back) {
            return Err(LogProblem::TimeGoesBack {
                at: before + 1,
                before: samples[before].seconds,
                now: samples[before + 1].seconds,
            });
        }
        match samples.as_slice() {
            [] => Err(LogProblem::Empty),
            [_] => Err(LogProblem::OneReading { at: 0 }),
            [first, .., last] if first.seconds >= last.seconds => Err(LogProblem::NoTime { at: 0 }),
            all => {
                let scale = Scale::of(all);
                let parts = parts::found(all, scale);
                Ok(Self {
                    samples,
                    scale,
                    parts,
                })
            }
        }
    }

    pub fn samples(&self) -> &[Sample] {
        &self.samples
    }

    /// What the volts and the counters say of the current's sign, or why somebody has to be asked.
    pub fn sign(&self) -> Result<CurrentSign, SignUnclear> {
        current_sign::told(&self.samples, &self.parts, self.scale)
    }

    pub fn with_sign(mut self, sign: CurrentSign) -> Log {
        if sign == CurrentSign::DischargingIsPositive {
            self.samples
                .iter_mut()
                .for_each(|each| each.amps = -each.amps);
            self.parts
                .iter_mut()
                .for_each(|each| each.amps = -each.amps);
        }
        Log(self)
    }
}

fn is_possible(at: usize, sample: &Sample) -> Result<(), LogProblem> {
    let (seconds, volts, amps) = (sample.seconds, sample.volts, sample.amps);
    if !(-SECONDS_MAX..=SECONDS_MAX).contains(&seconds) {
        let found = seconds;
        return Err(LogProblem::NotSeconds { at, found });
    }
    if !(VOLTS_MIN..=VOLTS_MAX).contains(&volts) {
        let found = volts;
        return Err(LogProblem::NotVolts { at, found });
    }
    let is_of_a_cell = |volts: &f32| (VOLTS_MIN as f32..=CELL_VOLTS_MAX).contains(volts);
    if let Some(found) = sample.cells.into_iter().find(|each| !is_of_a_cell(each)) {
        return Err(LogProblem::NotCellVolts { at, found });
    }
    if !(-AMPS_MAX..=AMPS_MAX).contains(&amps) {
        let found = amps;
        return Err(LogProblem::NotAmps { at, found });
    }
    Ok(())
}

/// A log whose current is positive where it charges.
#[derive(Clone, Debug, PartialEq)]
pub struct Log(Recorded);

impl Log {
    pub fn samples(&self) -> &[Sample] {
        &self.0.samples
    }

    /// One behind the other, from the first reading to the last.
    pub fn parts(&self) -> &[Part] {
        &self.0.parts
    }

    /// Where no current flowed: a rest's last volts are its resting volts, as far as it was long enough.
    pub fn rests(&self) -> impl Iterator<Item = &Part> {
        self.parts().iter().filter(|part| part.kind == Kind::Rest)
    }

    pub fn seconds(&self) -> f64 {
        match self.samples() {
            [first, .., last] => last.seconds - first.seconds,
            _ => 0.0,
        }
    }

    /// The least and the most that the charger or tester said of the resistance, in ohm.
    pub fn stated_ohm(&self) -> Option<(f64, f64)> {
        let all = self.samples().iter().filter_map(|each| each.stated_ohm);
        all.fold(None, |range, ohm| {
            let (least, most) = range.unwrap_or((ohm, ohm));
            Some((least.min(ohm), most.max(ohm)))
        })
    }

    const fn scale(&self) -> Scale {
        self.0.scale
    }
}

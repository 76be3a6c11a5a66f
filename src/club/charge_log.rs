//! What is kept of a charge log that was brought in: what it showed, in figures, and few enough of its readings to draw it.
//! Nothing of its file. What a log tells is told by `battery::log`; how a file is read, by `club::log_file`. Here are the
//! limits: what full and empty mean for this pack, and whether the log can be of it. Units: s, V, A, mAh, milliohm.

mod doubts;
mod kept;
pub mod points;
pub mod read_back;
#[cfg(test)]
mod tests;
pub mod which_charge;

use crate::battery::log::parts::Kind;
use crate::battery::log::sweeps::Window;
use crate::battery::pack::Build;
use crate::battery::range::median;
use serde::{Deserialize, Serialize};

/// Of one pack.
pub const MOST_LOGS: usize = 100;
/// So many readings draw it.
pub const MOST_POINTS: usize = 300;
const MOST_PARTS: usize = 100;
const MOST_SWEEPS: usize = 100;
const MOST_PULSES: usize = 60;
/// Seconds after a step of the current at which its resistance may be read.
pub const PULSE_SECONDS: [u8; 6] = [1, 2, 5, 10, 20, 30];
/// As a hobby meter reads it, and the laboratories' pulses.
pub const PULSE_SECOND: u8 = 10;

/// Of the whole pack; times from the log's first reading on.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
#[serde(default)]
pub struct ChargeLog {
    pub rows: usize,
    pub seconds: f64,
    pub cells: i64,
    pub charged_mah: f64,
    pub discharged_mah: f64,
    /// How far off both may be.
    pub moved_doubt_mah: f64,
    pub end_v: f64,
    pub end_a: f64,
    /// By the balance lead; empty where it was not in.
    pub end_cells_v: Vec<f64>,
    pub apart: Option<CellsApart>,
    /// Of the cells, else of the room.
    pub warmest_celsius: Option<f64>,
    pub parts: Vec<Part>,
    /// So many shorter ones are not kept.
    pub more_parts: usize,
    pub sweeps: Vec<Sweep>,
    pub pulse_second: u8,
    pub pulses: Vec<Pulse>,
    pub more_pulses: usize,
    /// The least and the most that the charger or tester said of the resistance.
    pub stated_milliohm: Option<(f64, f64)>,
    /// Sentences, with points in numbers.
    pub notes: Vec<String>,
}

/// Between the highest and the lowest cell.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct CellsApart {
    pub most_mv: f64,
    pub most_at_s: f64,
    pub end_mv: f64,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum PartKind {
    Rest,
    ConstantCurrent,
    ConstantVolts,
    Pulse,
    Changing,
}

#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Part {
    pub kind: PartKind,
    pub from_s: f64,
    pub seconds: f64,
    pub amps: f64,
    pub from_v: f64,
    pub to_v: f64,
    /// In above zero, out below.
    pub mah: f64,
}

/// A charge or a discharge from one end to the other.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Sweep {
    pub is_charge: bool,
    pub cycle: Option<i64>,
    pub seconds: f64,
    pub from_v: f64,
    pub to_v: f64,
    pub amps: f64,
    pub mah: f64,
    pub doubt_mah: f64,
    /// All the way, so that it tells the capacity.
    pub is_full: bool,
    /// Beside the first one of its kind that went all the way at about the same current: 1 is as much.
    pub of_first: Option<f64>,
}

/// A current that begins or grows, and the resistance so many seconds after it.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Pulse {
    pub at_s: f64,
    pub from_a: f64,
    pub to_a: f64,
    /// None: another current flowed before.
    pub rested_s: Option<f64>,
    pub milliohm: Option<f64>,
    /// How long after the step it was read, at the least and at the most.
    pub after_s: Option<(f64, f64)>,
    /// Why there is none.
    pub why_not: String,
}

impl PartKind {
    pub const fn label(self) -> &'static str {
        match self {
            Self::Rest => "Rest",
            Self::ConstantCurrent => "Constant current (CC)",
            Self::ConstantVolts => "Constant volts (CV)",
            Self::Pulse => "Pulse",
            Self::Changing => "Changing current",
        }
    }

    /// In a drawing.
    pub const fn short(self) -> &'static str {
        match self {
            Self::Rest => "rest",
            Self::ConstantCurrent => "CC",
            Self::ConstantVolts => "CV",
            Self::Pulse => "pulse",
            Self::Changing => "changing",
        }
    }
}

impl From<Kind> for PartKind {
    fn from(kind: Kind) -> Self {
        match kind {
            Kind::Rest => Self::Rest,
            Kind::ConstantCurrent => Self::ConstantCurrent,
            Kind::ConstantVoltage => Self::ConstantVolts,
            Kind::Pulse => Self::Pulse,
            Kind::Changing => Self::Changing,
        }
    }
}

impl ChargeLog {
    /// More went in than out.
    pub fn is_charge(&self) -> bool {
        self.charged_mah > self.discharged_mah
    }

    /// What the pack gives from full to empty, else what it takes: the last that went all the way. mAh, and how far off.
    pub fn capacity(&self) -> Option<(f64, f64)> {
        let full = || self.sweeps.iter().rev().filter(|sweep| sweep.is_full);
        let told = full().find(|sweep| !sweep.is_charge).or(full().next())?;
        Some((told.mah, told.doubt_mah))
    }

    /// Of the whole pack: the middle of its pulses, of those after a rest where there are any.
    pub fn milliohm(&self) -> Option<f64> {
        let told = |is_rested: bool| -> Vec<f64> {
            let pulses = self.pulses.iter();
            let pulses = pulses.filter(|pulse| pulse.rested_s.is_some() || !is_rested);
            pulses.filter_map(|pulse| pulse.milliohm).collect()
        };
        median(&told(true)).or_else(|| median(&told(false)))
    }

    /// Of a cell in the middle.
    pub fn cell_milliohm(&self) -> Option<f64> {
        Some(self.milliohm()? / self.cells.max(1) as f64)
    }
}

/// Full, and under current down to where a cell is never let: what a capacity is told between.
pub fn window(build: &Build) -> Window {
    let (limits, cells) = (build.limits(), build.cells_series as f64);
    Window {
        full_v: limits.full_mv as f64 / 1_000.0 * cells,
        empty_v: limits.minimum_mv as f64 / 1_000.0 * cells,
    }
}

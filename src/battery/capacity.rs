//! What a cell still holds, from the charge that went in or came out between two resting voltages: charge over the part of
//! the curve between them. Honest only over most of the curve and up to full: sources part by so much in its middle that a
//! charge from 3.8 V on may be judged 20 to 40 % wrong. What the sources and the meters leave open is stated.
//! Rested mV of one cell, mAh.

use super::chemistry::Chemistry;
use super::curve::Curve;
use super::curve_sources::{METER_V, sources};
use super::range::median;

/// A charger's or tester's count of the charge: common practice, no source.
const COUNTER: f64 = 0.03;
/// Full: all sources say at least so much.
const FULL_PERCENT: f64 = 95.0;
/// What leaves more open than this to either side, as a part of the capacity, is no answer. For a LiPo that comes to
/// about 3.7 V at the lower end.
const OPEN_MOST: f64 = 0.16;
/// Of fewer sources than this the next one may well lie outside, so they leave half as much again open.
const MANY_SOURCES: usize = 5;
const FEW_LEAVE_OPEN: f64 = 1.5;

/// A charge, or a discharge, between two rested readings of one cell. Which reading was first does not matter.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Swing {
    pub from_mv: i64,
    pub to_mv: i64,
    pub charge_mah: i64,
}

/// `low_mah` to `high_mah` holds the truth in nineteen cases of twenty.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Capacity {
    pub low_mah: i64,
    pub likely_mah: i64,
    pub high_mah: i64,
}

/// The cell of a pack that holds least.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Weakest {
    /// From 0.
    pub cell: usize,
    pub swing: Swing,
    pub told: Capacity,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq, thiserror::Error)]
pub enum NoCapacity {
    #[error("the resting volts of this chemistry do not tell its charge")]
    VoltsDoNotTell,
    #[error("no charge was counted")]
    NoCharge,
    #[error(
        "its volts went another way than the charge that was counted, so something between was not logged"
    )]
    OtherWay,
    #[error("more went in than a pack of its label takes, so the charge was mistyped or lost")]
    BeyondLabel,
    #[error("neither reading was of a full cell")]
    NotFull,
    #[error("not enough swing: the lower reading must be of a nearly empty cell")]
    TooLittleSwing,
}

/// What each source makes of a swing, mAh in the order of `sources`, and the part of it that its slope there and a
/// meter's errors leave open.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Believed {
    pub by_source: Vec<(f64, f64)>,
}

impl Capacity {
    pub fn of(chemistry: Chemistry, swing: &Swing) -> Result<Self, NoCapacity> {
        let told = Believed::of(chemistry, swing)?.told();
        told.ok_or(NoCapacity::VoltsDoNotTell)
    }

    /// Of a pack: of the cell that holds least, which is what the pack gives. Cell 1 first in both readings; the charge
    /// went through all of them. The volts of each cell must have been seen.
    pub fn weakest(
        chemistry: Chemistry,
        from_mv: &[i64],
        to_mv: &[i64],
        charge_mah: i64,
    ) -> Result<Weakest, NoCapacity> {
        if from_mv.len() != to_mv.len() {
            return Err(NoCapacity::VoltsDoNotTell);
        }
        let mut weakest: Option<Weakest> = None;
        for (cell, (from_mv, to_mv)) in from_mv.iter().zip(to_mv).enumerate() {
            let swing = Swing {
                from_mv: *from_mv,
                to_mv: *to_mv,
                charge_mah,
            };
            match Self::of(chemistry, &swing) {
                Ok(told) if weakest.is_none_or(|least| told.likely_mah < least.told.likely_mah) => {
                    weakest = Some(Weakest { cell, swing, told });
                }
                // A cell that swung less holds more.
                Ok(_) | Err(NoCapacity::TooLittleSwing) => {}
                Err(why) => return Err(why),
            }
        }
        weakest.ok_or(NoCapacity::TooLittleSwing)
    }

    /// The same without which cell it is.
    pub fn of_weakest(
        chemistry: Chemistry,
        from_mv: &[i64],
        to_mv: &[i64],
        charge_mah: i64,
    ) -> Result<Self, NoCapacity> {
        Self::weakest(chemistry, from_mv, to_mv, charge_mah).map(|weakest| weakest.told)
    }

    pub fn holds(&self, mah: f64) -> bool {
        self.low_mah as f64 <= mah && mah <= self.high_mah as f64
    }

    pub fn half_width_mah(&self) -> f64 {
        (self.high_mah - self.low_mah) as f64 / 2.0
    }
}

impl Believed {
    pub(super) fn of(chemistry: Chemistry, swing: &Swing) -> Result<Self, NoCapacity> {
        let curves = sources(chemistry);
        if !chemistry.is_lithium() || curves.is_empty() {
            return Err(NoCapacity::VoltsDoNotTell);
        }
        if swing.charge_mah <= 0 {
            return Err(NoCapacity::NoCharge);
        }
        let low_v = swing.from_mv.min(swing.to_mv) as f64 / 1_000.0;
        let full_v = swing.from_mv.max(swing.to_mv) as f64 / 1_000.0;
        if curves
            .iter()
            .any(|curve| curve.percent_at(full_v) < FULL_PERCENT)
        {
            return Err(NoCapacity::NotFull);
        }
        let part = |curve: &Curve| (curve.percent_at(full_v) - curve.percent_at(low_v)) / 100.0;
        let parts: Vec<f64> = curves.iter().map(part).collect();
        if parts.iter().any(|part| *part <= 0.0) {
            return Err(NoCapacity::TooLittleSwing);
        }
        let believed = |(curve, part): (&Curve, &f64)| {
            let meter = off_at(curve, low_v).hypot(off_at(curve, full_v)) / 100.0;
            (swing.charge_mah as f64 / part, meter / part)
        };
        let by_source = curves.iter().zip(&parts).map(believed).collect();
        let believed = Self { by_source };
        if believed.is_open() {
            return Err(NoCapacity::TooLittleSwing);
        }
        Ok(believed)
    }

    /// The middle of what the sources make of it; to either side the farthest source with its meter's errors, and the
    /// counter's, which has nothing to do with those.
    pub(super) fn told(&self) -> Option<Capacity> {
        let mah: Vec<f64> = self.by_source.iter().map(|(mah, _)| *mah).collect();
        let likely = median(&mah)?;
        let under = self
            .by_source
            .iter()
            .map(|(mah, meter)| likely - mah * (1.0 - meter));
        let over = self
            .by_source
            .iter()
            .map(|(mah, meter)| mah * (1.0 + meter) - likely);
        let more = if mah.len() < MANY_SOURCES {
            FEW_LEAVE_OPEN
        } else {
            1.0
        };
        let counter = likely * COUNTER;
        Some(Capacity {
            low_mah: (likely - (more * under.fold(0.0, f64::max)).hypot(counter)).floor() as i64,
            likely_mah: likely.round() as i64,
            high_mah: (likely + (more * over.fold(0.0, f64::max)).hypot(counter)).ceil() as i64,
        })
    }

    /// What one source makes of it, and its error from meter and counter, relative.
    pub(super) fn counted(&self, source: usize) -> Option<(f64, f64)> {
        let (mah, meter) = self.by_source.get(source)?;
        Some((*mah, meter.hypot(COUNTER)))
    }

    fn is_open(&self) -> bool {
        self.told()
            .is_none_or(|told| told.half_width_mah() > OPEN_MOST * told.likely_mah as f64)
    }
}

/// Points of charge that a meter's error is at these volts.
fn off_at(curve: &Curve, cell_v: f64) -> f64 {
    (curve.percent_at(cell_v + METER_V) - curve.percent_at(cell_v - METER_V)) / 2.0
}

#[cfg(test)]
#[path = "capacity_tests.rs"]
mod tests;

//! What may be expected of the pack as it lies: how much charge it holds, the most current it may give, and what a year of
//! lying so would cost it.

use super::history::{History, days_between};
use crate::battery::ageing::Ageing;
use crate::battery::curve::StateOfCharge;
use crate::battery::peak::{Known, Peak};
use crate::battery::range::Range;
use crate::club::calendar::Instant;

/// Of the cell that holds least, when it was last read rested.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct ChargeTold {
    pub at: Instant,
    pub days_ago: f64,
    pub charge: StateOfCharge,
    pub celsius: Option<f64>,
}

#[derive(Clone, Debug, PartialEq)]
pub struct PeakTold {
    /// Percent; half where nobody knows.
    pub at_charge_percent: f64,
    pub peak: Peak,
}

#[derive(Clone, Copy, Debug, PartialEq)]
pub struct AgeingTold {
    pub months: f64,
    pub celsius: f64,
    pub ageing: Ageing,
}

/// A room, where nobody said: common practice, no source.
const ROOM_CELSIUS: f64 = 20.0;
const MONTHS: f64 = 12.0;
const HALF: f64 = 50.0;

pub(super) fn charge(history: &History<'_>) -> Option<ChargeTold> {
    let (reading, cells) = history.latest_settled()?;
    let lowest_v = *cells.iter().min()? as f64 / 1_000.0;
    Some(ChargeTold {
        at: reading.at,
        days_ago: days_between(reading.at, history.asked.now),
        charge: StateOfCharge::of(history.build().chemistry, lowest_v, reading.celsius),
        celsius: reading.celsius,
    })
}

/// `worst_uohm`: of its worst cell at 25 °C, as a load shows it.
pub(super) fn peak(
    history: &History<'_>,
    charge: Option<&ChargeTold>,
    worst_uohm: Option<i64>,
) -> PeakTold {
    let known = Known {
        label_c_tenths: history.asked.pack.label_discharge_c_tenths,
        cell_uohm: worst_uohm,
        celsius: charge.and_then(|told| told.celsius),
    };
    let percent = charge.map_or(HALF, |told| {
        // Where the curve is flat the careful end counts.
        told.charge.percent.unwrap_or(told.charge.low_percent)
    });
    PeakTold {
        at_charge_percent: percent,
        peak: Peak::of(history.build(), percent, &known),
    }
}

/// Lying on as it was last read, from the least to the most charge that its volts leave open.
pub(super) fn ageing(history: &History<'_>, charge: Option<&ChargeTold>) -> Option<AgeingTold> {
    let told = charge?;
    let celsius = told.celsius.unwrap_or(ROOM_CELSIUS);
    let StateOfCharge {
        percent,
        low_percent,
        high_percent,
    } = told.charge;
    let at = |percent| Ageing::expected(history.build().chemistry, percent, celsius, MONTHS);
    let likely = at(percent.unwrap_or(f64::midpoint(low_percent, high_percent)))?;
    let (low, high) = (at(low_percent)?, at(high_percent)?);
    let spanned = |of: fn(&Ageing) -> Range| {
        let ends = [
            of(&low).least,
            of(&high).most,
            of(&likely).least,
            of(&likely).most,
        ];
        Range::around(of(&likely).likely, ends)
    };
    Some(AgeingTold {
        months: MONTHS,
        celsius,
        ageing: Ageing {
            handbook: spanned(|ageing| ageing.handbook),
            laboratory: spanned(|ageing| ageing.laboratory),
        },
    })
}

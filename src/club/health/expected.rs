//! What may be expected of the pack as it lies: how much charge it holds, the most current it may give, the energy that is in
//! it, and what a year of lying so would cost it.

use super::capacity::CapacityTold;
use super::history::{History, days_between};
use crate::battery::ageing::Ageing;
use crate::battery::curve::StateOfCharge;
use crate::battery::peak::{Holds, Known, Peak, Usable, usable};
use crate::battery::range::Range;
use crate::battery::settling::SETTLED_MINUTES;
use crate::club::calendar::Instant;

/// Of the cell that holds least, when it was last read rested.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct ChargeTold {
    pub at: Instant,
    pub days_ago: f64,
    pub charge: StateOfCharge,
    /// It had rested an hour; else its band is wider.
    pub is_settled: bool,
    pub celsius: Option<f64>,
}

#[derive(Clone, Debug, PartialEq)]
pub struct PeakTold {
    /// Percent; half where nobody knows.
    pub at_charge_percent: f64,
    pub peak: Peak,
}

/// From the charge it was last read at, drawn at the current that would empty its label's capacity in an hour. The ranges
/// hold what volts leave open of its charge, and what the count leaves open of its capacity.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct EnergyTold {
    pub down_to_percent: f64,
    pub current_ma: i64,
    pub usable: Usable,
    /// Its capacity was never counted: it is taken to hold what its label says.
    pub is_by_label: bool,
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
/// What is left in a pack after use: common practice, no source.
const LEFT_PERCENT: f64 = 20.0;

pub(super) fn charge(history: &History<'_>) -> Option<ChargeTold> {
    let (reading, cells) = history.latest_rested()?;
    let lowest_v = *cells.iter().min()? as f64 / 1_000.0;
    let lowest = (history.build().chemistry, lowest_v);
    let rested_minutes = reading.rested.minutes();
    Some(ChargeTold {
        at: reading.at,
        days_ago: days_between(reading.at, history.asked.now),
        charge: StateOfCharge::after_rest(lowest, reading.celsius, rested_minutes)?,
        is_settled: rested_minutes >= SETTLED_MINUTES,
        celsius: reading.celsius,
    })
}

/// `worst_uohm`: of its worst cell at 25 °C, as a load shows it.
pub(super) fn peak(
    history: &History<'_>,
    charge: Option<&ChargeTold>,
    worst_uohm: Option<i64>,
) -> PeakTold {
    let percent = charge.map_or(HALF, ChargeTold::careful_percent);
    PeakTold {
        at_charge_percent: percent,
        peak: Peak::of(
            history.build(),
            percent,
            &known(history, charge, worst_uohm),
        ),
    }
}

fn known(history: &History<'_>, charge: Option<&ChargeTold>, worst_uohm: Option<i64>) -> Known {
    Known {
        label_c_tenths: history.asked.pack.label_discharge_c_tenths,
        cell_uohm: worst_uohm,
        celsius: charge.and_then(|told| told.celsius),
    }
}

impl ChargeTold {
    /// Where the curve is flat, or it had not rested long enough, the careful end counts.
    fn careful_percent(&self) -> f64 {
        let likely = self.charge.percent.filter(|_| self.is_settled);
        likely.unwrap_or(self.charge.low_percent)
    }
}

/// `counted`: its capacity, where it was. None where its charge is not known or nearly used up.
pub(super) fn energy(
    history: &History<'_>,
    charge: Option<&ChargeTold>,
    worst_uohm: Option<i64>,
    counted: Option<&CapacityTold>,
) -> Option<EnergyTold> {
    let told = charge?;
    let label_mah = history.build().capacity_mah;
    let holds_mah = counted.map_or([label_mah; 3], |told| {
        let capacity = told.capacity;
        [capacity.low_mah, capacity.likely_mah, capacity.high_mah]
    });
    let from_percent = told.careful_percent();
    if from_percent <= LEFT_PERCENT {
        return None;
    }
    let (low, high) = (told.charge.low_percent, told.charge.high_percent);
    let holds = Holds {
        full_mah: holds_mah,
        percent: [low.min(from_percent), from_percent, high],
    };
    let known = known(history, charge, worst_uohm);
    Some(EnergyTold {
        down_to_percent: LEFT_PERCENT,
        current_ma: label_mah,
        usable: usable(history.build(), &holds, LEFT_PERCENT, label_mah, &known)?,
        is_by_label: counted.is_none(),
    })
}

/// Volts that were read since, however short their rest, tell how full it lies now.
fn lies_at(history: &History<'_>, told: &ChargeTold) -> StateOfCharge {
    let latest_first = history.readings.iter().rev();
    let mut believed = latest_first.filter_map(|reading| {
        let cells = history.cells_mv(reading)?;
        Some((*reading, *cells.iter().min()? as f64 / 1_000.0))
    });
    match believed.next() {
        Some((reading, lowest_v)) if reading.at > told.at => {
            let lowest = (history.build().chemistry, lowest_v);
            StateOfCharge::open_by(lowest, reading.celsius, reading.rested.minutes())
        }
        _ => told.charge,
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
    } = lies_at(history, told);
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

//! What the readings tell beside the verdict, as it is answered: charge, balance, resistance, capacity, loss by lying, what
//! is left of it, the most current, the energy in it and what lying costs. Units in the names; low and high are what is left open.

use super::super::given::rounded;
use super::codes::{RemainingKind, ToldLoss, ToldPeakLimit, ToldUnknown};
use crate::battery::range::Range;
use crate::battery::remaining::Remaining;
use crate::club::health::{
    AgeingTold, BalanceTold, CapacityTold, ChargeTold, EnergyTold, LyingTold, PeakTold,
    ResistanceTold,
};
use serde::Serialize;
use utoipa::ToSchema;

/// Of the cell that holds least, when it last had rested.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, ToSchema)]
pub struct ToldCharge {
    pub days_ago: f64,
    /// null where its curve is flat.
    pub soc_percent: Option<f64>,
    pub soc_low_percent: f64,
    pub soc_high_percent: f64,
}

#[derive(Clone, Copy, Debug, PartialEq, Serialize, ToSchema)]
pub struct ToldImbalance {
    pub days_ago: f64,
    pub spread_v: f64,
    pub spread_percent: Option<f64>,
    pub spread_low_percent: Option<f64>,
    pub spread_high_percent: Option<f64>,
    /// So much could lie between cells that read the same.
    pub unseen_percent: Option<f64>,
    /// The cell that stands out from the others, from 1.
    pub odd_cell: Option<usize>,
    /// Under zero when it is lower.
    pub odd_cell_from_others_v: Option<f64>,
}

#[derive(Clone, Debug, PartialEq, Serialize, ToSchema)]
pub struct ToldResistance {
    pub days_ago: f64,
    pub meter: Option<String>,
    #[schema(inline)]
    pub cells: Vec<ToldCell>,
    /// Why it is held against the cells of the same reading alone.
    pub incomparable: Option<String>,
}

#[derive(Clone, Copy, Debug, PartialEq, Serialize, ToSchema)]
pub struct ToldCell {
    /// From 1.
    pub cell: usize,
    pub resistance_mohm: f64,
    pub resistance_at_25_c_mohm: Option<f64>,
    /// At 25 °C, as a load would show it.
    pub resistance_mohm_ah: Option<f64>,
    pub times_first_readings: Option<f64>,
    pub times_other_cells: Option<f64>,
    pub times_sisters: Option<f64>,
}

/// Of the weakest cell. The truth lies between low and high nineteen times of twenty.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, ToSchema)]
pub struct ToldCapacity {
    pub days_ago: f64,
    pub capacity_mah: i64,
    pub capacity_low_mah: i64,
    pub capacity_high_mah: i64,
    pub percent_of_label: f64,
    pub charges_used: usize,
    /// Of the label's capacity; null before four charges could be used.
    pub lost_percent_a_year: Option<f64>,
    pub lost_low_percent_a_year: Option<f64>,
    pub lost_high_percent_a_year: Option<f64>,
}

#[derive(Clone, Debug, PartialEq, Serialize, ToSchema)]
pub struct ToldLying {
    pub days_ago: f64,
    /// It lay for so long.
    pub days: f64,
    #[schema(inline)]
    pub cells: Vec<ToldCellLoss>,
    /// What a good pack loses.
    pub expected_low_percent_a_month: f64,
    pub expected_high_percent_a_month: f64,
}

#[derive(Clone, Copy, Debug, PartialEq, Serialize, ToSchema)]
pub struct ToldCellLoss {
    /// From 1.
    pub cell: usize,
    pub fallen_v: f64,
    pub lost_percent_a_month: Option<f64>,
    pub lost_low_percent_a_month: Option<f64>,
    pub lost_high_percent_a_month: Option<f64>,
    /// Than its mates, where that is more than a meter's error.
    pub sags_more_v_a_month: Option<f64>,
    #[schema(inline)]
    pub loss: ToldLoss,
}

/// Until its capacity or its resistance makes it a pack for practice only.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, ToSchema)]
pub struct ToldRemaining {
    #[schema(inline)]
    pub answer: RemainingKind,
    pub months_low: Option<f64>,
    /// null with months_low given: it may be longer than can be told.
    pub months_high: Option<f64>,
    pub readings_used: Option<usize>,
    pub readings_needed: Option<usize>,
}

/// For some seconds.
#[derive(Clone, Debug, PartialEq, Serialize, ToSchema)]
pub struct ToldPeak {
    pub at_soc_percent: f64,
    /// By its label.
    pub label_ma: Option<i64>,
    /// Until its volts under load are at their least.
    pub sag_ma: Option<f64>,
    pub sag_low_ma: Option<f64>,
    pub sag_high_ma: Option<f64>,
    /// What a robot's need may be held against.
    pub careful_ma: Option<i64>,
    #[schema(inline)]
    pub limited_by: Option<ToldPeakLimit>,
    #[schema(inline)]
    pub unknown: Vec<ToldUnknown>,
}

/// Drawn from the charge it was last read at.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, ToSchema)]
pub struct ToldEnergy {
    pub down_to_soc_percent: f64,
    pub current_ma: i64,
    pub energy_wh: f64,
    pub energy_low_wh: f64,
    pub energy_high_wh: f64,
    pub minutes: f64,
    pub minutes_low: f64,
    pub minutes_high: f64,
    /// Its volts under load may be at their least before.
    pub may_be_cut_short: bool,
    /// Its capacity was never counted: it is taken to hold what its label says.
    pub is_by_label: bool,
}

/// Capacity lost for good by lying on as it was last read: as a handbook's table has it, and as laboratory cells do.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, ToSchema)]
pub struct ToldAgeing {
    pub months: f64,
    pub temperature_c: f64,
    pub handbook_percent: f64,
    pub handbook_low_percent: f64,
    pub handbook_high_percent: f64,
    pub laboratory_percent: f64,
    pub laboratory_low_percent: f64,
    pub laboratory_high_percent: f64,
}

impl ToldCharge {
    pub(super) fn of(told: &ChargeTold) -> Self {
        Self {
            days_ago: rounded(told.days_ago),
            soc_percent: told.charge.percent.map(rounded),
            soc_low_percent: rounded(told.charge.low_percent),
            soc_high_percent: rounded(told.charge.high_percent),
        }
    }
}

fn volts(mv: i64) -> f64 {
    mv as f64 / 1_000.0
}

fn likely(range: Range) -> f64 {
    rounded(range.likely)
}

fn least(range: Range) -> f64 {
    rounded(range.least)
}

fn most(range: Range) -> f64 {
    rounded(range.most)
}

impl ToldImbalance {
    pub(super) fn of(told: &BalanceTold, days_ago: f64) -> Self {
        let imbalance = told.imbalance;
        Self {
            days_ago,
            spread_v: volts(imbalance.spread_mv),
            spread_percent: imbalance.spread_percent.map(likely),
            spread_low_percent: imbalance.spread_percent.map(least),
            spread_high_percent: imbalance.spread_percent.map(most),
            unseen_percent: imbalance.unseen_percent.map(rounded),
            odd_cell: imbalance.odd.map(|odd| odd.cell),
            odd_cell_from_others_v: imbalance.odd.map(|odd| volts(odd.from_others_mv)),
        }
    }
}

impl ToldResistance {
    pub(super) fn of(told: &ResistanceTold, days_ago: f64) -> Self {
        let cells = told.cells.iter().map(|cell| ToldCell {
            cell: cell.cell,
            resistance_mohm: rounded(cell.milliohm),
            resistance_at_25_c_mohm: cell.milliohm_at_25.map(rounded),
            resistance_mohm_ah: cell.milliohm_ah.map(rounded),
            times_first_readings: cell.times_first.map(rounded),
            times_other_cells: cell.times_mates.map(rounded),
            times_sisters: cell.times_sisters.map(rounded),
        });
        Self {
            days_ago,
            meter: told.meter.clone(),
            cells: cells.collect(),
            incomparable: told.incomparable.map(|why| why.to_string()),
        }
    }
}

impl ToldCapacity {
    pub(super) fn of(told: &CapacityTold, days_ago: f64) -> Self {
        let lost = told.fade.and_then(|fade| fade.lost_percent_a_year);
        Self {
            days_ago,
            capacity_mah: told.capacity.likely_mah,
            capacity_low_mah: told.capacity.low_mah,
            capacity_high_mah: told.capacity.high_mah,
            percent_of_label: rounded(told.percent_of_label),
            charges_used: told.used,
            lost_percent_a_year: lost.map(likely),
            lost_low_percent_a_year: lost.map(least),
            lost_high_percent_a_year: lost.map(most),
        }
    }
}

impl ToldLying {
    pub(super) fn of(told: &LyingTold, days_ago: f64) -> Self {
        let cells = told.cells.iter().map(|cell| ToldCellLoss {
            cell: cell.cell,
            fallen_v: volts(cell.fallen_mv),
            lost_percent_a_month: cell.percent_a_month.map(likely),
            lost_low_percent_a_month: cell.percent_a_month.map(least),
            lost_high_percent_a_month: cell.percent_a_month.map(most),
            sags_more_v_a_month: cell.sags_more_mv_a_month.map(volts),
            loss: cell.loss.into(),
        });
        Self {
            days_ago,
            days: rounded(told.days),
            cells: cells.collect(),
            expected_low_percent_a_month: least(told.expected_percent_a_month),
            expected_high_percent_a_month: most(told.expected_percent_a_month),
        }
    }
}

impl ToldRemaining {
    pub(super) fn of(remaining: Remaining) -> Self {
        let nothing = Self {
            answer: RemainingKind::Reached,
            months_low: None,
            months_high: None,
            readings_used: None,
            readings_needed: None,
        };
        match remaining {
            Remaining::NotEnoughReadings { have, need } => Self {
                answer: RemainingKind::NotEnoughReadings,
                readings_used: Some(have),
                readings_needed: Some(need),
                ..nothing
            },
            Remaining::TooShortWatched => Self {
                answer: RemainingKind::TooShortWatched,
                ..nothing
            },
            Remaining::Reached => nothing,
            Remaining::Between { least, most } => Self {
                answer: RemainingKind::Between,
                months_low: Some(rounded(least)),
                months_high: most.map(rounded),
                ..nothing
            },
        }
    }
}

impl ToldPeak {
    pub(super) fn of(told: &PeakTold) -> Self {
        let peak = &told.peak;
        Self {
            at_soc_percent: rounded(told.at_charge_percent),
            label_ma: peak.label_ma,
            sag_ma: peak.sag_ma.map(likely),
            sag_low_ma: peak.sag_ma.map(least),
            sag_high_ma: peak.sag_ma.map(most),
            careful_ma: peak.careful_ma(),
            limited_by: peak.limited_by.map(Into::into),
            unknown: peak.unknown.iter().copied().map(Into::into).collect(),
        }
    }
}

impl ToldEnergy {
    pub(super) fn of(told: &EnergyTold) -> Self {
        let usable = &told.usable;
        let wh = |mwh: f64| rounded(mwh / 1_000.0);
        Self {
            down_to_soc_percent: rounded(told.down_to_percent),
            current_ma: told.current_ma,
            energy_wh: wh(usable.energy_mwh.likely),
            energy_low_wh: wh(usable.energy_mwh.least),
            energy_high_wh: wh(usable.energy_mwh.most),
            minutes: likely(usable.minutes),
            minutes_low: least(usable.minutes),
            minutes_high: most(usable.minutes),
            may_be_cut_short: usable.may_be_cut_short,
            is_by_label: told.is_by_label,
        }
    }
}

impl ToldAgeing {
    pub(super) fn of(told: &AgeingTold) -> Self {
        let (handbook, laboratory) = (told.ageing.handbook, told.ageing.laboratory);
        Self {
            months: told.months,
            temperature_c: rounded(told.celsius),
            handbook_percent: likely(handbook),
            handbook_low_percent: least(handbook),
            handbook_high_percent: most(handbook),
            laboratory_percent: likely(laboratory),
            laboratory_low_percent: least(laboratory),
            laboratory_high_percent: most(laboratory),
        }
    }
}

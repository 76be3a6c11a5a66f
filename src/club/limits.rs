//! What a club may tighten. The start is also the loosest: it holds the hard stops of `battery::limits` and common practice,
//! and nothing looser gets through. mV, minutes, days, degrees Celsius, tenths of C.

use crate::battery::chemistry::Chemistry;
use crate::battery::limits::{CHARGE_CELSIUS, CellLimits, OVER_FULL_BY_MV};
use crate::battery::pack::Build;
use serde::{Deserialize, Serialize};

mod table;
pub use table::{LIMITS, Limit};

#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(default)]
pub struct ClubLimits {
    /// A pack last read longer ago is not known.
    pub reading_days: i64,
    /// How long a pack lies before the spread between its cells is judged.
    pub rest_minutes: i64,
    /// A wider spread is a caution; wider than `spread_wide_mv`, it sets the pack aside.
    pub spread_watch_mv: i64,
    pub spread_wide_mv: i64,
    /// A pack set aside for nothing but a spread wider than this is lent to nobody, whatever the reason.
    pub spread_override_mv: i64,
    /// Quarantine this much above the minimum of the chemistry, or of the label, already.
    pub above_minimum_mv: i64,
    /// Quarantine when a cell stands more than this above full.
    pub over_full_by_mv: i64,
    pub charge_from_celsius: i64,
    pub charge_to_celsius: i64,
    /// What each chemistry is charged at, where its label doesn't say less. Lead is charged slower than a club could set.
    pub charge_lipo_c_tenths: i64,
    pub charge_lihv_c_tenths: i64,
    pub charge_liion_c_tenths: i64,
    pub charge_lifepo4_c_tenths: i64,
    pub charge_nimh_c_tenths: i64,
    /// The most when it must be quick and the label allows it; never under what it is usually charged at.
    pub charge_lipo_most_c_tenths: i64,
    pub charge_lihv_most_c_tenths: i64,
    pub charge_liion_most_c_tenths: i64,
    pub charge_lifepo4_most_c_tenths: i64,
    pub charge_nimh_most_c_tenths: i64,
    /// Of a cell's first resistance, in percent: as much, and the pack is for practice only; as much as the second, and it is
    /// set aside.
    pub resistance_practice_percent: i64,
    pub resistance_aside_percent: i64,
    /// Of the resistance of its mates: more, and it is set aside.
    pub resistance_apart_percent: i64,
    /// Of the label's capacity: as little, and it is for practice only; as little as the second, and it is set aside.
    pub capacity_practice_percent: i64,
    pub capacity_aside_percent: i64,
    /// A lithium cell that loses more of its charge a month is a caution.
    pub loss_percent_a_month: i64,
    /// Cells farther apart, in percent of charge, are a caution.
    pub imbalance_percent: i64,
}

/// 90 days: a battery maker's storage note (every 3 months). Rest 15 minutes: a model LCO cell (PyBaMM DFN, Ai2020) is then
/// within 7 mV of its settled voltage, enough to judge spread. Spreads: common practice, no source. Rates:
/// `Chemistry::default_charge_c_tenths` and `most_charge_c_tenths`. Resistance, capacity, loss: `health::HealthLimits`. The
/// rest: `battery::limits`.
impl Default for ClubLimits {
    fn default() -> Self {
        Self {
            reading_days: 90,
            rest_minutes: 15,
            spread_watch_mv: 30,
            spread_wide_mv: 100,
            spread_override_mv: 200,
            above_minimum_mv: 0,
            over_full_by_mv: OVER_FULL_BY_MV,
            charge_from_celsius: *CHARGE_CELSIUS.start(),
            charge_to_celsius: *CHARGE_CELSIUS.end(),
            charge_lipo_c_tenths: Chemistry::LiPo.default_charge_c_tenths(),
            charge_lihv_c_tenths: Chemistry::LiHv.default_charge_c_tenths(),
            charge_liion_c_tenths: Chemistry::LiIon.default_charge_c_tenths(),
            charge_lifepo4_c_tenths: Chemistry::LiFePo4.default_charge_c_tenths(),
            charge_nimh_c_tenths: Chemistry::NiMh.default_charge_c_tenths(),
            charge_lipo_most_c_tenths: Chemistry::LiPo.most_charge_c_tenths(),
            charge_lihv_most_c_tenths: Chemistry::LiHv.most_charge_c_tenths(),
            charge_liion_most_c_tenths: Chemistry::LiIon.most_charge_c_tenths(),
            charge_lifepo4_most_c_tenths: Chemistry::LiFePo4.most_charge_c_tenths(),
            charge_nimh_most_c_tenths: Chemistry::NiMh.most_charge_c_tenths(),
            resistance_practice_percent: 150,
            resistance_aside_percent: 200,
            resistance_apart_percent: 150,
            capacity_practice_percent: 80,
            capacity_aside_percent: 60,
            loss_percent_a_month: 5,
            imbalance_percent: 8,
        }
    }
}

/// Whole degrees Fahrenheit, never outside these degrees Celsius.
pub const fn fahrenheit_within(from_celsius: i64, to_celsius: i64) -> (i64, i64) {
    let up = (from_celsius * 9 + 4).div_euclid(5) + 32;
    (up, (to_celsius * 9).div_euclid(5) + 32)
}

impl ClubLimits {
    /// Nothing looser than the start gets through; nor anything so tight that no pack could meet it.
    pub fn tightened(mut self) -> Self {
        for limit in &LIMITS {
            let value = (limit.of)(&mut self);
            let above = (*value).clamp(limit.lowest, limit.highest) - limit.lowest;
            // Between two steps the further one holds.
            *value = limit.lowest + above.saturating_add(limit.step - 1) / limit.step * limit.step;
        }
        for limit in &LIMITS {
            let lowest = limit.lowest_in(&self);
            let value = (limit.of)(&mut self);
            *value = (*value).max(lowest);
        }
        self
    }

    /// What a cell of this pack may read in this club: by its chemistry or label, where the club is not stricter. The volts
    /// of NiMH and lead lie too close together to move their minimum.
    pub fn of_cell(&self, build: &Build) -> CellLimits {
        let table = build.limits();
        let above_mv = if build.chemistry.is_lithium() {
            self.above_minimum_mv
        } else {
            0
        };
        let minimum_mv = table.minimum_mv.saturating_add(above_mv);
        let over_full_mv = table.full_mv.saturating_add(self.over_full_by_mv);
        let over_full_mv = over_full_mv.min(table.over_full_mv);
        CellLimits {
            minimum_mv,
            over_full_mv,
            over_full_warn_mv: table.over_full_warn_mv.min(over_full_mv),
            empty_mv: table.empty_mv.max(minimum_mv),
            ..table
        }
    }

    /// What this club charges such a pack at, in tenths of C, where its label doesn't say less.
    pub fn charge_c_tenths(&self, chemistry: Chemistry) -> i64 {
        match chemistry {
            Chemistry::LiPo => self.charge_lipo_c_tenths,
            Chemistry::LiHv => self.charge_lihv_c_tenths,
            Chemistry::LiIon => self.charge_liion_c_tenths,
            Chemistry::LiFePo4 => self.charge_lifepo4_c_tenths,
            Chemistry::NiMh => self.charge_nimh_c_tenths,
            Chemistry::Pb => chemistry.default_charge_c_tenths(),
        }
    }

    /// The same when it must be quick.
    pub fn charge_most_c_tenths(&self, chemistry: Chemistry) -> i64 {
        match chemistry {
            Chemistry::LiPo => self.charge_lipo_most_c_tenths,
            Chemistry::LiHv => self.charge_lihv_most_c_tenths,
            Chemistry::LiIon => self.charge_liion_most_c_tenths,
            Chemistry::LiFePo4 => self.charge_lifepo4_most_c_tenths,
            Chemistry::NiMh => self.charge_nimh_most_c_tenths,
            Chemistry::Pb => chemistry.most_charge_c_tenths(),
        }
    }

    /// As they are stored.
    pub fn to_text(&self) -> String {
        serde_json::to_string(self).unwrap_or_else(|_| "{}".to_owned())
    }
}

impl TryFrom<String> for ClubLimits {
    type Error = serde_json::Error;

    /// What is missing is as loose as it may be; what can't be read is an error, never loose.
    fn try_from(text: String) -> Result<Self, Self::Error> {
        serde_json::from_str(&text)
    }
}

#[cfg(test)]
mod tests;

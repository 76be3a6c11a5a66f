//! What a club may tighten. The start is also the loosest: it holds the hard stops of `battery::limits` and common practice,
//! and nothing looser gets through. mV, minutes, days, degrees Celsius, tenths of C.

use crate::battery::chemistry::Chemistry;
use crate::battery::limits::{CHARGE_CELSIUS, CellLimits, OVER_FULL_BY_MV};
use crate::battery::pack::Build;
use crate::bench::typed::{AmountProblem, Words, tenths};
use serde::{Deserialize, Serialize};

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
}

/// 90 days: a battery maker's storage note (every 3 months). Rest 15 minutes: a model LCO cell (PyBaMM DFN, Ai2020) is then
/// within 7 mV of its settled voltage, enough to judge spread. Spreads: common practice, no source. Rates: `Chemistry::default_charge_c_tenths`. The rest:
/// `battery::limits`.
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
        }
    }
}

/// One of them: how a form names it, and how far it goes.
pub struct Limit {
    pub code: &'static str,
    pub label: &'static str,
    pub hint: &'static str,
    pub lowest: i64,
    pub highest: i64,
    /// From the lowest on only every so many counts.
    pub step: i64,
    /// Where it stands among the limits.
    pub of: fn(&mut ClubLimits) -> &mut i64,
}

/// The far end of each is as tight as a pack and a meter can still meet: common practice, no source.
pub const LIMITS: [Limit; 14] = [
    Limit {
        code: "reading_days",
        label: "A reading is good for (days)",
        hint: "Then the pack's state is not known. 1 to 90.",
        lowest: 1,
        highest: 90,
        step: 1,
        of: |limits| &mut limits.reading_days,
    },
    Limit {
        code: "rest_minutes",
        label: "Rest before the spread is judged (minutes)",
        hint: "15 or 60, which are what a reading can say.",
        lowest: 15,
        highest: 60,
        step: 45,
        of: |limits| &mut limits.rest_minutes,
    },
    Limit {
        code: "spread_watch_mv",
        label: "Caution at a spread above (mV)",
        hint: "5 to 30.",
        lowest: 5,
        highest: 30,
        step: 1,
        of: |limits| &mut limits.spread_watch_mv,
    },
    Limit {
        code: "spread_wide_mv",
        label: "Set aside at a spread above (mV)",
        hint: "Up to 100, and not under the one above.",
        lowest: 5,
        highest: 100,
        step: 1,
        of: |limits| &mut limits.spread_wide_mv,
    },
    Limit {
        code: "spread_override_mv",
        label: "Handed out with a reason up to a spread of (mV)",
        hint: "0 to 200. 0: a pack set aside for its spread goes to nobody.",
        lowest: 0,
        highest: 200,
        step: 1,
        of: |limits| &mut limits.spread_override_mv,
    },
    Limit {
        code: "above_minimum_mv",
        label: "Quarantine a lithium cell above its minimum by (mV)",
        hint: "0 to 300. 0: at the minimum of its chemistry, 3.0 V for LiPo, or of its label.",
        lowest: 0,
        highest: 300,
        step: 1,
        of: |limits| &mut limits.above_minimum_mv,
    },
    Limit {
        code: "over_full_by_mv",
        label: "Quarantine when a cell is over full by more than (mV)",
        hint: "10 to 50.",
        lowest: 10,
        highest: 50,
        step: 1,
        of: |limits| &mut limits.over_full_by_mv,
    },
    Limit {
        code: "charge_from_celsius",
        label: "Charge from (°C)",
        hint: "0 to 15.",
        lowest: 0,
        highest: 15,
        step: 1,
        of: |limits| &mut limits.charge_from_celsius,
    },
    Limit {
        code: "charge_to_celsius",
        label: "Charge up to (°C)",
        hint: "25 to 45.",
        lowest: 25,
        highest: 45,
        step: 1,
        of: |limits| &mut limits.charge_to_celsius,
    },
    Limit {
        code: "charge_lipo_c_tenths",
        label: "Charge LiPo at up to (C)",
        hint: "0.1 to 1; its own label comes first where it says less.",
        lowest: 1,
        highest: 10,
        step: 1,
        of: |limits| &mut limits.charge_lipo_c_tenths,
    },
    Limit {
        code: "charge_lihv_c_tenths",
        label: "Charge LiHV at up to (C)",
        hint: "0.1 to 1; its own label comes first where it says less.",
        lowest: 1,
        highest: 10,
        step: 1,
        of: |limits| &mut limits.charge_lihv_c_tenths,
    },
    Limit {
        code: "charge_liion_c_tenths",
        label: "Charge Li-ion at up to (C)",
        hint: "0.1 to 0.5; its own label comes first where it says less.",
        lowest: 1,
        highest: 5,
        step: 1,
        of: |limits| &mut limits.charge_liion_c_tenths,
    },
    Limit {
        code: "charge_lifepo4_c_tenths",
        label: "Charge LiFePO4 at up to (C)",
        hint: "0.1 to 1; its own label comes first where it says less.",
        lowest: 1,
        highest: 10,
        step: 1,
        of: |limits| &mut limits.charge_lifepo4_c_tenths,
    },
    Limit {
        code: "charge_nimh_c_tenths",
        label: "Charge NiMH at up to (C)",
        hint: "0.1 to 0.5; its own label comes first where it says less.",
        lowest: 1,
        highest: 5,
        step: 1,
        of: |limits| &mut limits.charge_nimh_c_tenths,
    },
];

/// Whole degrees Fahrenheit, never outside these degrees Celsius.
pub const fn fahrenheit_within(from_celsius: i64, to_celsius: i64) -> (i64, i64) {
    let up = (from_celsius * 9 + 4).div_euclid(5) + 32;
    (up, (to_celsius * 9).div_euclid(5) + 32)
}

impl Limit {
    /// Its value is in degrees Celsius.
    pub fn is_temperature(&self) -> bool {
        self.code.ends_with("_celsius")
    }

    /// Its value is a charging rate in tenths of C.
    pub fn is_rate(&self) -> bool {
        self.code.ends_with("_c_tenths")
    }

    /// A value of it as a person writes it.
    pub fn words(&self, value: i64, numbers: Words) -> String {
        if self.is_rate() {
            numbers.c_rate(value).trim_end_matches('C').to_owned()
        } else {
            value.to_string()
        }
    }

    /// What a person wrote. Errors: no number, or finer than it goes.
    pub fn typed(&self, text: &str) -> Result<i64, AmountProblem> {
        if self.is_rate() {
            tenths(text)
        } else {
            text.parse().map_err(|_| AmountProblem::NotANumber)
        }
    }

    pub const fn allows(&self, value: i64) -> bool {
        let is_inside = value >= self.lowest && value <= self.highest;
        is_inside && (value - self.lowest) % self.step == 0
    }
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
        self.spread_wide_mv = self.spread_wide_mv.max(self.spread_watch_mv);
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

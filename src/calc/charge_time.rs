//! How long a charge takes, as a range: between what a fresh cell and what a worn one would take, from the fullest and the
//! emptiest that its volts leave open.

use super::given::{Kind, MOHM, maybe_within, rounded, within};
use super::{Compute, Wrong, shapes};
use crate::battery::charge_time::{
    Cell, Charged, ENDS_AT_C, HOLDS, MAY_TAKE_LESS, MAY_TAKE_LONGER, Setting, charged,
};
use crate::battery::chemistry::Chemistry;
use crate::battery::course::LEAD_HOLDS_MINUTES;
use crate::battery::curve::{Curve, StateOfCharge};
use crate::battery::limits::CHARGE_CELSIUS;
use crate::battery::resistance::{Typical, times_at};
use crate::battery::volts::CELLS_MAX;
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;

#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
#[schema(as = ChargeTimeAsked)]
pub struct ChargeTime {
    #[schema(inline)]
    pub chemistry: Kind,
    /// In series.
    #[schema(minimum = 1, maximum = 32)]
    pub cells: i64,
    /// As its label has it.
    #[schema(minimum = 1, maximum = 1000000)]
    pub capacity_mah: f64,
    #[schema(minimum = 1, maximum = 1000000)]
    pub current_ma: f64,
    /// Of one cell at rest, V: no less than its chemistry may be charged from, no more than it may stand above full (LiPo 3 to 4.25).
    #[schema(minimum = 0.9, maximum = 4.4)]
    pub start_cell_v: f64,
    /// Where the charger stops, V a cell; null: full. Not under where it starts, nor over full.
    #[schema(minimum = 0.9, maximum = 4.35)]
    #[serde(default)]
    pub stop_cell_v: Option<f64>,
    /// Where a charge ends at its voltage; null: 0.05C.
    #[schema(minimum = 0.1, maximum = 1000000)]
    #[serde(default)]
    pub cutoff_ma: Option<f64>,
    /// What the supply leaves the whole pack, W; null: enough.
    #[schema(minimum = 0.01, maximum = 100000)]
    #[serde(default)]
    pub power_limit_w: Option<f64>,
    /// Of one cell in ten seconds, at the temperature it is charged at; null: typical of its chemistry and capacity.
    #[schema(minimum = 0.01, maximum = 2000)]
    #[serde(default)]
    pub cell_resistance_mohm: Option<f64>,
    /// What it holds, where that was measured; null: what its label says.
    #[schema(minimum = 1, maximum = 1000000)]
    #[serde(default)]
    pub real_capacity_mah: Option<f64>,
    #[schema(schema_with = shapes::resting_curve)]
    #[serde(default)]
    pub resting_curve: Option<Vec<(f64, f64)>>,
    /// Of the cell, degrees Celsius; null: 25.
    #[schema(minimum = 0, maximum = 45)]
    #[serde(default)]
    pub temperature_c: Option<f64>,
}

/// Percent of what the cell can hold. Minutes are null where resting volts tell nothing of the charge.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, ToSchema)]
pub struct ChargeTimeTold {
    pub minutes: Option<f64>,
    pub minutes_low: f64,
    pub minutes_high: f64,
    /// Until full voltage was met, of `minutes`.
    pub minutes_first_phase: Option<f64>,
    /// At full voltage, of `minutes`.
    pub minutes_cv: Option<f64>,
    pub charge_mah: Option<f64>,
    pub soc_start_percent: Option<f64>,
    pub soc_end_percent: Option<f64>,
}

/// A meter's error on the cell's own curve, V.
const METER_V: f64 = 0.010;
/// Two meters, or one at another charge, differ by so much: common practice, no source.
const METERS_DIFFER: (f64, f64) = (0.85, 1.20);
/// What goes into nickel for what comes out: 110 to 125 %, NiMH cell handbooks, from memory.
const NICKEL: f64 = 1.25;

/// What was given, checked.
struct Checked {
    chemistry: Chemistry,
    curve: Option<(Curve, bool)>,
    capacity_ah: f64,
    holds: (f64, f64),
    set: Setting,
    start_v: f64,
    celsius: f64,
    /// Fresh, likely, worn.
    resistance_ohm: (f64, f64, f64),
}

impl Compute for ChargeTime {
    type Told = ChargeTimeTold;

    fn compute(&self) -> Result<ChargeTimeTold, Wrong> {
        let checked = self.checked()?;
        match &checked.curve {
            Some((curve, is_own)) => checked.by_volts(curve, *is_own),
            None => Ok(checked.of_nickel()),
        }
    }

    fn example() -> Self {
        Self {
            chemistry: Kind::Lipo,
            cells: 3,
            capacity_mah: 2_200.0,
            current_ma: 2_200.0,
            start_cell_v: 3.75,
            stop_cell_v: None,
            cutoff_ma: None,
            power_limit_w: None,
            cell_resistance_mohm: None,
            real_capacity_mah: None,
            resting_curve: None,
            temperature_c: None,
        }
    }
}

impl ChargeTime {
    fn checked(&self) -> Result<Checked, Wrong> {
        let chemistry = self.chemistry.chemistry();
        let most = (1.0, 1_000_000.0);
        let cells = within("cells", self.cells, (1, CELLS_MAX as i64))? as f64;
        let rated_ah = within("capacity_mah", self.capacity_mah, most)? / 1_000.0;
        let real_mah = maybe_within("real_capacity_mah", self.real_capacity_mah, most)?;
        let capacity_ah = real_mah.map_or(rated_ah, |mah| mah / 1_000.0);
        let cutoff = maybe_within("cutoff_ma", self.cutoff_ma, (0.1, most.1))?;
        let watts = maybe_within("power_limit_w", self.power_limit_w, (0.01, 100_000.0))?;
        let (least, warmest) = (*CHARGE_CELSIUS.start(), *CHARGE_CELSIUS.end());
        let celsius = maybe_within(
            "temperature_c",
            self.temperature_c,
            (least as f64, warmest as f64),
        )?
        .unwrap_or(25.0);
        let own = self.resting_curve.clone().map(Curve::new).transpose();
        let own = own.map_err(|problem| Wrong::with("resting_curve", problem.to_string()))?;
        let curve = own
            .map(|curve| (curve, true))
            .or_else(|| Curve::of(chemistry).map(|curve| (curve, false)));
        let (start_v, stop_v) = self.volts(chemistry)?;
        // Above its rested full a cell takes in no more: held there, its current falls as towards any other end.
        let rests_v = curve
            .as_ref()
            .map_or(stop_v, |(curve, _)| curve.volts_at(100.0));
        let stop_v = stop_v.min(rests_v);
        Ok(Checked {
            chemistry,
            curve,
            capacity_ah,
            holds: if real_mah.is_some() {
                (1.0, 1.0)
            } else {
                HOLDS
            },
            set: Setting {
                current_a: within("current_ma", self.current_ma, most)? / 1_000.0,
                stop_v,
                cutoff_a: cutoff.map_or(rated_ah * ENDS_AT_C, |ma| ma / 1_000.0),
                power_w: watts.map(|watts| watts / cells),
            },
            start_v,
            celsius,
            resistance_ohm: self.resistance_ohm(chemistry, capacity_ah, celsius)?,
        })
    }

    /// A cell under its minimum or over full is not charged; nothing is charged above full.
    fn volts(&self, chemistry: Chemistry) -> Result<(f64, f64), Wrong> {
        let limits = chemistry.limits();
        let v = |mv: i64| mv as f64 / 1_000.0;
        let chargeable = (v(limits.minimum_mv), v(limits.over_full_mv));
        let start_v = within("start_cell_v", self.start_cell_v, chargeable)?;
        let full = (v(limits.minimum_mv), v(limits.full_mv));
        let stop_v = maybe_within("stop_cell_v", self.stop_cell_v, full)?;
        if stop_v.is_some_and(|stop_v| stop_v < start_v) {
            let words = format!("give no less than start_cell_v, {start_v}: no charge ends lower");
            return Err(Wrong::with("stop_cell_v", words));
        }
        Ok((start_v, stop_v.unwrap_or(full.1)))
    }

    fn resistance_ohm(
        &self,
        chemistry: Chemistry,
        capacity_ah: f64,
        celsius: f64,
    ) -> Result<(f64, f64, f64), Wrong> {
        let given = maybe_within("cell_resistance_mohm", self.cell_resistance_mohm, MOHM)?;
        Ok(match given {
            Some(mohm) => {
                let ohm = mohm / 1_000.0;
                (ohm * METERS_DIFFER.0, ohm, ohm * METERS_DIFFER.1)
            }
            None => {
                let typical = Typical::of(chemistry);
                let ohm = |ohm_ah: f64| ohm_ah * times_at(celsius) / capacity_ah;
                (
                    ohm(typical.fresh_ohm_ah),
                    ohm(typical.likely_ohm_ah),
                    ohm(typical.worn_ohm_ah),
                )
            }
        })
    }
}

impl Checked {
    fn by_volts(&self, curve: &Curve, is_own: bool) -> Result<ChargeTimeTold, Wrong> {
        let start = if is_own {
            StateOfCharge {
                percent: Some(curve.percent_at(self.start_v)),
                low_percent: curve.percent_at(self.start_v - METER_V),
                high_percent: curve.percent_at(self.start_v + METER_V),
            }
        } else {
            StateOfCharge::of(self.chemistry, self.start_v, Some(self.celsius))
        };
        let middle = f64::midpoint(start.low_percent, start.high_percent);
        let run = |from: f64, ohm: f64, holds: f64| self.charged(curve, from, ohm, holds);
        let (fresh, likely, worn) = self.resistance_ohm;
        let told = run(start.percent.unwrap_or(middle), likely, 1.0)?;
        let least = run(start.high_percent, fresh, self.holds.0)?;
        let most = run(start.low_percent, worn, self.holds.1)?;
        let is_known = start.percent.is_some();
        let held = match self.chemistry {
            Chemistry::Pb => LEAD_HOLDS_MINUTES,
            _ => 0.0,
        };
        // The last step of such a reckoning may go a little past full.
        let beyond_percent = (told.end_percent - 100.0).max(0.0);
        let charge_ah = told.charge_ah - beyond_percent / 100.0 * self.capacity_ah;
        Ok(ChargeTimeTold {
            minutes: Some(rounded(told.minutes)),
            minutes_low: rounded((least.minutes * MAY_TAKE_LESS).min(told.minutes)),
            minutes_high: rounded((most.minutes * MAY_TAKE_LONGER).max(told.minutes) + held),
            minutes_first_phase: Some(rounded(told.first_minutes)),
            minutes_cv: Some(rounded(told.minutes - told.first_minutes)),
            charge_mah: Some(rounded(charge_ah.max(0.0) * 1_000.0)),
            soc_start_percent: is_known.then(|| rounded(told.start_percent)),
            soc_end_percent: Some(rounded(told.end_percent.min(100.0))),
        })
    }

    fn charged(&self, curve: &Curve, from: f64, ohm: f64, holds: f64) -> Result<Charged, Wrong> {
        let cell = Cell {
            curve: curve.clone(),
            capacity_ah: self.capacity_ah * holds,
            resistance_ohm: ohm,
        };
        charged(&cell, from, &self.set).ok_or_else(|| {
            let words = "such a charge would not end in forty days";
            Wrong::with(self.endless_by(&cell, from), words)
        })
    }

    /// The field that keeps it from ending.
    fn endless_by(&self, cell: &Cell, from: f64) -> &'static str {
        let ends = |set: Setting| charged(cell, from, &set).is_some();
        let set = self.set;
        if set.power_w.is_some()
            && ends(Setting {
                power_w: None,
                ..set
            })
        {
            return "power_limit_w";
        }
        let usual_a = self.capacity_ah * ENDS_AT_C;
        if set.cutoff_a < usual_a
            && ends(Setting {
                cutoff_a: usual_a,
                ..set
            })
        {
            return "cutoff_ma";
        }
        "current_ma"
    }

    /// Its resting volts tell nothing: from empty at the most.
    fn of_nickel(&self) -> ChargeTimeTold {
        let pushed_a = self.set.power_w.map_or(self.set.current_a, |watts| {
            self.set.current_a.min(watts / self.set.stop_v)
        });
        let most = self.capacity_ah * self.holds.1 * NICKEL / pushed_a * 60.0;
        ChargeTimeTold {
            minutes: None,
            minutes_low: 0.0,
            minutes_high: rounded(most),
            minutes_first_phase: None,
            minutes_cv: None,
            charge_mah: None,
            soc_start_percent: None,
            soc_end_percent: None,
        }
    }
}

#[cfg(test)]
#[path = "charge_time_reference_tests.rs"]
mod reference_tests;

//! The most current a pack may give for some seconds: by its label, and until the volts under load sag to their least; which
//! of the two limits, and what is not known. And the energy it gives between two states of charge at a current.
//! Leaves connectors and wires to the bench. mA, mAh, mWh and micro-ohm as i64; percent of charge; degrees Celsius.

use super::charge_time::{Cell, Stepped};
use super::chemistry::Chemistry;
use super::curve::Curve;
use super::curve_sources::sources;
use super::pack::Build;
use super::range::Range;
use super::resistance::{Typical, times_at, with_slow_part};

/// What is known of a pack beside its build; None where it is not.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Known {
    /// What the label allows it to give, in tenths of C.
    pub label_c_tenths: Option<i64>,
    /// Of its worst cell, at 25 °C, as a load shows it.
    pub cell_uohm: Option<i64>,
    pub celsius: Option<f64>,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Limit {
    Label,
    Sag,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Unknown {
    LabelRate,
    Resistance,
    Temperature,
    /// Resting volts of this chemistry do not tell its charge: no sag is computed.
    Sag,
}

#[derive(Clone, Debug, PartialEq)]
pub struct Peak {
    pub label_ma: Option<i64>,
    /// Until the volts under load are at their least, mA.
    pub sag_ma: Option<Range>,
    /// None where neither is known.
    pub limited_by: Option<Limit>,
    pub unknown: Vec<Unknown>,
}

/// The room a pack is used in, where nobody said: common practice, no source.
const ROOM_CELSIUS: (f64, f64, f64) = (10.0, 20.0, 30.0);

/// No cell is drawn below this, mV under load. LiPo, LiHV: a university combat-robot club stops at 3.2 V. Li-ion, LiFePO4,
/// NiMH: the upper end of what data sheets give, Pb: the usual end of discharge; from memory.
pub const fn least_under_load_mv(chemistry: Chemistry) -> i64 {
    match chemistry {
        Chemistry::LiPo | Chemistry::LiHv => 3_200,
        Chemistry::LiIon => 3_000,
        Chemistry::LiFePo4 => 2_800,
        Chemistry::NiMh => 1_000,
        Chemistry::Pb => 1_750,
    }
}

impl Peak {
    pub fn of(build: &Build, charge_percent: f64, known: &Known) -> Self {
        let label_ma = known
            .label_c_tenths
            .map(|tenths| build.capacity_mah.saturating_mul(tenths) / 10);
        let sag_ma = sag_ma(build, charge_percent, known);
        let limited_by = match (label_ma, sag_ma) {
            (Some(label), Some(sag)) if sag.likely < label as f64 => Some(Limit::Sag),
            (Some(_), _) => Some(Limit::Label),
            (None, Some(_)) => Some(Limit::Sag),
            (None, None) => None,
        };
        let gaps = [
            (known.label_c_tenths.is_none(), Unknown::LabelRate),
            (known.cell_uohm.is_none(), Unknown::Resistance),
            (known.celsius.is_none(), Unknown::Temperature),
            (sag_ma.is_none(), Unknown::Sag),
        ];
        let unknown = gaps.into_iter().filter(|(is_gap, _)| *is_gap);
        Self {
            label_ma,
            sag_ma,
            limited_by,
            unknown: unknown.map(|(_, gap)| gap).collect(),
        }
    }

    /// What a robot's need may be held against: the lesser of the two, on the careful side of what is not known.
    pub fn careful_ma(&self) -> Option<i64> {
        let sag = self.sag_ma.map(|sag| sag.least.floor() as i64);
        self.label_ma.into_iter().chain(sag).min()
    }
}

/// `(resting - least) / resistance`, over what sources' curves and the resistance leave open.
fn sag_ma(build: &Build, charge_percent: f64, known: &Known) -> Option<Range> {
    let ohm = resistance_ohm(build, known);
    let least_v = least_v(build);
    let resting = |curve: &Curve| curve.volts_at(charge_percent);
    let curves = sources(build.chemistry);
    let resting_v = Range::around(resting(curves.first()?), curves.iter().map(resting));
    let ma = |resting_v: f64, ohm: f64| (resting_v - least_v).max(0.0) / ohm * 1_000.0;
    let open = [ma(resting_v.least, ohm.most), ma(resting_v.most, ohm.least)];
    Some(Range::around(ma(resting_v.likely, ohm.likely), open))
}

/// The label's lowest volts where they are stricter.
fn least_v(build: &Build) -> f64 {
    let least_mv = least_under_load_mv(build.chemistry);
    build
        .label
        .lowest_mv
        .map_or(least_mv, |label_mv| label_mv.max(least_mv)) as f64
        / 1_000.0
}

/// Of one cell, warm or cold as it is. A meter's seconds leave out what comes in a longer peak.
fn resistance_ohm(build: &Build, known: &Known) -> Range {
    let capacity_ah = build.capacity_mah.max(1) as f64 / 1_000.0;
    let typical = Typical::of(build.chemistry);
    let ohm_ah = match known.cell_uohm {
        Some(uohm) => {
            let measured = uohm.max(1) as f64 / 1e6 * capacity_ah;
            Range::around(measured, [measured * with_slow_part(measured)])
        }
        None => Range::around(
            typical.likely_ohm_ah,
            [typical.fresh_ohm_ah, typical.worn_ohm_ah],
        ),
    };
    let (cold, usual, warm) = known
        .celsius
        .map_or(ROOM_CELSIUS, |celsius| (celsius, celsius, celsius));
    Range {
        least: ohm_ah.least * times_at(warm) / capacity_ah,
        likely: ohm_ah.likely * times_at(usual) / capacity_ah,
        most: ohm_ah.most * times_at(cold) / capacity_ah,
    }
}

/// What one cell gave.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Given {
    pub energy_wh: f64,
    pub charge_ah: f64,
    pub minutes: f64,
    /// The volts under load were at their least before the lower charge was reached.
    pub is_cut_short: bool,
}

/// From one state of charge down to another at a steady current, A of one cell; never under `least_v`. None where nothing
/// is drawn.
pub fn given(
    cell: &Cell,
    (from_percent, to_percent): (f64, f64),
    current_a: f64,
    least_v: f64,
) -> Option<Given> {
    let mut state = Stepped::at(cell, from_percent);
    let (mut charge_ah, mut energy_wh) = (0.0, 0.0);
    // A rest too small to count would never be moved.
    while state.percent - to_percent >= 1e-6 {
        let under_load_v =
            |state: &mut Stepped| state.behind_v(cell) - current_a * cell.resistance_ohm;
        let before_v = under_load_v(&mut state);
        if current_a <= 0.0 || state.is_endless() {
            return None;
        }
        if before_v < least_v {
            break;
        }
        let left_ah = (state.percent - to_percent) / 100.0 * cell.capacity_ah;
        let step_ah = state.step(cell, -current_a, (left_ah, f64::INFINITY));
        charge_ah += step_ah;
        energy_wh += step_ah * (before_v + under_load_v(&mut state)) / 2.0;
    }
    Some(Given {
        energy_wh,
        charge_ah,
        minutes: state.seconds / 60.0,
        is_cut_short: state.percent > to_percent + 1e-6,
    })
}

/// What a pack gives from one state of charge down to another.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Usable {
    pub energy_mwh: Range,
    pub minutes: Range,
    /// It may stop before the lower charge, since its volts under load are then at their least.
    pub may_be_cut_short: bool,
}

const LEAST: usize = 0;
const LIKELY: usize = 1;
const MOST: usize = 2;

/// At the least, likely and at the most: what it holds when full, and the charge it is at.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Holds {
    pub full_mah: [i64; 3],
    pub percent: [f64; 3],
}

impl Holds {
    pub const fn exactly(full_mah: i64, percent: f64) -> Self {
        Self {
            full_mah: [full_mah; 3],
            percent: [percent; 3],
        }
    }
}

/// `holds`: what it really holds; the label's where nobody measured. None where resting volts tell nothing, and where
/// nothing is drawn.
pub fn usable(
    build: &Build,
    holds: &Holds,
    to_percent: f64,
    current_ma: i64,
    known: &Known,
) -> Option<Usable> {
    let ohm = resistance_ohm(build, known);
    let curves = sources(build.chemistry);
    let tried = |curve: &Curve, at: usize, resistance_ohm: f64| {
        let cell = Cell {
            curve: curve.clone(),
            capacity_ah: holds.full_mah[at].max(1) as f64 / 1_000.0,
            resistance_ohm,
        };
        let percents = (holds.percent[at].max(to_percent), to_percent);
        given(&cell, percents, current_ma as f64 / 1_000.0, least_v(build))
    };
    let likely = tried(curves.first()?, LIKELY, ohm.likely)?;
    let open: Vec<Given> = curves
        .iter()
        .flat_map(|curve| [tried(curve, LEAST, ohm.most), tried(curve, MOST, ohm.least)])
        .flatten()
        .collect();
    let mwh = |given: &Given| given.energy_wh * 1_000.0 * build.cells_series as f64;
    Some(Usable {
        energy_mwh: Range::around(mwh(&likely), open.iter().map(mwh)),
        minutes: Range::around(likely.minutes, open.iter().map(|given| given.minutes)),
        may_be_cut_short: open.iter().any(|given| given.is_cut_short),
    })
}

#[cfg(test)]
#[path = "peak_tests.rs"]
mod tests;

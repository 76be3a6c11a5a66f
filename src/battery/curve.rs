//! Resting volts of one cell against its state of charge, 25 °C. Honest tables disagree, so what volts tell is a band:
//! twenty millivolts of a meter's error are five to ten points where a curve is flat.
//! Units: percent of what the cell holds, V.

use super::chemistry::Chemistry;
use super::limits::CHARGE_CELSIUS;
use super::settling::{NEARLY_MINUTES, SETTLED_MINUTES, unsettled_v};
use std::borrow::Cow;

/// Points of charge (percent) and resting volts of one cell, both rising.
#[derive(Clone, Debug, PartialEq)]
pub struct Curve(Cow<'static, [(f64, f64)]>);

/// The middle of three sources that differ by up to twelve points: two phone cells of the Linux kernel (drivers/power/
/// supply, 4.20 V class, 25 °C) and the LiCoO2 pouch cell of Ai et al. 2020 (J. Electrochem. Soc. 167, 013512) in PyBaMM.
const LIPO: &[(f64, f64)] = &[
    (0.0, 3.000),
    (2.0, 3.378),
    (5.0, 3.552),
    (10.0, 3.647),
    (15.0, 3.686),
    (20.0, 3.712),
    (25.0, 3.731),
    (30.0, 3.748),
    (40.0, 3.777),
    (45.0, 3.789),
    (50.0, 3.805),
    (55.0, 3.823),
    (60.0, 3.850),
    (70.0, 3.919),
    (80.0, 3.986),
    (90.0, 4.075),
    (95.0, 4.125),
    (100.0, 4.200),
];
/// A phone cell of the 4.35 V class, Linux kernel, drivers/power/supply; full at the 4.35 V it is charged to.
const LIHV: &[(f64, f64)] = &[
    (0.0, 3.300),
    (2.0, 3.551),
    (5.0, 3.656),
    (10.0, 3.690),
    (15.0, 3.715),
    (20.0, 3.746),
    (25.0, 3.762),
    (30.0, 3.776),
    (40.0, 3.793),
    (45.0, 3.810),
    (50.0, 3.829),
    (55.0, 3.873),
    (60.0, 3.911),
    (70.0, 3.978),
    (80.0, 4.077),
    (90.0, 4.183),
    (95.0, 4.241),
    (100.0, 4.350),
];
/// NMC811 cylindrical cell: Chen et al. 2020 (J. Electrochem. Soc. 167, 080534) in PyBaMM.
const LI_ION: &[(f64, f64)] = &[
    (0.0, 2.500),
    (2.0, 2.863),
    (6.0, 3.155),
    (12.0, 3.364),
    (16.0, 3.448),
    (20.0, 3.485),
    (24.0, 3.519),
    (30.0, 3.581),
    (36.0, 3.637),
    (42.0, 3.682),
    (48.0, 3.732),
    (54.0, 3.789),
    (60.0, 3.841),
    (66.0, 3.902),
    (72.0, 3.967),
    (78.0, 4.023),
    (84.0, 4.075),
    (88.0, 4.092),
    (92.0, 4.103),
    (96.0, 4.135),
    (100.0, 4.200),
];
/// The middle of Prada et al. 2013 (J. Electrochem. Soc. 160, A616) in PyBaMM and a laboratory-type table, from memory.
/// Between 20 and 90 % its slope is less than a meter's error.
const LIFEPO4: &[(f64, f64)] = &[
    (0.0, 2.250),
    (5.0, 2.880),
    (10.0, 3.050),
    (15.0, 3.130),
    (20.0, 3.194),
    (30.0, 3.235),
    (40.0, 3.266),
    (50.0, 3.278),
    (60.0, 3.285),
    (70.0, 3.297),
    (80.0, 3.320),
    (90.0, 3.330),
    (95.0, 3.340),
    (100.0, 3.600),
];
/// Sealed lead, after hours of rest. 70 %: a storage guide reproducing BU-702 (12.42 V); the rest from memory.
const PB: &[(f64, f64)] = &[
    (0.0, 1.930),
    (25.0, 2.010),
    (50.0, 2.040),
    (70.0, 2.070),
    (100.0, 2.140),
];

/// Volts, and how many points of charge the truth may lie under and over what the curve says there.
type Doubt = (f64, f64, f64);

/// What the cross-check of seven cells (PyBaMM's sets and a measured LiCoO2 pouch) and the tables above leave open; under
/// 3.70 V a pouch cell may be of NMC, which holds up to sixteen points more there (Ecker et al. 2015); one of NMC532 up to thirty
/// (Mohtat et al. 2020), which hobby pouches are not taken for. More volts never lower an end of the band.
const LIPO_DOUBT: &[Doubt] = &[
    (3.00, 1.0, 5.0),
    (3.50, 4.2, 13.0),
    (3.60, 6.0, 17.0),
    (3.65, 8.0, 17.0),
    (3.70, 10.0, 13.0),
    (3.75, 10.0, 10.0),
    (3.90, 10.0, 10.0),
    (4.00, 3.0, 3.0),
    (4.20, 3.0, 3.0),
];
const LIHV_DOUBT: &[Doubt] = &[
    (3.30, 1.0, 5.0),
    (3.60, 6.0, 17.0),
    (3.66, 8.4, 17.0),
    (3.70, 10.0, 13.0),
    (3.90, 10.0, 10.0),
    (4.15, 3.0, 3.0),
    (4.35, 3.0, 3.0),
];
/// Cylindrical cells are of NMC or NCA: Chen2020, Mohtat2020 and NCA_Kim2011 of the cross-check.
const LI_ION_DOUBT: &[Doubt] = &[
    (2.50, 1.0, 8.0),
    (3.30, 10.2, 8.0),
    (3.50, 16.0, 13.0),
    (3.70, 10.0, 10.0),
    (3.80, 8.0, 11.0),
    (4.05, 3.0, 9.0),
    (4.10, 4.0, 4.0),
    (4.20, 4.0, 4.0),
];
const LIFEPO4_DOUBT: &[Doubt] = &[
    (2.00, 2.0, 5.0),
    (3.10, 8.0, 8.0),
    (3.305, 8.0, 8.0),
    (3.313, 8.0, 20.0),
    (3.32, 8.0, 18.0),
    (3.33, 8.0, 8.0),
    (3.60, 8.0, 8.0),
];
const PB_DOUBT: &[Doubt] = &[(1.90, 15.0, 15.0), (2.20, 15.0, 15.0)];

/// LiFePO4 between these: somewhere between 20 and 90 %.
const FLAT_V: (f64, f64) = (3.194, 3.330);
const FLAT_PERCENT: (f64, f64) = (20.0, 90.0);
/// A cell's resting volts move by some tenths of a millivolt for each degree (entropy): common practice, no source.
const POINTS_PER_DEGREE: f64 = 0.1;
/// The curves are of cells as warm as that.
pub const CURVES_CELSIUS: f64 = 25.0;

/// What a cell holds, in percent of all it can hold.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct StateOfCharge {
    /// None where the curve is flat, and where resting volts tell nothing.
    pub percent: Option<f64>,
    pub low_percent: f64,
    pub high_percent: f64,
}

impl StateOfCharge {
    /// Resting volts tell nothing.
    pub const UNKNOWN: Self = Self {
        percent: None,
        low_percent: 0.0,
        high_percent: 100.0,
    };

    /// Of one cell that had rested so long: a wider band before an hour is over. None before a quarter of one.
    pub fn after_rest(
        (chemistry, cell_v): (Chemistry, f64),
        celsius: Option<f64>,
        rested_minutes: i64,
    ) -> Option<Self> {
        let has_rested = rested_minutes >= NEARLY_MINUTES;
        has_rested.then(|| Self::open_by((chemistry, cell_v), celsius, rested_minutes))
    }

    /// The same, however short its rest was: for who must reckon with something.
    pub fn open_by(
        (chemistry, cell_v): (Chemistry, f64),
        celsius: Option<f64>,
        rested_minutes: i64,
    ) -> Self {
        let told = Self::of(chemistry, cell_v, celsius);
        // What an hour leaves open is less than the meter's error, which the band has in it.
        if rested_minutes >= SETTLED_MINUTES {
            return told;
        }
        // A doubt may shrink with the volts, so what lies between counts too.
        let (off_v, nearly_v) = (unsettled_v(rested_minutes), unsettled_v(NEARLY_MINUTES));
        let offs = [off_v, off_v * 0.75, off_v * 0.5, off_v * 0.25, nearly_v];
        let settled_v = offs.iter().flat_map(|off| [cell_v - off, cell_v + off]);
        settled_v.fold(told, |open, volts| {
            let other = Self::of(chemistry, volts, celsius);
            Self {
                percent: open.percent.filter(|_| other.percent.is_some()),
                low_percent: open.low_percent.min(other.low_percent),
                high_percent: open.high_percent.max(other.high_percent),
            }
        })
    }

    /// Of one rested cell. `celsius`: None where nobody said, so that it may be anything that a pack is charged at.
    pub fn of(chemistry: Chemistry, cell_v: f64, celsius: Option<f64>) -> Self {
        let Some(curve) = Curve::of(chemistry) else {
            return Self::UNKNOWN;
        };
        let told = curve.percent_at(cell_v);
        let (under, over) = doubt_at(doubts(chemistry), cell_v);
        let more = degrees_off(celsius) * POINTS_PER_DEGREE;
        let low_percent = (told - under - more).max(0.0);
        let high_percent = (told + over + more).min(100.0);
        let is_flat = chemistry == Chemistry::LiFePo4 && (FLAT_V.0..=FLAT_V.1).contains(&cell_v);
        if is_flat {
            return Self {
                percent: None,
                low_percent: low_percent.min(FLAT_PERCENT.0),
                high_percent: high_percent.max(FLAT_PERCENT.1),
            };
        }
        Self {
            percent: Some(told),
            low_percent,
            high_percent,
        }
    }
}

/// From those that the curves are of.
fn degrees_off(celsius: Option<f64>) -> f64 {
    let off = |celsius: f64| (celsius - CURVES_CELSIUS).abs();
    let farthest = || {
        let (cold, warm) = (*CHARGE_CELSIUS.start() as f64, *CHARGE_CELSIUS.end() as f64);
        off(cold).max(off(warm))
    };
    celsius.map_or_else(farthest, off)
}

const fn doubts(chemistry: Chemistry) -> &'static [Doubt] {
    match chemistry {
        Chemistry::LiPo => LIPO_DOUBT,
        Chemistry::LiHv => LIHV_DOUBT,
        Chemistry::LiIon => LI_ION_DOUBT,
        Chemistry::LiFePo4 => LIFEPO4_DOUBT,
        Chemistry::Pb | Chemistry::NiMh => PB_DOUBT,
    }
}

fn doubt_at(doubts: &[Doubt], cell_v: f64) -> (f64, f64) {
    let of = |doubt: fn(&Doubt) -> f64| between(doubts, cell_v, |(volts, _, _)| *volts, doubt);
    (of(|(_, under, _)| *under), of(|(_, _, over)| *over))
}

/// Between two points straight on; outside them the nearest.
fn between<P>(points: &[P], at: f64, from: impl Fn(&P) -> f64, to: impl Fn(&P) -> f64) -> f64 {
    let after = points.partition_point(|point| from(point) < at);
    straight(points, after, at, from, to)
}

/// `after`: the first point that is not below.
fn straight<P>(
    points: &[P],
    after: usize,
    at: f64,
    from: impl Fn(&P) -> f64,
    to: impl Fn(&P) -> f64,
) -> f64 {
    let before = after.checked_sub(1).and_then(|low| points.get(low));
    match (before, points.get(after)) {
        (Some(low), Some(high)) => {
            let part = (at - from(low)) / (from(high) - from(low));
            to(low) + part * (to(high) - to(low))
        }
        (Some(only), None) | (None, Some(only)) => to(only),
        (None, None) => 0.0,
    }
}

#[derive(Clone, Copy, Debug, PartialEq, Eq, thiserror::Error)]
pub enum CurveProblem {
    #[error("give two points or more, at most 1000, each as [percent, volts]")]
    Count,
    #[error(
        "percent and volts must rise from point to point, percent from 0 to 100, volts above 0 and up to 10"
    )]
    Order,
}

impl Curve {
    /// None for nickel, whose resting volts hardly move.
    pub const fn of(chemistry: Chemistry) -> Option<Self> {
        let points = match chemistry {
            Chemistry::LiPo => LIPO,
            Chemistry::LiHv => LIHV,
            Chemistry::LiIon => LI_ION,
            Chemistry::LiFePo4 => LIFEPO4,
            Chemistry::Pb => PB,
            Chemistry::NiMh => return None,
        };
        Some(Self(Cow::Borrowed(points)))
    }

    /// A cell's own: percent and volts, both rising.
    pub fn new(points: Vec<(f64, f64)>) -> Result<Self, CurveProblem> {
        if !(2..=1_000).contains(&points.len()) {
            return Err(CurveProblem::Count);
        }
        let is_inside = points.iter().all(|(percent, volts)| {
            (0.0..=100.0).contains(percent) && *volts > 0.0 && *volts <= 10.0
        });
        let is_rising = points
            .windows(2)
            .all(|two| two[0].0 < two[1].0 && two[0].1 < two[1].1);
        if is_inside && is_rising {
            Ok(Self(Cow::Owned(points)))
        } else {
            Err(CurveProblem::Order)
        }
    }

    pub fn percent_at(&self, volts: f64) -> f64 {
        between(&self.0, volts, |(_, v)| *v, |(p, _)| *p)
    }

    pub fn volts_at(&self, percent: f64) -> f64 {
        between(&self.0, percent, |(p, _)| *p, |(_, v)| *v)
    }

    /// The percent of the next point above, up to which its volts rise evenly; above the last, where they rise no more, a whole
    /// cell's further on.
    pub(super) fn next_point(&self, percent: f64) -> f64 {
        let after = self.0.partition_point(|(p, _)| *p <= percent);
        self.0.get(after).map_or(percent + 100.0, |(p, _)| *p)
    }

    /// The same, for who asks at one charge after the other: `after` is where the last was found, 0 at first.
    pub(super) fn volts_next_to(&self, percent: f64, after: &mut usize) -> f64 {
        let points = &self.0;
        let is_below = |point: Option<&(f64, f64)>| point.is_some_and(|(p, _)| *p < percent);
        while is_below(points.get(*after)) {
            *after += 1;
        }
        while *after > 0 && !is_below(points.get(*after - 1)) {
            *after -= 1;
        }
        straight(points, *after, percent, |(p, _)| *p, |(_, v)| *v)
    }
}

#[cfg(test)]
#[path = "curve_tests.rs"]
mod tests;

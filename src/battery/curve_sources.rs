//! The resting curves that honest sources give for a chemistry, each whole. `curve` tells one charge with a band; here
//! each source is believed in turn, since what two readings of one cell have in common cancels out only on one curve.
//! Units: percent of what the cell holds, V. 25 °C.

use super::chemistry::Chemistry;
use super::curve::Curve;
use super::range::Range;
use std::sync::LazyLock;

/// What a meter may be off at one cell: what hobby meters and chargers are sold with, common practice, no source.
pub const METER_V: f64 = 0.005;

/// The volts of the rows below.
const CROSS_V: [f64; 14] = [
    3.30, 3.50, 3.60, 3.65, 3.70, 3.75, 3.80, 3.85, 3.90, 3.95, 4.00, 4.05, 4.10, 4.15,
];
type Cross = [f64; 14];

/// Percent between 3.0 and 4.2 V; PyBaMM 26.10.1.1's sets and the discharge of one measured pouch cell.
/// LiCoO2 pouch: Ai et al. 2020, J. Electrochem. Soc. 167, 013512.
const AI: Cross = [
    1.6, 4.2, 6.6, 12.6, 20.9, 35.6, 52.0, 62.3, 69.0, 74.8, 80.6, 86.0, 91.2, 96.1,
];
/// Nickel-cobalt pouch: Ecker et al. 2015, J. Electrochem. Soc. 162, A1836.
const ECKER: Cross = [
    3.4, 11.1, 19.6, 23.2, 27.6, 35.0, 55.0, 65.7, 71.1, 75.5, 81.2, 86.9, 91.8, 96.1,
];
/// LiCoO2: Marquis et al. 2019, J. Electrochem. Soc. 166, A3693.
const MARQUIS: Cross = [
    1.3, 2.9, 4.6, 6.4, 31.5, 49.9, 66.2, 75.3, 84.1, 87.3, 88.9, 90.7, 93.9, 98.1,
];
/// LiCoO2: Ramadass et al. 2004, J. Electrochem. Soc. 151, A196.
const RAMADASS: Cross = [
    2.1, 5.8, 9.7, 13.0, 18.5, 29.0, 43.0, 54.9, 64.6, 72.9, 80.2, 86.6, 92.0, 96.5,
];
/// The pouch of Ai et al., measured at a tenth of its rating.
const MEASURED: Cross = [
    1.5, 3.9, 6.1, 9.8, 17.3, 29.8, 49.5, 60.8, 67.0, 74.1, 80.7, 86.4, 91.7, 96.6,
];
/// NMC pouch: Mohtat et al. 2020, J. Electrochem. Soc. 167, 110561.
const MOHTAT: Cross = [
    1.6, 7.5, 21.8, 33.4, 46.6, 55.5, 60.1, 66.1, 72.2, 77.8, 82.8, 87.6, 92.0, 96.1,
];
/// NCA cylinder: Kim et al. 2011, J. Electrochem. Soc. 158, A955.
const KIM: Cross = [
    13.4, 30.1, 39.7, 45.3, 51.5, 57.6, 63.1, 67.7, 72.0, 76.7, 81.8, 86.9, 91.8, 96.2,
];

type Points = &'static [(f64, f64)];
/// Phone cells of the 4.20 V class, Linux kernel, drivers/power/supply: the default table of ab8500, and another's.
const KERNEL_A: Points = &[
    (0.0, 3.094),
    (2.0, 3.424),
    (5.0, 3.597),
    (10.0, 3.676),
    (15.0, 3.705),
    (20.0, 3.730),
    (25.0, 3.747),
    (30.0, 3.768),
    (40.0, 3.787),
    (50.0, 3.812),
    (60.0, 3.866),
    (70.0, 3.926),
    (80.0, 3.990),
    (90.0, 4.068),
    (95.0, 4.114),
    (100.0, 4.186),
];
const KERNEL_B: Points = &[
    (0.0, 3.300),
    (2.0, 3.405),
    (5.0, 3.531),
    (10.0, 3.662),
    (15.0, 3.685),
    (20.0, 3.711),
    (25.0, 3.743),
    (30.0, 3.764),
    (40.0, 3.778),
    (50.0, 3.798),
    (60.0, 3.851),
    (70.0, 3.920),
    (80.0, 3.978),
    (90.0, 4.064),
    (95.0, 4.105),
    (100.0, 4.178),
];
/// Prada et al. 2013, J. Electrochem. Soc. 160, A616, in PyBaMM.
const PRADA: Points = &[
    (0.0, 2.000),
    (4.0, 2.708),
    (8.0, 2.922),
    (12.0, 3.031),
    (16.0, 3.128),
    (20.0, 3.169),
    (28.0, 3.197),
    (36.0, 3.237),
    (40.0, 3.253),
    (48.0, 3.265),
    (60.0, 3.269),
    (68.0, 3.272),
    (72.0, 3.279),
    (76.0, 3.298),
    (80.0, 3.310),
    (90.0, 3.314),
    (96.0, 3.319),
    (98.0, 3.350),
    (100.0, 3.600),
];
/// The functions of arXiv:1709.03970 and J. Electrochem. Soc. 167, 080534, for a cell of 2.3 Ah.
const IRON_MODEL: Points = &[
    (0.0, 2.000),
    (5.0, 2.810),
    (10.0, 3.000),
    (20.0, 3.170),
    (30.0, 3.220),
    (40.0, 3.260),
    (60.0, 3.270),
    (70.0, 3.290),
    (80.0, 3.310),
    (95.0, 3.320),
    (100.0, 3.600),
];
/// A laboratory's kind of table, from memory.
const IRON_TABLE: Points = &[
    (0.0, 2.500),
    (5.0, 2.950),
    (10.0, 3.100),
    (20.0, 3.220),
    (30.0, 3.260),
    (40.0, 3.280),
    (50.0, 3.290),
    (60.0, 3.300),
    (70.0, 3.320),
    (80.0, 3.330),
    (90.0, 3.340),
    (95.0, 3.350),
    (100.0, 3.400),
];

/// A cell of 4.35 V holds so much of its charge at 4.20 V: the kernel's 4.35 V phone cell.
const LIHV_AT_4_20_PERCENT: f64 = 91.5;
/// A cylindrical cell gives so much more between 3.0 and 2.5 V: Chen et al. 2020 in PyBaMM.
const UNDER_3_V_PERCENT: f64 = 3.4;

static SOURCES: LazyLock<Vec<(Chemistry, Vec<Curve>)>> = LazyLock::new(|| {
    let each = |chemistry| (chemistry, gathered(chemistry));
    Chemistry::ALL.into_iter().map(each).collect()
});

/// The built-in curve first. Empty where resting volts tell nothing.
pub fn sources(chemistry: Chemistry) -> &'static [Curve] {
    let found = SOURCES.iter().find(|(of, _)| *of == chemistry);
    found.map_or(&[], |(_, curves)| curves)
}

fn gathered(chemistry: Chemistry) -> Vec<Curve> {
    let more = match chemistry {
        Chemistry::LiPo => vec![
            KERNEL_A.to_vec(),
            KERNEL_B.to_vec(),
            crossed(&AI),
            crossed(&MEASURED),
            crossed(&RAMADASS),
            crossed(&MARQUIS),
            crossed(&ECKER),
        ],
        Chemistry::LiHv => [KERNEL_A.to_vec(), KERNEL_B.to_vec()]
            .into_iter()
            .chain([&AI, &MEASURED, &RAMADASS, &MARQUIS].map(crossed))
            .map(charged_higher)
            .collect(),
        Chemistry::LiIon => [&MOHTAT, &KIM].map(crossed).map(emptied_further).into(),
        Chemistry::LiFePo4 => vec![PRADA.to_vec(), IRON_MODEL.to_vec(), IRON_TABLE.to_vec()],
        Chemistry::NiMh | Chemistry::Pb => Vec::new(),
    };
    let more = more
        .into_iter()
        .filter_map(|points| Curve::new(points).ok());
    Curve::of(chemistry).into_iter().chain(more).collect()
}

fn crossed(percents: &Cross) -> Vec<(f64, f64)> {
    let inner = percents.iter().copied().zip(CROSS_V);
    let empty = std::iter::once((0.0, 3.0));
    empty.chain(inner).chain([(100.0, 4.2)]).collect()
}

/// The same electrodes, charged on to 4.35 V.
fn charged_higher(points: Vec<(f64, f64)>) -> Vec<(f64, f64)> {
    let lower = points
        .into_iter()
        .map(|(percent, volts)| (percent * LIHV_AT_4_20_PERCENT / 100.0, volts));
    lower.chain([(100.0, 4.35)]).collect()
}

/// From 3.0 V on down to 2.5.
fn emptied_further(points: Vec<(f64, f64)>) -> Vec<(f64, f64)> {
    let left = 1.0 - UNDER_3_V_PERCENT / 100.0;
    let upper = points
        .into_iter()
        .map(|(percent, volts)| (UNDER_3_V_PERCENT + percent * left, volts));
    std::iter::once((0.0, 2.5)).chain(upper).collect()
}

/// Points of charge from one resting voltage to another, under zero when it fell: what the built-in curve says, and what
/// all sources and a meter that is off by so much at either leave open. None where resting volts tell nothing.
pub fn points_between(chemistry: Chemistry, from_v: f64, to_v: f64, meter_v: f64) -> Option<Range> {
    let curves = sources(chemistry);
    let change = |curve: &Curve, from_off: f64, to_off: f64| {
        curve.percent_at(to_v + to_off) - curve.percent_at(from_v + from_off)
    };
    let likely = change(curves.first()?, 0.0, 0.0);
    let open = curves.iter().flat_map(|curve| {
        [
            change(curve, meter_v, -meter_v),
            change(curve, -meter_v, meter_v),
        ]
    });
    Some(Range::around(likely, open))
}

#[cfg(test)]
#[path = "curve_sources_tests.rs"]
mod tests;

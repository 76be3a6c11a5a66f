//! What cells rest at, as far as it is published: percent of what a cell holds against mV, 25 degrees. Each kind has a curve that is
//! believed, how many points the truth may lie under it, and the curves of single sources. Copied from the sources by hand.

use super::super::life::Kind;

type Points = &'static [(f64, f64)];

/// Percent and mV, both rising.
pub struct Curve(Vec<(f64, f64)>);

impl Curve {
    fn of(points: Points) -> Self {
        Self(points.to_vec())
    }

    /// Read off between two points straight on, outside of all the nearest.
    pub fn percent(&self, mv: f64) -> f64 {
        let points: Vec<(f64, f64)> = self.0.iter().map(|(percent, mv)| (*mv, *percent)).collect();
        read_off(&points, mv)
    }

    pub fn mv(&self, percent: f64) -> f64 {
        read_off(&self.0, percent)
    }
}

fn read_off(points: &[(f64, f64)], at: f64) -> f64 {
    for two in points.windows(2) {
        let ((from, low), (to, high)) = (two[0], two[1]);
        if (from..=to).contains(&at) {
            return low + (high - low) * (at - from) / (to - from);
        }
    }
    let (first, last) = (points[0], points[points.len() - 1]);
    if at < first.0 { first.1 } else { last.1 }
}

/// The curve of a kind, and the least that the truth may lie under it.
pub struct Known {
    pub curve: Curve,
    under: Points,
    pub sources: Vec<Curve>,
}

impl Known {
    /// None of nickel: its resting volts tell nothing.
    pub fn of(kind: Kind) -> Option<Self> {
        let (curve, under, sources) = match kind {
            Kind::LiPo => (LIPO, LIPO_UNDER, lipo_sources()),
            Kind::LiHv => (LIHV, LIHV_UNDER, lihv_sources()),
            Kind::LiIon => (LI_ION, LI_ION_UNDER, li_ion_sources()),
            Kind::LiFePo4 => (IRON, IRON_UNDER, iron_sources()),
            Kind::Lead => (LEAD, LEAD_UNDER, Vec::new()),
            Kind::NiMh => return None,
        };
        let itself = std::iter::once(Curve::of(curve));
        Some(Self {
            curve: Curve::of(curve),
            under,
            sources: itself.chain(sources).collect(),
        })
    }

    /// The least percent that it may hold. Iron between 3.194 and 3.330 V is anywhere from a fifth on.
    pub fn least_percent(&self, kind: Kind, mv: f64) -> f64 {
        let least = (self.curve.percent(mv) - read_off(self.under, mv)).max(0.0);
        let is_flat = kind == Kind::LiFePo4 && (3_194.0..=3_330.0).contains(&mv);
        if is_flat { least.min(20.0) } else { least }
    }
}

/// The middle of the two phone cells below and of Ai et al. 2020.
const LIPO: Points = &[
    (0.0, 3_000.0),
    (2.0, 3_378.0),
    (5.0, 3_552.0),
    (10.0, 3_647.0),
    (15.0, 3_686.0),
    (20.0, 3_712.0),
    (25.0, 3_731.0),
    (30.0, 3_748.0),
    (40.0, 3_777.0),
    (45.0, 3_789.0),
    (50.0, 3_805.0),
    (55.0, 3_823.0),
    (60.0, 3_850.0),
    (70.0, 3_919.0),
    (80.0, 3_986.0),
    (90.0, 4_075.0),
    (95.0, 4_125.0),
    (100.0, 4_200.0),
];
/// mV, and points that the truth may lie under the curve: what seven published cells leave open. Three from 4.0 V on, ten in the flat part.
const LIPO_UNDER: Points = &[
    (3_000.0, 1.0),
    (3_500.0, 4.2),
    (3_600.0, 6.0),
    (3_650.0, 8.0),
    (3_700.0, 10.0),
    (3_900.0, 10.0),
    (4_000.0, 3.0),
    (4_200.0, 3.0),
];

/// A phone cell of the 4.35 V class, Linux kernel, drivers/power/supply.
const LIHV: Points = &[
    (0.0, 3_300.0),
    (2.0, 3_551.0),
    (5.0, 3_656.0),
    (10.0, 3_690.0),
    (15.0, 3_715.0),
    (20.0, 3_746.0),
    (25.0, 3_762.0),
    (30.0, 3_776.0),
    (40.0, 3_793.0),
    (45.0, 3_810.0),
    (50.0, 3_829.0),
    (55.0, 3_873.0),
    (60.0, 3_911.0),
    (70.0, 3_978.0),
    (80.0, 4_077.0),
    (90.0, 4_183.0),
    (95.0, 4_241.0),
    (100.0, 4_350.0),
];
const LIHV_UNDER: Points = &[
    (3_300.0, 1.0),
    (3_600.0, 6.0),
    (3_660.0, 8.4),
    (3_700.0, 10.0),
    (3_900.0, 10.0),
    (4_150.0, 3.0),
    (4_350.0, 3.0),
];

/// Chen et al. 2020, J. Electrochem. Soc. 167, 080534: a round cell of NMC811 down to 2.5 V.
const LI_ION: Points = &[
    (0.0, 2_500.0),
    (2.0, 2_863.0),
    (6.0, 3_155.0),
    (12.0, 3_364.0),
    (16.0, 3_448.0),
    (20.0, 3_485.0),
    (24.0, 3_519.0),
    (30.0, 3_581.0),
    (36.0, 3_637.0),
    (42.0, 3_682.0),
    (48.0, 3_732.0),
    (54.0, 3_789.0),
    (60.0, 3_841.0),
    (66.0, 3_902.0),
    (72.0, 3_967.0),
    (78.0, 4_023.0),
    (84.0, 4_075.0),
    (88.0, 4_092.0),
    (92.0, 4_103.0),
    (96.0, 4_135.0),
    (100.0, 4_200.0),
];
const LI_ION_UNDER: Points = &[
    (2_500.0, 1.0),
    (3_300.0, 10.2),
    (3_500.0, 16.0),
    (3_700.0, 10.0),
    (3_800.0, 8.0),
    (4_050.0, 3.0),
    (4_100.0, 4.0),
    (4_200.0, 4.0),
];

/// The middle of Prada et al. 2013 and of a laboratory's kind of table.
const IRON: Points = &[
    (0.0, 2_250.0),
    (5.0, 2_880.0),
    (10.0, 3_050.0),
    (15.0, 3_130.0),
    (20.0, 3_194.0),
    (30.0, 3_235.0),
    (40.0, 3_266.0),
    (50.0, 3_278.0),
    (60.0, 3_285.0),
    (70.0, 3_297.0),
    (80.0, 3_320.0),
    (90.0, 3_330.0),
    (95.0, 3_340.0),
    (100.0, 3_600.0),
];
const IRON_UNDER: Points = &[(2_000.0, 2.0), (3_100.0, 8.0), (3_600.0, 8.0)];

/// 70 percent: a storage guide reproducing BU-702 (12.42 V).
const LEAD: Points = &[
    (0.0, 1_930.0),
    (25.0, 2_010.0),
    (50.0, 2_040.0),
    (70.0, 2_070.0),
    (100.0, 2_140.0),
];
const LEAD_UNDER: Points = &[(1_900.0, 15.0), (2_200.0, 15.0)];

/// Percent at these mV, from 0 at 3.0 V to 100 at 4.2 V: PyBaMM 26.10.1.1, and a measured pouch.
const AT: [f64; 14] = [
    3_300.0, 3_500.0, 3_600.0, 3_650.0, 3_700.0, 3_750.0, 3_800.0, 3_850.0, 3_900.0, 3_950.0,
    4_000.0, 4_050.0, 4_100.0, 4_150.0,
];
/// Ai et al. 2020; Ecker et al. 2015; Marquis et al. 2019; Ramadass et al. 2004; the pouch of Ai et al. as measured.
const POUCHES: [[f64; 14]; 5] = [
    [
        1.6, 4.2, 6.6, 12.6, 20.9, 35.6, 52.0, 62.3, 69.0, 74.8, 80.6, 86.0, 91.2, 96.1,
    ],
    [
        3.4, 11.1, 19.6, 23.2, 27.6, 35.0, 55.0, 65.7, 71.1, 75.5, 81.2, 86.9, 91.8, 96.1,
    ],
    [
        1.3, 2.9, 4.6, 6.4, 31.5, 49.9, 66.2, 75.3, 84.1, 87.3, 88.9, 90.7, 93.9, 98.1,
    ],
    [
        2.1, 5.8, 9.7, 13.0, 18.5, 29.0, 43.0, 54.9, 64.6, 72.9, 80.2, 86.6, 92.0, 96.5,
    ],
    [
        1.5, 3.9, 6.1, 9.8, 17.3, 29.8, 49.5, 60.8, 67.0, 74.1, 80.7, 86.4, 91.7, 96.6,
    ],
];
/// Mohtat et al. 2020; Kim et al. 2011.
const ROUND: [[f64; 14]; 2] = [
    [
        1.6, 7.5, 21.8, 33.4, 46.6, 55.5, 60.1, 66.1, 72.2, 77.8, 82.8, 87.6, 92.0, 96.1,
    ],
    [
        13.4, 30.1, 39.7, 45.3, 51.5, 57.6, 63.1, 67.7, 72.0, 76.7, 81.8, 86.9, 91.8, 96.2,
    ],
];

fn crossed(percents: &[f64; 14]) -> Vec<(f64, f64)> {
    let inner = percents.iter().copied().zip(AT);
    std::iter::once((0.0, 3_000.0))
        .chain(inner)
        .chain([(100.0, 4_200.0)])
        .collect()
}

fn lipo_sources() -> Vec<Curve> {
    let pouches = POUCHES.iter().map(|each| Curve(crossed(each)));
    [PHONE_A, PHONE_B]
        .into_iter()
        .map(Curve::of)
        .chain(pouches)
        .collect()
}

/// The same electrodes charged on to 4.35 V hold 91.5 percent of that at 4.20 V: the kernel's 4.35 V phone cell. No nickel-cobalt pouch.
fn lihv_sources() -> Vec<Curve> {
    let mut lower = lipo_sources();
    lower.remove(3);
    let higher = |curve: Curve| {
        let lower = curve
            .0
            .into_iter()
            .map(|(percent, mv)| (percent * 91.5 / 100.0, mv));
        Curve(lower.chain([(100.0, 4_350.0)]).collect())
    };
    lower.into_iter().map(higher).collect()
}

/// A round cell gives 3.4 percent of its charge under 3.0 V (Chen et al. 2020).
fn li_ion_sources() -> Vec<Curve> {
    let further = |each: &[f64; 14]| {
        let upper = crossed(each)
            .into_iter()
            .map(|(percent, mv)| (3.4 + percent * 0.966, mv));
        Curve(std::iter::once((0.0, 2_500.0)).chain(upper).collect())
    };
    ROUND.iter().map(further).collect()
}

fn iron_sources() -> Vec<Curve> {
    [PRADA, IRON_MODEL, IRON_TABLE]
        .into_iter()
        .map(Curve::of)
        .collect()
}

/// Phone cells of the 4.20 V class, Linux kernel, drivers/power/supply.
const PHONE_A: Points = &[
    (0.0, 3_094.0),
    (2.0, 3_424.0),
    (5.0, 3_597.0),
    (10.0, 3_676.0),
    (15.0, 3_705.0),
    (20.0, 3_730.0),
    (25.0, 3_747.0),
    (30.0, 3_768.0),
    (40.0, 3_787.0),
    (50.0, 3_812.0),
    (60.0, 3_866.0),
    (70.0, 3_926.0),
    (80.0, 3_990.0),
    (90.0, 4_068.0),
    (95.0, 4_114.0),
    (100.0, 4_186.0),
];
const PHONE_B: Points = &[
    (0.0, 3_300.0),
    (2.0, 3_405.0),
    (5.0, 3_531.0),
    (10.0, 3_662.0),
    (15.0, 3_685.0),
    (20.0, 3_711.0),
    (25.0, 3_743.0),
    (30.0, 3_764.0),
    (40.0, 3_778.0),
    (50.0, 3_798.0),
    (60.0, 3_851.0),
    (70.0, 3_920.0),
    (80.0, 3_978.0),
    (90.0, 4_064.0),
    (95.0, 4_105.0),
    (100.0, 4_178.0),
];
/// Prada et al. 2013, J. Electrochem. Soc. 160, A616, in PyBaMM.
const PRADA: Points = &[
    (0.0, 2_000.0),
    (4.0, 2_708.0),
    (8.0, 2_922.0),
    (12.0, 3_031.0),
    (16.0, 3_128.0),
    (20.0, 3_169.0),
    (28.0, 3_197.0),
    (36.0, 3_237.0),
    (40.0, 3_253.0),
    (48.0, 3_265.0),
    (60.0, 3_269.0),
    (68.0, 3_272.0),
    (72.0, 3_279.0),
    (76.0, 3_298.0),
    (80.0, 3_310.0),
    (90.0, 3_314.0),
    (96.0, 3_319.0),
    (98.0, 3_350.0),
    (100.0, 3_600.0),
];
/// The functions of arXiv:1709.03970 and J. Electrochem. Soc. 167, 080534.
const IRON_MODEL: Points = &[
    (0.0, 2_000.0),
    (5.0, 2_810.0),
    (10.0, 3_000.0),
    (20.0, 3_170.0),
    (30.0, 3_220.0),
    (40.0, 3_260.0),
    (60.0, 3_270.0),
    (70.0, 3_290.0),
    (80.0, 3_310.0),
    (95.0, 3_320.0),
    (100.0, 3_600.0),
];
/// A laboratory's kind of table, from memory.
const IRON_TABLE: Points = &[
    (0.0, 2_500.0),
    (5.0, 2_950.0),
    (10.0, 3_100.0),
    (20.0, 3_220.0),
    (30.0, 3_260.0),
    (40.0, 3_280.0),
    (50.0, 3_290.0),
    (60.0, 3_300.0),
    (70.0, 3_320.0),
    (80.0, 3_330.0),
    (90.0, 3_340.0),
    (95.0, 3_350.0),
    (100.0, 3_400.0),
];

//! The current to charge a pack with in ordinary use, and about how long that takes. A charge is held at its current until
//! the cell meets its full voltage, then at that voltage until the current has fallen to 0.05C: constant current, constant
//! voltage (Battery University BU-409). Leaves chargers and supplies, which may give less, to the bench.

use super::chemistry::Chemistry;
use super::pack::Build;
use super::volts::Volts;

/// Where a charge ends, in C: BU-409 gives 3 to 5 % of the rating.
const ENDS_AT_C: f64 = 0.05;
/// Resistance of a cell while it charges, slow part included, in ohm times Ah. A fresh hobby pack's cell shows 0.005 to
/// 0.014 on a meter and a worn one 0.04; a meter's ten seconds understate the slow part 1.2 to 1.8 times. Common practice,
/// no source, but for the ratio, which comes of PyBaMM's model of a LiCoO2 pouch cell (Ai et al. 2020).
const FRESH_OHM_AH: f64 = 0.008;
const WORN_OHM_AH: f64 = 0.07;
/// Honest tables of resting volts differ by about ten points in the flat middle of the curve, by three near full.
const DOUBT_MIDDLE: f64 = 0.10;
const DOUBT_HIGH: f64 = 0.03;
/// Measured charges took 3 to 12 % longer than such a reckoning, and a fresh cell holds more than its label says.
const MAY_TAKE_LONGER: f64 = 1.12;

/// Resting volts of one cell by state of charge, 25 °C: points of charge (0 to 100) and mV, rising.
type Curve = [(f64, f64)];

/// LiCoO2 pouch of the 4.20 V class: the mean of two phone cells in the Linux kernel (drivers/power/supply).
const LIPO: &Curve = &[
    (0.0, 3_250.0),
    (2.0, 3_410.0),
    (5.0, 3_560.0),
    (10.0, 3_670.0),
    (15.0, 3_695.0),
    (20.0, 3_720.0),
    (25.0, 3_745.0),
    (30.0, 3_770.0),
    (40.0, 3_780.0),
    (45.0, 3_790.0),
    (50.0, 3_805.0),
    (55.0, 3_825.0),
    (60.0, 3_860.0),
    (70.0, 3_920.0),
    (80.0, 3_980.0),
    (90.0, 4_070.0),
    (95.0, 4_110.0),
    (100.0, 4_180.0),
];
/// The 4.35 V class: a phone cell of the same file.
const LIHV: &Curve = &[
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
    (100.0, 4_328.0),
];
/// NMC811 cylindrical cell: PyBaMM 26.10.1.1, parameters of Chen et al. 2020.
const LI_ION: &Curve = &[
    (0.0, 2_500.0),
    (6.0, 3_155.0),
    (12.0, 3_364.0),
    (18.0, 3_469.0),
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
    (90.0, 4_097.0),
    (96.0, 4_135.0),
    (100.0, 4_200.0),
];

/// About how long a charge takes.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct About {
    pub least_minutes: i64,
    pub most_minutes: i64,
}

/// Tenths of C: the club's rate for the chemistry, or the label's where that is lower.
pub fn rate_c_tenths(club_c_tenths: i64, label_c_tenths: Option<i64>) -> i64 {
    label_c_tenths.map_or(club_c_tenths, |label| label.min(club_c_tenths))
}

/// In mA, down to what a charger can be set to: whole tenths of an ampere, hundredths for the smallest packs.
pub const fn current_ma(capacity_mah: i64, rate_c_tenths: i64) -> i64 {
    let exact = capacity_mah.saturating_mul(rate_c_tenths) / 10;
    let step = if exact < 200 { 10 } else { 100 };
    if exact < step {
        exact
    } else {
        exact / step * step
    }
}

/// From these resting volts to full at such a current. None where volts do not tell the charge: nickel, lead, and
/// LiFePO4, whose curve is flat.
pub fn about(build: &Build, volts: &Volts, current_ma: i64) -> Option<About> {
    let curve = match build.chemistry {
        Chemistry::LiPo => LIPO,
        Chemistry::LiHv => LIHV,
        Chemistry::LiIon => LI_ION,
        Chemistry::LiFePo4 | Chemistry::NiMh | Chemistry::Pb => return None,
    };
    let cells = build.cells_series.max(1);
    let cell_mv = (volts.total_mv() / cells) as f64;
    let full_mv = build.limits().full_mv as f64;
    let rate_c = current_ma as f64 / build.capacity_mah.max(1) as f64;
    let charge = charge_at(curve, cell_mv);
    let doubt = if cell_mv >= 4_000.0 {
        DOUBT_HIGH
    } else {
        DOUBT_MIDDLE
    };
    let minutes = |charge: f64, ohm_ah: f64| {
        minutes(curve, charge.clamp(0.0, 1.0), full_mv, (rate_c, ohm_ah))
    };
    let least = minutes(charge + doubt, FRESH_OHM_AH);
    let most = minutes(charge - doubt, WORN_OHM_AH) * MAY_TAKE_LONGER;
    let five = |minutes: f64| minutes / 5.0;
    Some(About {
        least_minutes: five(least).floor() as i64 * 5,
        most_minutes: (five(most).ceil() as i64 * 5).max(5),
    })
}

/// 0 to 1.
fn charge_at(curve: &Curve, mv: f64) -> f64 {
    let mut before = (0.0, f64::MIN);
    for (points, volts) in curve {
        if mv <= *volts {
            let part = if before.1 == f64::MIN {
                0.0
            } else {
                (mv - before.1) / (volts - before.1)
            };
            let reached: f64 = before.0 + part * (points - before.0);
            return if before.1 == f64::MIN {
                points / 100.0
            } else {
                reached / 100.0
            };
        }
        before = (*points, *volts);
    }
    1.0
}

fn volts_at(curve: &Curve, charge: f64) -> f64 {
    let points = charge * 100.0;
    let after = curve
        .iter()
        .position(|(at, _)| *at >= points)
        .unwrap_or(curve.len() - 1)
        .max(1);
    let ((low, low_mv), (high, high_mv)) = (curve[after - 1], curve[after]);
    low_mv + (high_mv - low_mv) * ((points - low) / (high - low)).clamp(0.0, 1.0)
}

/// `of`: rate in C and resistance in ohm times Ah. Steps of a five hundredth of the charge.
fn minutes(curve: &Curve, from: f64, full_mv: f64, of: (f64, f64)) -> f64 {
    const STEP: f64 = 0.002;
    let (rate_c, ohm_ah) = of;
    // On one grid wherever it starts, so that a fuller pack never takes longer.
    let (mut charge, mut hours) = (from, 0.0);
    while charge < 1.0 {
        let next = ((charge / STEP + 1e-6).floor() + 1.0) * STEP;
        let held_by_volts = (full_mv - volts_at(curve, next - STEP)) / 1_000.0 / ohm_ah;
        let current = rate_c.min(held_by_volts);
        if current <= ENDS_AT_C.min(rate_c / 2.0) {
            break;
        }
        hours += (next - charge) / current;
        charge = next;
    }
    hours * 60.0
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::battery::limits::LabelVolts;
    use proptest::prelude::*;

    fn pack(chemistry: Chemistry, cells_series: i64, capacity_mah: i64) -> Build {
        Build {
            chemistry,
            cells_series,
            groups_parallel: 1,
            capacity_mah,
            sees_cells: true,
            label: LabelVolts::default(),
        }
    }

    #[test]
    fn a_pack_is_charged_at_the_clubs_rate_and_never_above_its_label() {
        assert_eq!(rate_c_tenths(10, None), 10);
        assert_eq!(
            rate_c_tenths(10, Some(50)),
            10,
            "a label that allows more changes nothing"
        );
        assert_eq!(rate_c_tenths(10, Some(5)), 5);
    }

    #[test]
    fn a_current_is_rounded_down_to_what_a_charger_can_be_set_to() {
        for (mah, tenths, ma) in [
            (450, 10, 400),
            (2_200, 10, 2_200),
            (180, 10, 180),
            (95, 10, 90),
            (2_550, 5, 1_200),
            (8, 10, 8),
        ] {
            assert_eq!(
                current_ma(mah, tenths),
                ma,
                "{mah} mAh at {tenths} tenths of C"
            );
        }
    }

    /// PyBaMM 26.10.1.1, Doyle-Fuller-Newman, 25 °C, to 4.2 V and 0.05C. Parameters: Ai et al. 2020, J. Electrochem. Soc.
    /// 167, 013512, with electrodes three and six times thinner, which makes an energy cell nearly a hobby pack's (35 and
    /// 17 milliohm Ah). C of the nominal 2.28 Ah. Columns: resting mV, C, minutes.
    const THIN_CELLS: [(i64, i64, f64); 6] = [
        (3_500, 10, 65.97),
        (3_700, 10, 55.16),
        (3_800, 10, 34.93),
        (3_500, 10, 63.82),
        (3_700, 10, 53.0),
        (3_800, 10, 32.78),
    ];

    #[test]
    fn the_minutes_of_a_physical_model_of_such_cells_lie_in_the_band() {
        for (mv, tenths, minutes) in THIN_CELLS {
            let build = pack(Chemistry::LiPo, 1, 2_280);
            let told = about(&build, &Volts::Cells(vec![mv]), 2_280 * tenths / 10).expect("a time");
            let band = told.least_minutes as f64..=told.most_minutes as f64;
            assert!(
                band.contains(&minutes),
                "{mv} mV: {minutes} is not in {band:?}"
            );
            assert!(
                told.most_minutes - told.least_minutes <= 35,
                "{told:?} tells too little"
            );
        }
    }

    /// The energy cell itself, whose own curve and resistance (104 milliohm Ah in ten seconds, 1.7 times that with its
    /// slow part) are put in: then the way of counting alone is compared. Same source; charge taken in per nominal Ah.
    #[test]
    fn with_a_cells_own_curve_and_resistance_the_time_is_that_of_the_physical_model() {
        const AI: &Curve = &[
            (0.0, 3_000.0),
            (4.0, 3_489.0),
            (8.0, 3_625.0),
            (12.0, 3_648.0),
            (16.0, 3_673.0),
            (20.0, 3_695.0),
            (24.0, 3_714.0),
            (28.0, 3_726.0),
            (32.0, 3_739.0),
            (36.0, 3_751.0),
            (40.0, 3_762.0),
            (44.0, 3_773.0),
            (48.0, 3_786.0),
            (52.0, 3_800.0),
            (56.0, 3_817.0),
            (60.0, 3_837.0),
            (64.0, 3_861.0),
            (68.0, 3_891.0),
            (72.0, 3_927.0),
            (76.0, 3_960.0),
            (80.0, 3_995.0),
            (84.0, 4_032.0),
            (88.0, 4_069.0),
            (92.0, 4_108.0),
            (96.0, 4_149.0),
            (100.0, 4_200.0),
        ];
        // The cell holds 2.466 Ah, its label says 2.28: rates and resistance by what it holds.
        let held = 2.466 / 2.28;
        for (mv, rate_c, minutes_there) in [
            (3_500.0, 0.5, 136.84),
            (3_700.0, 0.5, 115.13),
            (3_850.0, 0.5, 61.03),
            (3_500.0, 1.0, 82.99),
            (3_700.0, 1.0, 71.98),
            (3_850.0, 1.0, 43.85),
        ] {
            let told = minutes(
                AI,
                charge_at(AI, mv),
                4_200.0,
                (rate_c / held, 0.104 * 1.7 * held),
            );
            let off = (told - minutes_there).abs() / minutes_there;
            assert!(
                off < 0.10,
                "{mv} mV at {rate_c}C: {told:.1} minutes, there {minutes_there}"
            );
        }
    }

    #[test]
    fn where_volts_do_not_tell_the_charge_no_time_is_told() {
        for chemistry in [Chemistry::LiFePo4, Chemistry::NiMh, Chemistry::Pb] {
            assert_eq!(
                about(&pack(chemistry, 1, 2_000), &Volts::Pack(1_300), 1_000),
                None
            );
        }
    }

    proptest! {
        #[test]
        fn a_fuller_pack_and_a_larger_current_never_take_longer(
            mv in 3_300_i64..4_180, more in 0_i64..200, rate in 1_i64..20, faster in 0_i64..10,
        ) {
            let build = pack(Chemistry::LiPo, 3, 1_000);
            let told = |cell: i64, tenths: i64| about(&build, &Volts::Cells(vec![cell; 3]), tenths * 100).expect("a time");
            let (first, fuller, quicker) = (told(mv, rate), told((mv + more).min(4_200), rate), told(mv, rate + faster));
            // Across 4.00 V the doubt shrinks, which may lengthen the least by what it shrank.
            if mv >= 4_000 || mv + more < 4_000 {
                prop_assert!(fuller.least_minutes <= first.least_minutes);
            }
            prop_assert!(fuller.most_minutes <= first.most_minutes);
            prop_assert!(quicker.least_minutes <= first.least_minutes && quicker.most_minutes <= first.most_minutes);
            prop_assert!(first.least_minutes <= first.most_minutes);
        }

        #[test]
        fn nothing_on_record_stops_it(mv in 0_i64..1_000_000, cells in 1_i64..15, mah in 1_i64..200_000, ma in 1_i64..400_000) {
            let told = about(&pack(Chemistry::LiHv, cells, mah), &Volts::Pack(mv), ma);
            prop_assert!(told.is_some());
        }
    }
}

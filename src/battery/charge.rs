//! The current to charge a pack with in ordinary use, and about how long that takes. A charge is held at its current until
//! the cell meets its full voltage, then at that voltage until the current has fallen to 0.05C: constant current, constant
//! voltage (Battery University BU-409). Leaves chargers and supplies, which may give less, to the bench.

use super::chemistry::Chemistry;
use super::course::{Rested, up, up_balanced};
use super::curve::StateOfCharge;

/// People are told fives of minutes.
const FIVE: i64 = 5;

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
    settable_ma(capacity_mah.saturating_mul(rate_c_tenths) / 10)
}

/// The same from a current.
pub const fn settable_ma(exact: i64) -> i64 {
    let step = if exact < 200 { 10 } else { 100 };
    if exact < step {
        exact
    } else {
        exact / step * step
    }
}

/// To full at such a current, as a charge card tells it: with the time for balancing in it, in fives of minutes. None where volts do
/// not tell the charge: nickel, lead, LiFePO4, whose curve is flat, and a pack just used.
pub fn about(pack: &Rested, current_ma: i64) -> Option<About> {
    let chemistry = pack.build.chemistry;
    if !matches!(
        chemistry,
        Chemistry::LiPo | Chemistry::LiHv | Chemistry::LiIon
    ) {
        return None;
    }
    let cell_v = pack.volts.total_mv() as f64 / pack.build.cells_series.max(1) as f64 / 1_000.0;
    StateOfCharge::after_rest((chemistry, cell_v), None, pack.rested_minutes)?;
    let full_mv = pack.build.limits().full_mv;
    let course = up(pack, current_ma, full_mv)?;
    let course = up_balanced(pack, course, current_ma, full_mv)?;
    Some(About {
        least_minutes: course.least_minutes / FIVE * FIVE,
        most_minutes: (course.most_minutes + FIVE - 1) / FIVE * FIVE,
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::battery::limits::LabelVolts;
    use crate::battery::pack::Build;
    use crate::battery::volts::Volts;
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

    fn about(
        build: &Build,
        (volts, rested_minutes): (&Volts, i64),
        current_ma: i64,
    ) -> Option<About> {
        super::about(&rested(build, volts, rested_minutes), current_ma)
    }

    fn rested<'p>(build: &'p Build, volts: &'p Volts, rested_minutes: i64) -> Rested<'p> {
        Rested {
            build,
            volts,
            rested_minutes,
            resistance_ohm: None,
            celsius: 25,
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
            let told =
                about(&build, (&Volts::Cells(vec![mv]), 60), 2_280 * tenths / 10).expect("a time");
            let band = told.least_minutes as f64..=told.most_minutes as f64;
            assert!(
                band.contains(&minutes),
                "{mv} mV: {minutes} is not in {band:?}"
            );
            // Of cells that stand alike the least time that balancing is reckoned with is in it; the rest is doubt.
            let balancing = 10;
            assert!(
                told.most_minutes - balancing - told.least_minutes <= 35,
                "{told:?} tells too little"
            );
        }
    }

    #[test]
    fn a_pack_that_rested_a_quarter_of_an_hour_is_told_less_surely_and_one_just_used_not_at_all() {
        let build = pack(Chemistry::LiPo, 3, 1_000);
        let mut wider = 0;
        for mv in (3_600..4_100).step_by(20) {
            let volts = Volts::Cells(vec![mv; 3]);
            let told = |minutes| about(&build, (&volts, minutes), 1_000);
            let (hour, quarter) = (told(60).expect("a time"), told(15).expect("a time"));
            assert_eq!(told(59), Some(quarter));
            assert!(
                quarter.most_minutes >= hour.most_minutes,
                "{mv}: {quarter:?}"
            );
            assert!(
                quarter.least_minutes <= hour.least_minutes,
                "{mv}: {quarter:?}"
            );
            wider += i64::from(quarter != hour);
            assert_eq!([14, 0].map(told), [None; 2]);
        }
        assert!(
            wider >= 5,
            "{wider} of 25; fives of minutes hide the others"
        );
    }

    #[test]
    fn where_volts_do_not_tell_the_charge_no_time_is_told() {
        for chemistry in [Chemistry::LiFePo4, Chemistry::NiMh, Chemistry::Pb] {
            assert_eq!(
                about(&pack(chemistry, 1, 2_000), (&Volts::Pack(1_300), 60), 1_000),
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
            let told = |cell: i64, tenths: i64| about(&build, (&Volts::Cells(vec![cell; 3]), 60), tenths * 100).expect("a time");
            let (first, fuller, quicker) = (told(mv, rate), told((mv + more).min(4_200), rate), told(mv, rate + faster));
            // Where the doubt shrinks with more volts, the ends may come nearer by what it shrank; and by a step of five.
            prop_assert!(fuller.least_minutes <= first.least_minutes + 10);
            prop_assert!(fuller.most_minutes <= first.most_minutes + 5);
            prop_assert!(quicker.least_minutes <= first.least_minutes + 5 && quicker.most_minutes <= first.most_minutes + 5);
            prop_assert!(first.least_minutes <= first.most_minutes);
        }

        #[test]
        fn nothing_on_record_stops_it(mv in 0_i64..1_000_000, cells in 1_i64..15, mah in 1_i64..200_000, ma in 1_i64..400_000) {
            let told = about(&pack(Chemistry::LiHv, cells, mah), (&Volts::Pack(mv), 60), ma);
            // A trickle into a large pack may not end in forty days.
            prop_assert!(told.is_some_and(|told| told.least_minutes <= told.most_minutes) || ma * 500 < mah);
        }
    }
}

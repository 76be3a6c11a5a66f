//! That a club can only tighten, that each limit is read as it is written, and that no setting loosens a hard stop.

use super::*;
use crate::battery::limits::LabelVolts;
use crate::bench::typed::Words;
use proptest::prelude::*;

#[test]
fn the_start_is_the_loosest_a_club_can_have() {
    let mut start = ClubLimits::default();
    assert_eq!(start.tightened(), start);
    // The one that counts upwards from nothing, the rest time, the coldest charge and what is left are loosest at their low end.
    let loosest_low = [
        "rest_minutes",
        "above_minimum_mv",
        "charge_from_celsius",
        "capacity_practice_percent",
        "capacity_aside_percent",
    ];
    for limit in &LIMITS {
        let loosest = if loosest_low.contains(&limit.code) {
            limit.lowest
        } else {
            limit.highest
        };
        assert_eq!(*(limit.of)(&mut start), loosest, "{}", limit.code);
        assert!(limit.lowest < limit.highest);
    }
}

#[test]
fn in_fahrenheit_no_limit_reaches_further_than_in_celsius() {
    assert_eq!(fahrenheit_within(0, 45), (32, 113));
    assert_eq!(fahrenheit_within(1, 44), (34, 111), "33.8 and 111.2 °F");
    assert_eq!(
        fahrenheit_within(-1, -1),
        (31, 30),
        "30.2 °F has no whole degree"
    );
}

#[test]
fn every_limit_is_stored_and_read_again_and_nonsense_is_refused() {
    for limit in &LIMITS {
        let mut kept = ClubLimits::default();
        let tight = if *(limit.of)(&mut kept) == limit.lowest {
            limit.highest
        } else {
            limit.lowest
        };
        *(limit.of)(&mut kept) = tight;
        let text = kept.to_text();
        assert!(text.contains(limit.code), "{text}");
        assert_eq!(ClubLimits::try_from(text).expect("readable"), kept);
    }
    assert_eq!(
        ClubLimits::try_from("{}".to_owned()).expect("readable"),
        ClubLimits::default()
    );
    assert!(ClubLimits::try_from("none".to_owned()).is_err());
}

#[test]
fn each_limit_is_written_and_read_as_a_person_does() {
    for limit in &LIMITS {
        for value in [limit.lowest, limit.highest] {
            for numbers in [Words::POINT, Words::COMMA] {
                assert_eq!(
                    limit.typed(&limit.words(value, numbers)),
                    Ok(value),
                    "{}",
                    limit.code
                );
            }
        }
        assert!(limit.typed("half").is_err());
    }
    let lipo = LIMITS
        .iter()
        .find(|limit| limit.code == "charge_lipo_c_tenths")
        .expect("a limit");
    assert_eq!(
        (lipo.words(5, Words::COMMA).as_str(), lipo.typed("0.7")),
        ("0,5", Ok(7))
    );
}

#[test]
fn a_club_charges_gentler_than_usual_and_each_chemistry_at_its_own_rate() {
    let mut limits = ClubLimits::default();
    for chemistry in Chemistry::ALL {
        assert_eq!(
            limits.charge_c_tenths(chemistry),
            chemistry.default_charge_c_tenths()
        );
    }
    limits.charge_lihv_c_tenths = 5;
    assert_eq!(
        [Chemistry::LiPo, Chemistry::LiHv].map(|each| limits.charge_c_tenths(each)),
        [10, 5]
    );
}

/// 2C: the club cap in section 0 of the trade's facts.
#[test]
fn a_club_says_for_each_chemistry_how_hard_it_may_be_charged_in_haste() {
    let mut limits = ClubLimits::default();
    let most = |limits: &ClubLimits| Chemistry::ALL.map(|each| limits.charge_most_c_tenths(each));
    assert_eq!(most(&limits), [20, 20, 10, 20, 10, 3]);
    limits.charge_lipo_most_c_tenths = 15;
    limits.charge_nimh_most_c_tenths = 7;
    assert_eq!(most(&limits), [15, 20, 10, 20, 7, 3]);
    limits.charge_nimh_most_c_tenths = 1;
    assert_eq!(
        most(&limits.tightened()),
        [15, 20, 10, 20, 5, 3],
        "never slower than usual"
    );
}

#[test]
fn a_club_that_never_chose_how_hard_in_haste_has_the_start() {
    let older = r#"{"reading_days":60,"charge_lipo_c_tenths":5}"#;
    let kept = ClubLimits::try_from(older.to_owned()).expect("readable");
    assert_eq!(kept.charge_c_tenths(Chemistry::LiPo), 5);
    assert_eq!(kept.charge_most_c_tenths(Chemistry::LiPo), 20);
}

#[test]
fn what_readings_tell_together_is_held_against_tighter_limits_and_no_looser_ones() {
    let loose = ClubLimits {
        resistance_practice_percent: 160,
        resistance_aside_percent: 300,
        resistance_apart_percent: 200,
        capacity_practice_percent: 70,
        capacity_aside_percent: 50,
        loss_percent_a_month: 20,
        imbalance_percent: 50,
        ..ClubLimits::default()
    };
    assert_eq!(loose.tightened(), ClubLimits::default());
    let tight = ClubLimits {
        resistance_practice_percent: 120,
        resistance_aside_percent: 150,
        resistance_apart_percent: 130,
        capacity_practice_percent: 90,
        capacity_aside_percent: 70,
        loss_percent_a_month: 3,
        imbalance_percent: 5,
        ..ClubLimits::default()
    };
    assert_eq!(tight.tightened(), tight);
    let crossed = ClubLimits {
        resistance_practice_percent: 140,
        resistance_aside_percent: 130,
        ..tight
    };
    assert_eq!(crossed.tightened().resistance_aside_percent, 140);
}

proptest! {
    #[test]
    fn no_setting_loosens_a_hard_stop(values in proptest::array::uniform26(-10_000_i64..10_000)) {
        let mut limits = ClubLimits::default();
        for (limit, value) in LIMITS.iter().zip(values) {
            *(limit.of)(&mut limits) = value;
        }
        let kept = limits.tightened();
        prop_assert_eq!(kept.tightened(), kept);
        prop_assert!(kept.spread_watch_mv <= kept.spread_wide_mv);
        prop_assert!(kept.resistance_practice_percent <= kept.resistance_aside_percent);
        prop_assert!(kept.capacity_aside_percent <= kept.capacity_practice_percent);
        prop_assert!(kept.charge_from_celsius >= 0 && kept.charge_to_celsius <= 45);
        prop_assert!(kept.charge_from_celsius < kept.charge_to_celsius);
        for chemistry in Chemistry::ALL {
            let build = Build { chemistry, cells_series: 3, groups_parallel: 1, capacity_mah: 1_000, sees_cells: true, label: LabelVolts::default() };
            let (hard, own) = (*chemistry.limits(), kept.of_cell(&build));
            prop_assert!(own.minimum_mv >= hard.minimum_mv && own.over_full_mv <= hard.over_full_mv);
            prop_assert!(own.minimum_mv <= own.empty_mv && own.empty_mv < own.full_mv, "{:?} {:?}", chemistry, own);
            let rate = kept.charge_c_tenths(chemistry);
            prop_assert!(rate >= 1 && rate <= chemistry.default_charge_c_tenths());
            let most = kept.charge_most_c_tenths(chemistry);
            prop_assert!(most >= rate && most <= chemistry.most_charge_c_tenths());
            prop_assert!(own.over_full_mv > own.full_mv && own.over_full_warn_mv <= own.over_full_mv);
        }
    }
}

//! The table's starting figures beside their sources, and that no club makes it kinder to the fuller or warmer.

use super::*;
use proptest::prelude::*;

#[test]
fn a_full_pack_in_a_room_has_three_days_and_a_week() {
    // 'Harm possible after a week full', an RC vendor's storage note.
    assert_eq!(StorageTable::default().of(98.0, 20), wait(3, 7));
    assert_eq!(StorageTable::default().of(90.0, 25), wait(3, 7));
}

#[test]
fn no_pack_above_its_band_has_more_than_a_fortnight() {
    // 'Not used for more than 14 days', a University of Maryland flight lab.
    let table = StorageTable::default();
    let all = table.rows.iter().flatten();
    assert_eq!(all.map(|wait| wait.limit_days).max(), Some(14));
    let long = StorageTable {
        rows: [[wait(90, 90); 4]; 3],
    };
    assert_eq!(long.tightened().rows, [[wait(14, 14); 4]; 3]);
}

#[test]
fn rows_and_columns_begin_where_they_say() {
    let table = StorageTable::default();
    assert_eq!(table.of(69.9, 15), table.rows[0][0]);
    assert_eq!(table.of(70.0, 16), table.rows[1][1]);
    assert_eq!(table.of(89.9, 26), table.rows[1][2]);
    assert_eq!(table.of(90.0, 36), table.rows[2][3]);
    assert_eq!(table.of(-5.0, -40), table.rows[0][0]);
}

#[test]
fn the_start_is_within_what_may_be_set_and_what_is_looser_is_not() {
    let start = CareRules::default();
    assert_eq!(start.tightened(), start);
    let loose = CareRules {
        recheck_days: 400,
        recheck_presses_days: 900,
        fall_days: 0,
        back_days: 60,
        lead_days: 999,
        quartermaster_days: 50,
        organiser_days: 2,
        own_care_days: 99,
        ..start
    };
    // Every 3 months: a battery maker's storage note; lead every 6: a page reproducing BU-403.
    let held = loose.tightened();
    assert_eq!(
        (held.recheck_days, held.recheck_presses_days, held.lead_days),
        (90, 120, 180)
    );
    assert_eq!((held.fall_days, held.back_days), (7, 7));
    assert_eq!(
        (
            held.quartermaster_days,
            held.organiser_days,
            held.own_care_days
        ),
        (30, 30, 30)
    );
}

#[test]
fn rules_are_stored_and_what_is_missing_is_as_it_starts() {
    let own = CareRules {
        own_care: OwnCare::Warn,
        back_days: 2,
        ..CareRules::default()
    };
    let text = serde_json::to_string(&own).expect("text");
    assert_eq!(
        serde_json::from_str::<CareRules>(&text).expect("rules"),
        own
    );
    assert_eq!(
        serde_json::from_str::<CareRules>("{}").expect("rules"),
        CareRules::default()
    );
    for each in OwnCare::ALL {
        assert_eq!(OwnCare::from_code(each.code()), Some(each));
        assert!(
            serde_json::to_string(&each)
                .expect("text")
                .contains(each.code())
        );
    }
}

fn tables() -> impl Strategy<Value = StorageTable> {
    let waits = (-3_i64..40, -3_i64..40).prop_map(|(remind, limit)| wait(remind, limit));
    prop::array::uniform3(prop::array::uniform4(waits)).prop_map(|rows| StorageTable { rows })
}

proptest! {
    #[test]
    fn whatever_was_typed_the_fuller_and_the_warmer_has_no_more_days(
        table in tables(), percent in 0.0_f64..100.0, more in 0.0_f64..60.0, celsius in -10_i64..60, warmer in 0_i64..40,
    ) {
        let table = table.tightened();
        let (one, worse) = (table.of(percent, celsius), table.of(percent + more, celsius + warmer));
        prop_assert!(worse.remind_days <= one.remind_days && worse.limit_days <= one.limit_days);
        prop_assert!(1 <= one.remind_days && one.remind_days <= one.limit_days && one.limit_days <= 14);
        prop_assert_eq!(table.tightened(), table);
    }
}

//! What full days have cost, held against the published tables that `battery::ageing` names; and that it only grows.

use super::*;
use proptest::prelude::*;

fn lies(percent: i64, celsius: i64, days: f64) -> Cost {
    let stretch = Stretch {
        percent,
        celsius,
        days,
    };
    cost(Chemistry::LiPo, &[stretch]).expect("a cost")
}

#[test]
fn a_year_full_and_a_year_stored_cost_what_the_handbooks_table_says() {
    // Battery-education site, after a year: lost at 40 % and at 100 % charge.
    for (celsius, stored, full) in [(0, 2.0, 6.0), (25, 4.0, 20.0), (40, 15.0, 35.0)] {
        let told = lies(100, celsius, 365.0);
        assert!(told.above.handbook.contains(full), "{celsius}: {told:?}");
        assert!(
            told.in_band.handbook.contains(stored),
            "{celsius}: {told:?}"
        );
        assert!(!told.in_band.handbook.contains(full), "{celsius}: {told:?}");
    }
}

#[test]
fn in_the_heat_a_quarter_of_a_year_full_costs_what_the_table_says_too() {
    // The same table at 60 °C: 25 % lost after a year at 40 % charge, 40 % after three months full.
    let full = lies(100, 60, 91.2);
    assert!(full.above.handbook.contains(40.0), "{full:?}");
    let year = lies(100, 60, 365.0);
    assert!(year.in_band.handbook.contains(25.0), "{year:?}");
    // A hobby bench test: five percent after thirty days full, at room temperature.
    let month = lies(100, 25, 30.0);
    assert!(month.above.handbook.contains(5.0), "{month:?}");
}

/// BLAST-Lite 1.1.1 (NREL) and O'Kane et al. 2022 in PyBaMM; `#` lines say more.
#[test]
fn each_laboratory_cell_that_lay_full_is_covered_and_said_to_be_of_a_laboratory() {
    let table = include_str!("../../../tests/reference/ageing.csv");
    let (mut counted, mut in_band) = (0, 0);
    for line in table.lines().filter(|line| !line.starts_with('#')).skip(1) {
        let row: Vec<&str> = line.split(',').collect();
        let number = |at: usize| row[at].parse::<f64>().expect("a number");
        let (celsius, charge, months, lost) = (number(3), number(4), number(5), number(6));
        let chemistry = if row[1].starts_with("LFP") {
            Chemistry::LiFePo4
        } else {
            Chemistry::LiPo
        };
        let stretch = Stretch {
            percent: (charge * 100.0).round() as i64,
            celsius: celsius as i64,
            days: months * 30.4,
        };
        let told = cost(chemistry, &[stretch]).expect("a cost");
        assert!(told.above.laboratory.contains(lost), "{line}: {told:?}");
        // What the same days cost in the band is told for half charge.
        if row[4] == "0.5" {
            assert!(told.in_band.laboratory.contains(lost), "{line}: {told:?}");
            in_band += 1;
        }
        counted += 1;
    }
    assert_eq!((counted, in_band), (864, 216));
}

#[test]
fn each_source_is_named_beside_its_own_range() {
    let [handbook, laboratory] = lies(98, 20, 30.0).words();
    assert!(
        handbook.starts_with("By a battery-education site's table, 30 days above its band cost "),
        "{handbook}"
    );
    assert!(
        laboratory.starts_with("By laboratory cells, none of them a hobby pack's, 30 days"),
        "{laboratory}"
    );
    assert_ne!(
        handbook.split("cost").nth(1),
        laboratory.split("cost").nth(1)
    );
}

#[test]
fn days_alike_are_one_stretch_and_others_come_on_top() {
    let day = |percent, celsius| Stretch {
        percent,
        celsius,
        days: 1.0,
    };
    let thirty: Vec<Stretch> = (0..30).map(|_| day(98, 20)).collect();
    assert_eq!(cost(Chemistry::LiPo, &thirty), Some(lies(98, 20, 30.0)));
    let mixed = [
        thirty,
        vec![Stretch {
            days: 10.0,
            ..day(98, 35)
        }],
    ]
    .concat();
    let (mixed, warm) = (
        cost(Chemistry::LiPo, &mixed).expect("a cost"),
        lies(98, 35, 40.0),
    );
    for (mixed, cool, warm) in [
        (
            mixed.above.handbook,
            lies(98, 20, 40.0).above.handbook,
            warm.above.handbook,
        ),
        (
            mixed.above.laboratory,
            lies(98, 20, 40.0).above.laboratory,
            warm.above.laboratory,
        ),
    ] {
        assert!(
            cool.likely < mixed.likely && mixed.likely < warm.likely,
            "{mixed:?}"
        );
        assert!(mixed.least <= warm.least && mixed.most >= cool.most);
    }
}

#[test]
fn two_months_nearly_alike_may_cost_as_little_as_two_alike() {
    // Loss goes with the 0.34th to 0.74th power of time in laboratory cells (BLAST-Lite 1.1.1): a second month costs less.
    let month = |percent| Stretch {
        percent,
        celsius: 20,
        days: 30.4,
    };
    let told = cost(Chemistry::LiPo, &[month(98), month(97)]).expect("a cost");
    let alike = lies(98, 20, 60.8);
    assert!(told.above.laboratory.least <= alike.above.laboratory.least);
    assert!(told.above.laboratory.most >= alike.above.laboratory.most);
    assert!(told.above.handbook.most >= alike.above.handbook.most);
}

#[test]
fn nickel_and_lead_and_what_never_lay_above_have_no_cost() {
    let full = [Stretch {
        percent: 100,
        celsius: 20,
        days: 90.0,
    }];
    assert_eq!(cost(Chemistry::Pb, &full), None);
    assert_eq!(cost(Chemistry::NiMh, &full), None);
    assert_eq!(cost(Chemistry::LiPo, &[]), None);
    assert_eq!(
        cost(
            Chemistry::LiPo,
            &[Stretch {
                days: 0.0,
                ..full[0]
            }]
        ),
        None
    );
}

fn stretches() -> impl Strategy<Value = Vec<Stretch>> {
    let one =
        (70_i64..=100, 0_i64..45, 1.0_f64..60.0).prop_map(|(percent, celsius, days)| Stretch {
            percent,
            celsius,
            days,
        });
    prop::collection::vec(one, 1..8)
}

proptest! {
    #[test]
    fn more_days_fuller_and_warmer_never_cost_less(
        stretches in stretches(), more in 0.0_f64..50.0, fuller in 0_i64..30, warmer in 0_i64..15,
    ) {
        let told = cost(Chemistry::LiPo, &stretches).expect("a cost");
        let mut worse = stretches.clone();
        for one in &mut worse {
            one.percent = (one.percent + fuller).min(100);
            one.celsius += warmer;
        }
        worse[0].days += more;
        let worse = cost(Chemistry::LiPo, &worse).expect("a cost");
        for (told, worse) in [
            (told.above.handbook, worse.above.handbook),
            (told.above.laboratory, worse.above.laboratory),
        ] {
            prop_assert!(told.least <= told.likely && told.likely <= told.most && told.most <= 100.0);
            prop_assert!(worse.least >= told.least - 1e-9, "{told:?} {worse:?}");
            prop_assert!(worse.likely >= told.likely - 1e-9, "{told:?} {worse:?}");
        }
        prop_assert!(told.in_band.handbook.likely <= told.above.handbook.likely);
        prop_assert!(told.in_band.laboratory.likely <= told.above.laboratory.likely);
    }
}

#[test]
fn no_days_cost_nothing_and_two_counts_that_differ_say_why() {
    let above = |days| {
        [Stretch {
            percent: 99,
            celsius: 20,
            days,
        }]
    };
    assert_eq!(cost(Chemistry::LiPo, &above(0.9)), None);
    let of_days = cost(Chemistry::LiPo, &above(5.7)).expect("days");
    assert!(of_days.words()[0].contains("5 days above its band cost"));
    assert_eq!(counted_words(Some(5), Some(&of_days)), None);
    assert_eq!(counted_words(None, Some(&of_days)), None);
    assert_eq!(counted_words(Some(0), None), None);
    for (above_days, counted) in [(12, Some(&of_days)), (12, None)] {
        let words = counted_words(Some(above_days), counted).expect("they differ");
        assert!(
            words.contains("Days on which it was out are not"),
            "{words}"
        );
    }
}

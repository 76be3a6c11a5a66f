//! Sentences about the trade, proven; leaves nothing to others.

use super::super::volts::{Volts, words};
use super::*;
use proptest::prelude::*;

fn cells(list: &[i64]) -> Result<Volts, VoltsProblem> {
    Ok(Volts::Cells(list.to_vec()))
}

#[test]
fn three_cells_are_read_however_they_are_typed() {
    let ways = [
        "391387390",
        "391038703900",
        "3.91 3.87 3.90",
        "3,91/3,87/3,90",
        "3,91 3,87 3,90",
        "3,91, 3,87, 3,90",
        "3.91, 3.87, 3.90",
        "3.91,3.87,3.90",
        "3.91;3.87;3.9",
        "3,91;3,87;3,9",
        "3.91\t3.87\t3.90",
        "3910 3870 3900 mV",
        "3910,3870,3900 mV",
        "3910mV 3870mV 3900mV",
        "391 387 390",
        "391,387,390",
        "3.91V, 3.87V, 3.90V",
        "3,91 V 3,87 V 3,90 V",
        "  3.910 / 3.870 / 3.900 v ",
        "3.91 | 3.87 | 39",
    ];
    for way in ways {
        assert_eq!(
            read_typed(way, 3, true),
            cells(&[3910, 3870, 3900]),
            "{way}"
        );
    }
}

#[test]
fn one_voltage_for_a_pack_without_balance_lead_needs_no_point_where_only_one_reading_is_possible() {
    let ways = [
        ("7.92", 2, 7920),
        ("7,92 V", 2, 7920),
        ("7,92", 2, 7920),
        ("7920 mV", 2, 7920),
        ("7920", 2, 7920),
        ("792", 2, 7920),
        ("12.6", 3, 12_600),
        ("12,6", 3, 12_600),
        ("126", 3, 12_600),
        ("1260", 3, 12_600),
        ("12", 3, 12_000),
        ("12 V", 6, 12_000),
        ("84", 7, 8_400),
        ("0", 2, 0),
    ];
    for (way, in_series, mv) in ways {
        assert_eq!(
            read_typed(way, in_series, false),
            Ok(Volts::Pack(mv)),
            "{way}"
        );
    }
    let refused = read_typed("5", 7, false).expect_err("0.7 V a cell without a point");
    assert_eq!(
        refused.to_string(),
        "'5' needs its decimal point, like 7.92."
    );
}

#[test]
fn a_wrong_number_of_cells_is_read_and_left_to_the_verdict() {
    assert_eq!(
        read_typed("3.91 3.87 3.90", 2, true),
        cells(&[3910, 3870, 3900])
    );
    assert_eq!(read_typed("391387390", 2, true), cells(&[3910, 3870, 3900]));
    assert_eq!(read_typed("39.1 3.87", 2, true), cells(&[39_100, 3870]));
    assert_eq!(read_typed("0.00 3.87", 2, true), cells(&[0, 3870]));
    assert_eq!(read_typed("000387", 2, true), cells(&[0, 3870]));
}

#[test]
fn a_lone_digit_that_no_cell_shows_lacks_its_decimals() {
    let refused = read_typed("3.8 5 3.8", 3, true).expect_err("5 V a cell");
    assert_eq!(refused.to_string(), "'5' needs its decimals, like 3.92.");
    let boxes = ["3.8", "9"].map(str::to_owned);
    assert!(matches!(
        read_boxes(&boxes),
        Err(VoltsProblem::NoDecimals { .. })
    ));
    assert_eq!(read_typed("4 0 3", 3, true), cells(&[4_000, 0, 3_000]));
    assert_eq!(read_typed("5.0 3.9", 2, true), cells(&[5_000, 3_900]));
}

#[test]
fn twelve_digits_are_four_cells_on_a_4s_and_three_on_a_3s() {
    assert_eq!(
        read_typed("391387390388", 4, true),
        cells(&[3910, 3870, 3900, 3880])
    );
    assert_eq!(
        read_typed("391038703900", 3, true),
        cells(&[3910, 3870, 3900])
    );
}

#[test]
fn what_could_be_read_in_two_ways_is_refused_with_a_sentence() {
    let is_comma =
        |text, n, sees| matches!(read_typed(text, n, sees), Err(VoltsProblem::Comma { .. }));
    assert!(is_comma("3,4", 2, true));
    assert!(is_comma("3,9 4,0", 4, true));
    assert!(is_comma("3,91,3,87,3,90", 3, true));
    assert!(is_comma("3.91,3", 2, true));
    assert!(is_comma("3.91 3,87", 2, true));
    let digits = |text, n| matches!(read_typed(text, n, true), Err(VoltsProblem::Digits { .. }));
    assert!(digits("39138", 3));
    assert!(digits("391387390388", 2));
    assert_eq!(
        read_typed("1260", 3, true),
        Err(VoltsProblem::OneForMany { cells: 3 })
    );
    assert_eq!(
        read_typed("3.91 V 3870 mV", 2, true),
        Err(VoltsProblem::TwoUnits)
    );
    assert!(matches!(
        read_typed("3,910 mV", 1, true),
        Err(VoltsProblem::NotMillivolts { .. })
    ));
}

#[test]
fn what_is_no_voltage_is_named_and_nothing_at_all_is_asked_for() {
    for text in ["", "   ", ",", " ; / "] {
        assert_eq!(
            read_typed(text, 3, true),
            Err(VoltsProblem::Nothing),
            "{text:?}"
        );
    }
    for text in [
        "full",
        "-3.91 3.87",
        "3.9.1 3.8",
        "3.91 A",
        "3.91 ?",
        ".91 .87",
        "39100 3.87",
        "3.91234",
    ] {
        assert!(
            matches!(
                read_typed(text, 2, true),
                Err(VoltsProblem::NotVolts { .. })
            ),
            "{text}"
        );
    }
    assert_eq!(
        read_typed(&"3.9 ".repeat(40), 3, true),
        Err(VoltsProblem::TooMany)
    );
}

fn boxes(list: &[&str]) -> Vec<String> {
    list.iter().map(|each| (*each).to_owned()).collect()
}

#[test]
fn one_box_for_each_cell_names_the_box_that_is_empty() {
    assert_eq!(
        read_boxes(&boxes(&["391", "3,87", " 3.90 V"])),
        cells(&[3910, 3870, 3900])
    );
    assert_eq!(
        read_boxes(&boxes(&["391", "", "390"])),
        Err(VoltsProblem::BoxEmpty { cell: 2 })
    );
    assert_eq!(read_boxes(&boxes(&["", " "])), Err(VoltsProblem::Nothing));
    assert_eq!(read_boxes(&[]), Err(VoltsProblem::Nothing));
    assert!(matches!(
        read_boxes(&boxes(&["3.91 3.87"])),
        Err(VoltsProblem::NotVolts { .. })
    ));
}

proptest! {
    #[test]
    fn volts_in_words_are_read_as_the_same_volts(list in prop::collection::vec(0_i64..=9_999, 1..=32)) {
        let volts = Volts::Cells(list.clone());
        prop_assert_eq!(read_typed(&words(&volts), list.len() as i64, true), Ok(volts));
    }

    #[test]
    fn a_pack_voltage_in_words_is_read_as_the_same(mv in 0_i64..=999_999, in_series in -1_i64..40) {
        let volts = Volts::Pack(mv);
        prop_assert_eq!(read_typed(&words(&volts), in_series, false), Ok(volts));
    }

    #[test]
    fn digits_alone_are_read_as_the_cells_they_were_typed_from(list in prop::collection::vec(100_i64..=999, 2..=8)) {
        let typed: String = list.iter().map(i64::to_string).collect();
        let wanted = Volts::Cells(list.iter().map(|hundredths| hundredths * 10).collect());
        prop_assert_eq!(read_typed(&typed, list.len() as i64, true), Ok(wanted));
    }

    #[test]
    fn any_text_is_read_or_refused_and_what_is_read_is_in_range(
        text in ".{0,60}|[0-9.,;/ vVm]{0,60}", in_series in any::<i64>(), sees_cells: bool,
    ) {
        if let Ok(volts) = read_typed(&text, in_series, sees_cells) {
            let stored = volts.to_text();
            prop_assert_eq!(Volts::from_text(&stored), Some(volts));
        }
        let _ = read_boxes(&[text.clone(), text]);
    }
}

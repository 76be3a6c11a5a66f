//! That what is given is answered or refused by the name of its field, and that each schema tells what is read.

use super::*;
use proptest::prelude::*;

fn told(calculation: Calculation, given: Value) -> Value {
    calculation
        .answer(given.to_string().as_bytes())
        .expect("an answer")
}

fn wrong(calculation: Calculation, given: Value) -> Wrong {
    calculation
        .answer(given.to_string().as_bytes())
        .expect_err("a refusal")
}

fn ordinary() -> Value {
    json!({ "chemistry": "lipo", "cells": 3, "capacity_mah": 2200, "current_ma": 2200, "start_cell_v": 3.8 })
}

fn with(mut given: Value, field: &str, value: Value) -> Value {
    given[field] = value;
    given
}

#[test]
fn a_charge_is_told_as_a_range_around_its_likely_minutes() {
    let told = told(Calculation::ChargeTime, ordinary());
    let of = |name: &str| told[name].as_f64().expect("a number");
    assert!(
        of("minutes_low") < of("minutes") && of("minutes") < of("minutes_high"),
        "{told}"
    );
    assert!((of("minutes_first_phase") + of("minutes_cv") - of("minutes")).abs() < 0.02);
    // Half full at 3.80 V, give or take: half of 2,200 mAh at 2.2 A is half an hour and the tail.
    assert!((25.0..45.0).contains(&of("minutes")), "{told}");
    assert!((1_000.0..1_200.0).contains(&of("charge_mah")), "{told}");
}

#[test]
fn null_and_absent_mean_unknown() {
    let mut given = ordinary();
    for field in [
        "stop_cell_v",
        "cutoff_ma",
        "power_limit_w",
        "cell_resistance_mohm",
        "real_capacity_mah",
        "resting_curve",
        "temperature_c",
    ] {
        given[field] = Value::Null;
    }
    assert_eq!(
        told(Calculation::ChargeTime, given),
        told(Calculation::ChargeTime, ordinary())
    );
}

#[test]
fn what_is_wrong_is_named_by_its_field() {
    let cases = [
        ("chemistry", json!("LiPo")),
        ("chemistry", Value::Null),
        ("cells", json!(0)),
        ("cells", json!(2.5)),
        ("cells", json!("3")),
        ("capacity_mah", json!(-1)),
        ("current_ma", json!(0)),
        ("start_cell_v", json!(2.99)),
        ("start_cell_v", json!(4.26)),
        ("stop_cell_v", json!(4.3)),
        ("stop_cell_v", json!(3.79)),
        ("stop_cell_v", json!(3.0)),
        ("cutoff_ma", json!(0)),
        ("power_limit_w", json!(-5)),
        ("cell_resistance_mohm", json!(0)),
        ("cell_resistance_mohm", json!(100_000)),
        ("real_capacity_mah", json!(0)),
        ("resting_curve", json!([[0, 3.0]])),
        ("resting_curve", json!([[0, 3.0], [50, 2.0]])),
        ("temperature_c", json!(-1)),
        ("temperature_c", json!(46)),
        ("celsius", json!(20)),
    ];
    for (field, value) in cases {
        let refusal = wrong(
            Calculation::ChargeTime,
            with(ordinary(), field, value.clone()),
        );
        assert_eq!(refusal.field, field, "{value}: {refusal:?}");
        assert!(!refusal.error.is_empty());
    }
    // Volts that no cell of its chemistry shows.
    for (chemistry, cell_v) in [
        ("lipo", 9.0),
        ("lifepo4", 5.1),
        ("nimh", 2.1),
        ("pb", 12.0),
        ("lipo", -0.1),
    ] {
        let asked = json!({ "chemistry": chemistry, "cell_v": cell_v });
        assert_eq!(
            wrong(Calculation::Soc, asked).field,
            "cell_v",
            "{chemistry} {cell_v}"
        );
    }
    let mut lacking = ordinary();
    lacking
        .as_object_mut()
        .expect("an object")
        .remove("current_ma");
    assert_eq!(wrong(Calculation::ChargeTime, lacking).field, "current_ma");
    let deep = wrong(
        Calculation::ChargeTime,
        with(ordinary(), "resting_curve", json!([[0, 3.0], [50, "x"]])),
    );
    assert!(deep.field.starts_with("resting_curve"), "{deep:?}");
}

#[test]
fn a_charge_ends_at_full_and_not_beyond_it() {
    // 50 mA make 0.37 mV in the 7.3 milliohm of a likely cell, its slow part with it; the curve rises by 15 mV a percent there. So small
    // a current ends where full voltage is met, which is so much before.
    let before_full = 0.05 * 0.014 / 2.2 * 1.15 / 0.015;
    for (given, ends) in [
        (
            with(ordinary(), "current_ma", json!(50)),
            100.0 - before_full,
        ),
        (with(ordinary(), "power_limit_w", json!(1)), 100.0),
    ] {
        let told = told(Calculation::ChargeTime, given);
        let of = |name: &str| told[name].as_f64().expect("a number");
        let told_to_hundredths = (ends * 100.0_f64).round() / 100.0;
        assert_eq!(of("soc_end_percent"), told_to_hundredths, "{told}");
        let moved = (of("soc_end_percent") - of("soc_start_percent")) * 22.0;
        assert!((of("charge_mah") - moved).abs() < 0.5, "{told}");
    }
}

#[test]
fn the_schema_tells_the_bounds_of_what_stands_in_lists_and_choices() {
    let of = |calculation: Calculation| calculation.schema()["properties"].clone();
    let time = of(Calculation::ChargeTime);
    assert_eq!(time["start_cell_v"]["minimum"], json!(0.9));
    assert_eq!(time["stop_cell_v"]["maximum"], json!(4.35));
    let curve = &time["resting_curve"];
    assert_eq!(curve["minItems"], json!(2));
    assert_eq!(
        (
            curve["items"]["minItems"].clone(),
            curve["items"]["maxItems"].clone()
        ),
        (json!(2), json!(2))
    );
    let plan = of(Calculation::ChargePlan);
    let cells = &plan["pack"]["properties"]["cell_volts"];
    assert_eq!(cells["minItems"], json!(1));
    assert_eq!(cells["items"]["maximum"].as_f64(), Some(10.0));
    let purpose = &plan["purpose"]["oneOf"];
    let minutes = &purpose[0]["properties"]["ready_by_minutes"];
    assert_eq!(minutes["minimum"], json!(1));
    assert_eq!(purpose[0]["additionalProperties"], json!(false));
    assert_eq!(purpose[2]["enum"], json!(["storage", "empty"]));
    let verdict = of(Calculation::Verdict);
    let seen = &verdict["seen"]["items"]["enum"];
    assert!(
        seen.as_array()
            .is_some_and(|all| all.contains(&json!("swollen")))
    );
    let reading = &verdict["readings"]["items"]["properties"];
    assert_eq!(
        reading["resistance_mohm"]["items"]["maximum"].as_f64(),
        Some(2_000.0)
    );
}

#[test]
fn a_charge_that_does_not_end_is_named_by_what_keeps_it_from_ending() {
    let weak = with(ordinary(), "power_limit_w", json!(0.01));
    assert_eq!(wrong(Calculation::ChargeTime, weak).field, "power_limit_w");
    let slow = with(ordinary(), "current_ma", json!(1));
    assert_eq!(wrong(Calculation::ChargeTime, slow).field, "current_ma");
}

#[test]
fn what_is_sent_twice_is_refused_and_a_whole_number_may_have_a_point() {
    for (given, field) in [
        (
            r#"{"chemistry":"lipo","cell_v":3.8,"cell_v":3.9}"#,
            "cell_v",
        ),
        (
            r#"{"chemistry":"lipo","cell_v":3.8,"cell_v":3.8}"#,
            "cell_v",
        ),
    ] {
        let refusal = Calculation::Soc
            .answer(given.as_bytes())
            .expect_err("twice");
        assert_eq!(
            (refusal.field.as_str(), refusal.error.as_str()),
            (field, "cell_v is given twice")
        );
    }
    let deep =
        r#"{"pack":{"chemistry":"lipo","cells":3,"cells":4,"capacity_mah":450},"readings":[]}"#;
    let refusal = Calculation::Verdict
        .answer(deep.as_bytes())
        .expect_err("twice");
    assert_eq!(refusal.field, "pack.cells");
    let in_a_list = r#"{"pack":{"chemistry":"lipo","cells":3,"capacity_mah":450},"readings":[{"days_ago":1,"days_ago":2}]}"#;
    let refusal = Calculation::Verdict
        .answer(in_a_list.as_bytes())
        .expect_err("twice");
    assert_eq!(refusal.field, "readings[0].days_ago");
    assert_eq!(
        told(
            Calculation::ChargeTime,
            with(ordinary(), "cells", json!(3.0))
        ),
        told(Calculation::ChargeTime, ordinary())
    );
}

#[test]
fn nobody_is_told_a_programmers_words() {
    let refused = |value: Value, field: &str| {
        let refusal = wrong(Calculation::ChargeTime, with(ordinary(), field, value));
        (refusal.field, refusal.error)
    };
    let said = |field: &str, words: &str| (field.to_owned(), words.to_owned());
    assert_eq!(
        refused(Value::Null, "chemistry"),
        said("chemistry", "a text is wanted, not null")
    );
    assert_eq!(
        refused(json!([[0, 3.0, 1], [100, 4.2]]), "resting_curve"),
        said("resting_curve[0]", "a shorter list is wanted, not one of 3")
    );
    assert_eq!(refused(json!(-1), "cells"), said("cells", "give 1 to 32"));
}

#[test]
fn what_is_no_object_is_told() {
    for given in ["", "{", "[]", "1", "null", "{} {}"] {
        let refusal = Calculation::Soc
            .answer(given.as_bytes())
            .expect_err("a refusal");
        assert_eq!(refusal.field, "", "{given}");
    }
}

#[test]
fn each_calculation_tells_its_schema_and_what_it_asks_for_stands_in_it() {
    let schema = Calculation::ChargeTime.schema();
    let required: Vec<&str> = schema["required"]
        .as_array()
        .expect("a list")
        .iter()
        .filter_map(Value::as_str)
        .collect();
    assert_eq!(
        required,
        [
            "chemistry",
            "cells",
            "capacity_mah",
            "current_ma",
            "start_cell_v"
        ]
    );
    let properties = schema["properties"].as_object().expect("properties");
    assert_eq!(properties.len(), 12);
    assert_eq!(schema["additionalProperties"], json!(false));
    assert_eq!(
        properties["chemistry"]["enum"],
        json!(["lipo", "lihv", "liion", "lifepo4", "nimh", "pb"])
    );
    let answer = told(Calculation::ChargeTime, ordinary());
    let told_of = schema["$defs"]["answer"]["properties"]
        .as_object()
        .expect("properties");
    assert!(
        answer
            .as_object()
            .expect("an object")
            .keys()
            .all(|name| told_of.contains_key(name))
    );
    assert_eq!(told_of.len(), answer.as_object().expect("an object").len());
    assert_eq!(
        Calculation::Soc.schema()["required"],
        json!(["chemistry", "cell_v"])
    );
}

#[test]
fn a_flat_curve_tells_no_percent() {
    let flat = told(
        Calculation::Soc,
        json!({ "chemistry": "lifepo4", "cell_v": 3.28, "temperature_c": 25 }),
    );
    assert_eq!(
        flat,
        json!({ "soc_percent": null, "soc_low_percent": 20.0, "soc_high_percent": 90.0 })
    );
    let half = told(
        Calculation::Soc,
        json!({ "chemistry": "lipo", "cell_v": 3.805 }),
    );
    assert_eq!(half["soc_percent"], json!(50.0));
}

#[test]
fn nickel_tells_at_most_how_long_from_empty() {
    let given = json!({ "chemistry": "nimh", "cells": 6, "capacity_mah": 2000, "current_ma": 1000, "start_cell_v": 1.25 });
    let told = told(Calculation::ChargeTime, given);
    assert_eq!(
        (told["minutes"].clone(), told["minutes_low"].clone()),
        (Value::Null, json!(0.0))
    );
    assert!((150.0..170.0).contains(&told["minutes_high"].as_f64().expect("a number")));
}

#[test]
fn a_cold_cell_and_a_weak_supply_take_longer() {
    let minutes = |given: Value| {
        told(Calculation::ChargeTime, given)["minutes"]
            .as_f64()
            .expect("a number")
    };
    let plain = minutes(ordinary());
    assert!(minutes(with(ordinary(), "temperature_c", json!(5))) > plain);
    assert!(minutes(with(ordinary(), "power_limit_w", json!(10))) > plain * 1.5);
    assert!((minutes(with(ordinary(), "power_limit_w", json!(500))) - plain).abs() < 0.01);
}

#[test]
fn every_chemistry_with_a_curve_is_answered_up_to_its_full_and_so_is_a_curve_that_ends_below_it() {
    let minutes = |given: &Value| {
        let told = told(Calculation::ChargeTime, given.clone());
        (told["minutes"].as_f64(), told["minutes_high"].as_f64())
    };
    for (chemistry, cell_v) in [
        ("lipo", 3.7),
        ("lihv", 3.8),
        ("liion", 3.6),
        ("lifepo4", 3.2),
        ("pb", 2.05),
    ] {
        let given = json!({ "chemistry": chemistry, "cells": 4, "capacity_mah": 2_000, "current_ma": 1_000, "start_cell_v": cell_v });
        let (likely, most) = minutes(&given);
        assert!(
            likely.is_some_and(|likely| likely > 10.0) && most > likely,
            "{chemistry}"
        );
    }
    // Linux kernel, phone-cell data: a table that ends at 4.186 V, under the 4.20 V it is charged to.
    let own = with(
        ordinary(),
        "resting_curve",
        json!([[0, 3.3], [50, 3.8], [100, 4.186]]),
    );
    assert!(minutes(&own).0.is_some_and(|minutes| minutes > 10.0));
}

proptest! {
    #[test]
    fn whatever_is_given_is_answered_or_refused_by_a_field_that_is_there(
        chemistry in prop::sample::select(vec!["lipo", "lihv", "liion", "lifepo4", "nimh", "pb"]),
        cells in 0_u32..40, capacity in -10.0_f64..20_000.0, current in -10.0_f64..20_000.0, start in 0.0_f64..6.0,
        stop in prop::option::of(0.0_f64..6.0), cutoff in prop::option::of(-1.0_f64..2_000.0), watts in prop::option::of(-1.0_f64..500.0),
        mohm in prop::option::of(-1.0_f64..200.0), celsius in prop::option::of(-20.0_f64..60.0),
    ) {
        let given = json!({ "chemistry": chemistry, "cells": cells, "capacity_mah": capacity, "current_ma": current, "start_cell_v": start,
            "stop_cell_v": stop, "cutoff_ma": cutoff, "power_limit_w": watts, "cell_resistance_mohm": mohm, "temperature_c": celsius });
        match Calculation::ChargeTime.answer(given.to_string().as_bytes()) {
            Err(refusal) => prop_assert!(given.get(&refusal.field).is_some(), "{refusal:?}"),
            Ok(told) => {
                let (low, high) = (told["minutes_low"].as_f64().expect("low"), told["minutes_high"].as_f64().expect("high"));
                prop_assert!(low >= 0.0 && low <= high, "{told}");
                if let Some(minutes) = told["minutes"].as_f64() {
                    prop_assert!(low <= minutes && minutes <= high, "{told}");
                }
            }
        }
    }
}

//! That a verdict is told whole, that what is wrong with what was given is named by its field, and that the schema tells what
//! is read and answered.

use crate::calc::asking_tests::{and, answered};
use crate::calc::{Calculation, Verdict, Wrong};
use proptest::prelude::*;
use serde_json::{Value, json};

fn ordinary() -> Value {
    crate::calc::asking_tests::ordinary::<Verdict>()
}

fn told(given: &Value) -> Value {
    answered(Calculation::Verdict, given).expect("an answer")
}

fn wrong(given: &Value) -> Wrong {
    answered(Calculation::Verdict, given).expect_err("a refusal")
}

/// The ordinary question with another value at this pointer.
fn with(at: &str, value: Value) -> Value {
    and(ordinary(), at, value)
}

fn pack() -> Value {
    json!({ "chemistry": "lipo", "cells": 3, "capacity_mah": 2200 })
}

fn with_readings(readings: Value) -> Value {
    json!({ "pack": pack(), "readings": readings })
}

#[test]
fn state_findings_and_what_is_told_beside_are_answered_with_their_units() {
    let told = told(&ordinary());
    assert_eq!(told["state"], "set_aside");
    let rules: Vec<&str> = told["findings"]
        .as_array()
        .expect("findings")
        .iter()
        .filter_map(|finding| finding["rule"].as_str())
        .collect();
    assert_eq!(rules, ["resistance_apart", "resistance_up"]);
    let up = &told["findings"][1];
    for (name, value) in [
        ("gravity", json!("caution")),
        (
            "words",
            json!(
                "Cell 2 has 1.7 times the resistance it had 255 days ago; the club's limit is 1.5."
            ),
        ),
        ("sure", json!("one_reading")),
        ("cell", json!(2)),
        ("figure", json!(1.7)),
        ("limit", json!(1.5)),
        ("unit", json!("times")),
    ] {
        assert_eq!(up[name], value, "{name}");
    }
    assert!(
        up["source"]
            .as_str()
            .is_some_and(|source| source.starts_with("Common practice"))
    );
    let beside = &told["told"];
    assert_eq!(beside["charge"]["days_ago"], json!(0.0));
    assert_eq!(beside["imbalance"]["spread_v"], json!(0.02));
    let cell = &beside["resistance"]["cells"][1];
    assert_eq!(cell["resistance_mohm"], json!(5.1));
    assert_eq!(cell["times_first_readings"], json!(1.7));
    assert_eq!(beside["capacity"], Value::Null);
    assert_eq!(beside["capacity_unknown"], json!("no charge was counted"));
    assert_eq!(
        beside["remaining"],
        json!({ "answer": "not_enough_readings", "months_low": null, "months_high": null, "readings_used": 2, "readings_needed": 4 })
    );
    assert_eq!(beside["peak"]["label_ma"], json!(66_000));
    assert_eq!(beside["peak"]["unknown"], json!([]));
    let ageing = &beside["ageing"];
    assert_eq!(ageing["months"], json!(12.0));
    assert!(ageing["handbook_low_percent"].as_f64() < ageing["handbook_high_percent"].as_f64());
}

#[test]
fn instants_name_the_month_and_the_newest_is_now_where_nobody_says() {
    let dated = |now: Value| {
        let given = and(ordinary(), "/readings/0/at", json!("2026-03-15T18:00:00Z"));
        let given = and(given, "/readings/0/days_ago", Value::Null);
        let given = and(given, "/readings/1/at", json!("2026-11-25T18:00:00+01:00"));
        let given = and(given, "/readings/1/days_ago", Value::Null);
        told(&and(given, "/now", now))
    };
    let newest = dated(Value::Null);
    assert_eq!(
        newest["findings"][1]["words"],
        "Cell 2 has 1.7 times the resistance it had in March; the club's limit is 1.5."
    );
    assert_eq!(newest["told"]["charge"]["days_ago"], json!(0.0));
    let later = dated(json!("2027-05-01T00:00:00Z"));
    assert_eq!(
        later["findings"][2]["words"],
        "Cell 2 has 1.7 times the resistance it had in March 2026; the club's limit is 1.5."
    );
    assert_eq!(later["findings"][1]["rule"], "reading_old");
}

#[test]
fn null_and_absent_mean_unknown() {
    let mut bare = ordinary();
    let fields = bare.as_object_mut().expect("an object");
    fields.retain(|name, _| name == "pack" || name == "readings");
    for reading in bare["readings"].as_array_mut().expect("readings") {
        let fields = reading.as_object_mut().expect("an object");
        fields.retain(|_, value| !value.is_null());
    }
    bare["pack"]
        .as_object_mut()
        .expect("a pack")
        .retain(|_, value| !value.is_null());
    assert_eq!(told(&bare), told(&ordinary()));
    let nothing = told(&with_readings(json!([])));
    assert_eq!(nothing["state"], "not_known");
    for name in [
        "charge",
        "imbalance",
        "resistance",
        "capacity",
        "self_discharge",
        "ageing",
    ] {
        assert_eq!(nothing["told"][name], Value::Null, "{name}");
    }
    let unread = told(&with_readings(json!([{ "days_ago": 1 }])));
    assert_eq!(unread["state"], "not_known");
}

#[test]
fn a_cell_under_its_minimum_is_quarantined_and_one_that_nobody_believes_is_asked_about() {
    let state = |cells: Value| {
        let reading = json!([{ "days_ago": 0, "cell_volts": cells, "rested_minutes": 60 }]);
        let told = told(&with_readings(reading));
        (told["state"].clone(), told["findings"][0]["rule"].clone())
    };
    assert_eq!(
        state(json!([3.85, 3.85, 2.99])),
        (json!("quarantine"), json!("over_discharged"))
    );
    assert_eq!(
        state(json!([3.85, 3.85, 4.26])),
        (json!("quarantine"), json!("over_charged"))
    );
    assert_eq!(
        state(json!([3.85, 3.85, 38.5])),
        (json!("set_aside"), json!("implausible"))
    );
    assert_eq!(
        state(json!([3.85, 3.85])),
        (json!("set_aside"), json!("implausible"))
    );
    assert_eq!(
        state(json!([3.85, 3.85, 3.85])),
        (json!("fit"), Value::Null)
    );
}

#[test]
fn volts_that_were_measured_again_count_as_they_are_and_are_not_answered_by_the_next_good_reading()
{
    let state = |cells: Value, confirmed: Value| {
        let first = json!({ "days_ago": 1, "cell_volts": cells, "rested_minutes": 60, "confirmed": confirmed });
        let next = json!({ "days_ago": 0, "cell_volts": [3.85, 3.85, 3.85], "rested_minutes": 60 });
        let alone = told(&with_readings(json!([first])));
        let later = told(&with_readings(json!([next, first])));
        let rule = alone["findings"][0]["rule"].clone();
        (alone["state"].clone(), rule, later["state"].clone())
    };
    let held = |rule: &str| (json!("quarantine"), json!(rule), json!("quarantine"));
    for volts in [0.0, 0.5, 0.99] {
        let cells = json!([3.85, volts, 3.85]);
        assert_eq!(state(cells, json!(true)), held("missing_cell"), "{volts}");
    }
    for volts in [5.01, 9.0] {
        let cells = json!([3.85, volts, 3.85]);
        assert_eq!(state(cells, json!(true)), held("over_charged"), "{volts}");
    }
    assert_eq!(
        state(json!([3.85, 3.85]), json!(true)),
        held("missing_cell")
    );
    // As it is in a pool: what nobody measured again is answered by the next reading that is believed.
    for unsaid in [json!(false), Value::Null] {
        let asked_about = (json!("set_aside"), json!("implausible"), json!("fit"));
        assert_eq!(state(json!([3.85, 0.99, 3.85]), unsaid), asked_about);
    }
    let good = state(json!([3.85, 3.85, 3.85]), json!(true));
    assert_eq!(good, (json!("fit"), Value::Null, json!("fit")));
}

#[test]
fn what_was_seen_and_a_release_are_heard() {
    let low = json!([
        { "days_ago": 9, "cell_volts": [3.8, 3.8, 2.9], "rested_minutes": 60 },
        { "days_ago": 2, "cell_volts": [3.85, 3.85, 3.85], "rested_minutes": 60 },
    ]);
    let given = with_readings(low);
    assert_eq!(told(&given)["state"], "quarantine");
    let released = and(given, "/released_days_ago", json!(1));
    assert_eq!(told(&released)["state"], "fit");
    let seen = and(released, "/seen", json!(["wrap_torn", "swollen"]));
    let told = told(&seen);
    assert_eq!(told["state"], "quarantine");
    assert_eq!(told["findings"][0]["gravity"], "final_danger");
}

#[test]
fn capacity_and_loss_by_lying_are_told_as_ranges() {
    let answer = told(&with_readings(json!([
        { "days_ago": 3, "cell_volts": [3.5, 3.5, 3.5], "rested_minutes": 90 },
        { "days_ago": 2, "cell_volts": [4.19, 4.19, 4.19], "rested_minutes": 90, "charge_mah": 1500 },
    ])));
    let capacity = &answer["told"]["capacity"];
    let mah = |name: &str| capacity[name].as_i64().expect("mAh");
    assert!(
        mah("capacity_low_mah") < mah("capacity_mah")
            && mah("capacity_mah") < mah("capacity_high_mah")
    );
    assert_eq!(answer["findings"][0]["rule"], "capacity_low");
    let emptied = told(&with_readings(json!([
        { "days_ago": 3, "cell_volts": [4.19, 4.19, 4.19], "rested_minutes": 90 },
        { "days_ago": 2, "cell_volts": [3.5, 3.5, 3.5], "rested_minutes": 90, "charge_mah": -1500 },
    ])));
    assert_eq!(emptied["told"]["capacity"], *capacity, "or taken out");
    let lain = json!([
        { "days_ago": 40, "cell_volts": [3.85, 3.85, 3.85], "rested_minutes": 90, "context": "storage_check" },
        { "days_ago": 10, "cell_volts": [3.84, 3.84, 3.71], "rested_minutes": 90, "context": "storage_check" },
    ]);
    let answer = told(&with_readings(lain));
    let lying = &answer["told"]["self_discharge"];
    assert_eq!(
        (lying["days"].clone(), lying["days_ago"].clone()),
        (json!(30.0), json!(10.0))
    );
    assert_eq!(lying["cells"][2]["loss"], "fast");
    assert_eq!(lying["cells"][2]["fallen_v"], json!(0.14));
}

#[test]
fn what_is_wrong_is_named_by_its_field() {
    let cases = [
        ("/pack/chemistry", json!("LiPo"), "pack.chemistry"),
        ("/pack/cells", json!(0), "pack.cells"),
        ("/pack/cells", json!(33), "pack.cells"),
        ("/pack/cells", json!("3"), "pack.cells"),
        ("/pack/capacity_mah", json!(0), "pack.capacity_mah"),
        (
            "/pack/label_discharge_c",
            json!(-1),
            "pack.label_discharge_c",
        ),
        ("/pack/label_full_v", json!(11), "pack.label_full_v"),
        ("/readings", Value::Null, "readings"),
        ("/readings/1/days_ago", json!(-1), "readings[1].days_ago"),
        ("/readings/1/days_ago", Value::Null, "readings[1].days_ago"),
        (
            "/readings/1/at",
            json!("2026-11-25T18:00:00Z"),
            "readings[1].days_ago",
        ),
        ("/readings/1/at", json!("yesterday"), "readings[1].at"),
        (
            "/readings/1/cell_volts",
            json!([]),
            "readings[1].cell_volts",
        ),
        (
            "/readings/1/cell_volts",
            json!([3.9, -1, 3.9]),
            "readings[1].cell_volts[1]",
        ),
        (
            "/readings/1/cell_volts",
            json!([3.9, "x", 3.9]),
            "readings[1].cell_volts[1]",
        ),
        ("/readings/1/pack_v", json!(11.7), "readings[1].pack_v"),
        (
            "/readings/1/rested_minutes",
            json!(-1),
            "readings[1].rested_minutes",
        ),
        (
            "/readings/1/resistance_mohm",
            json!([3, 3]),
            "readings[1].resistance_mohm",
        ),
        (
            "/readings/1/resistance_mohm",
            json!([3, 0, 3]),
            "readings[1].resistance_mohm[1]",
        ),
        (
            "/readings/1/meter_kind",
            json!("dc"),
            "readings[1].meter_kind",
        ),
        (
            "/readings/1/meter",
            json!("x".repeat(101)),
            "readings[1].meter",
        ),
        (
            "/readings/1/temperature_c",
            json!(81),
            "readings[1].temperature_c",
        ),
        (
            "/readings/1/charge_mah",
            json!(2e6),
            "readings[1].charge_mah",
        ),
        ("/readings/1/context", json!("party"), "readings[1].context"),
        (
            "/sisters",
            json!([{ "resistance_mohm": [3] }]),
            "sisters[0].resistance_mohm",
        ),
        ("/seen", json!(["puffed"]), "seen[0]"),
        ("/released_days_ago", json!(-1), "released_days_ago"),
        ("/released_at", json!("soon"), "released_at"),
        ("/now", json!(5), "now"),
        ("/now", json!("now"), "now"),
        ("/volts", json!(5), "volts"),
    ];
    for (at, value, field) in cases {
        let refusal = wrong(&with(at, value.clone()));
        assert_eq!(refusal.field, field, "{at} {value}: {refusal:?}");
        assert!(!refusal.error.is_empty());
    }
    let mut lacking = ordinary();
    lacking["pack"]
        .as_object_mut()
        .expect("a pack")
        .remove("cells");
    assert_eq!(wrong(&lacking).field, "pack.cells");
    let many = vec![json!({ "days_ago": 1 }); 1_001];
    assert_eq!(wrong(&with("/readings", json!(many))).field, "readings");
    let many = vec![json!({ "resistance_mohm": [3, 3, 3] }); 201];
    assert_eq!(wrong(&with("/sisters", json!(many))).field, "sisters");
    let many = vec![3.9; 33];
    assert_eq!(
        wrong(&with("/readings/1/cell_volts", json!(many))).field,
        "readings[1].cell_volts"
    );
}

#[test]
fn the_schema_tells_what_is_read_and_all_that_is_answered() {
    let schema = Calculation::Verdict.schema();
    assert_eq!(schema["title"], "verdict");
    assert_eq!(schema["required"], json!(["pack", "readings"]));
    let fields = |schema: &Value| -> Vec<String> {
        let properties = schema["properties"].as_object().expect("properties");
        properties.keys().cloned().collect()
    };
    let names = |value: &Value| -> Vec<String> {
        value
            .as_object()
            .expect("an object")
            .keys()
            .cloned()
            .collect()
    };
    let given = ordinary();
    assert_eq!(fields(&schema), names(&given));
    let properties = &schema["properties"];
    assert_eq!(fields(&properties["pack"]), names(&given["pack"]));
    assert_eq!(
        properties["pack"]["required"],
        json!(["chemistry", "cells", "capacity_mah"])
    );
    let reading = &properties["readings"]["items"];
    assert_eq!(fields(reading), names(&given["readings"][0]));
    assert_eq!(reading["additionalProperties"], json!(false));
    let answer = &schema["$defs"]["answer"];
    let told = told(&given);
    assert_eq!(fields(answer), names(&told));
    assert_eq!(
        fields(&answer["properties"]["findings"]["items"]),
        names(&told["findings"][0])
    );
    assert_eq!(fields(&answer["properties"]["told"]), names(&told["told"]));
    assert!(
        !schema.to_string().contains("\"$ref\""),
        "it stands by itself"
    );
}

fn maybe(range: std::ops::Range<f64>) -> impl Strategy<Value = Option<f64>> {
    prop::option::of(range)
}

proptest! {
    #[test]
    fn whatever_is_given_is_answered_or_refused_by_a_field(
        chemistry in prop::sample::select(vec!["lipo", "lihv", "liion", "lifepo4", "nimh", "pb"]), cells in 0_i64..5,
        mah in -1.0_f64..9_000.0, days in prop::collection::vec(0.0_f64..400.0, 0..6), volts in maybe(-1.0..6.0),
        mohm in maybe(-1.0..60.0), celsius in maybe(-60.0..100.0), charge in maybe(-9_000.0..9_000.0), rested in maybe(-5.0..200.0),
    ) {
        let count = usize::try_from(cells).expect("few");
        let readings: Vec<Value> = days.iter().map(|days| json!({
            "days_ago": days, "cell_volts": volts.map(|v| vec![v; count.max(1)]), "resistance_mohm": mohm.map(|mohm| vec![mohm; count]),
            "temperature_c": celsius, "charge_mah": charge, "rested_minutes": rested,
        })).collect();
        let given = json!({ "pack": { "chemistry": chemistry, "cells": cells, "capacity_mah": mah }, "readings": readings });
        match Calculation::Verdict.answer(given.to_string().as_bytes()) {
            Err(refusal) => prop_assert!(refusal.field.starts_with("pack.") || refusal.field.starts_with("readings["), "{refusal:?}"),
            Ok(told) => prop_assert!(told["state"].is_string() && told["findings"].is_array()),
        }
    }
}

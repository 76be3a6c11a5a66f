//! That a verdict is told whole, that what is wrong with what was given is named by its field, and that the schema tells what
//! is read and answered.

use crate::calc::asking_tests::{and, answered};
use crate::calc::{Calculation, Verdict, Wrong};
use serde_json::{Value, json};

mod refused;

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

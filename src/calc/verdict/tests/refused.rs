//! What is wrong with the question of a verdict, named by its field, whatever is sent.

use super::*;
use proptest::prelude::*;

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
        ("/pack/label_full_v", json!(3.0), "pack.label_full_v"),
        ("/pack/label_lowest_v", json!(4.5), "pack.label_lowest_v"),
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
fn what_was_read_after_now_is_refused() {
    let reading = |at: &str| json!({ "at": at, "cell_volts": [3.85, 3.85, 3.85] });
    let both = json!([
        reading("2026-10-01T00:00:00Z"),
        reading("2026-12-01T00:00:00Z")
    ]);
    let given = with_readings(both);
    assert_eq!(told(&given)["state"], "fit", "the newest is now");
    let mut before = given;
    before["now"] = json!("2026-11-01T00:00:00Z");
    assert_eq!(wrong(&before).field, "readings[1].at");
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

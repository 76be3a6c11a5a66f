//! What is wrong with the question of a charge plan, named by its field, whatever is sent.

use super::*;
use proptest::prelude::*;

#[test]
fn what_is_wrong_is_named_by_its_field() {
    let spec = |field: &str| format!("/chargers/0/spec/{field}");
    let cases = [
        (
            "/pack/chemistry".to_owned(),
            json!("LiPo"),
            "pack.chemistry",
        ),
        ("/pack/cells".to_owned(), json!(0), "pack.cells"),
        ("/pack/cells".to_owned(), json!(33), "pack.cells"),
        ("/pack/cells".to_owned(), json!(2.5), "pack.cells"),
        (
            "/pack/capacity_mah".to_owned(),
            json!(0),
            "pack.capacity_mah",
        ),
        (
            "/pack/cell_volts".to_owned(),
            Value::Null,
            "pack.cell_volts",
        ),
        (
            "/pack/cell_volts/1".to_owned(),
            json!(-1),
            "pack.cell_volts[1]",
        ),
        (
            "/pack/cell_volts/1".to_owned(),
            json!("3.8"),
            "pack.cell_volts[1]",
        ),
        (
            "/pack/cell_volts".to_owned(),
            json!(vec![3.8; 33]),
            "pack.cell_volts",
        ),
        ("/pack/cell_volts".to_owned(), json!([]), "pack.cell_volts"),
        ("/pack/pack_v".to_owned(), json!(11.4), "pack.pack_v"),
        ("/pack/connector".to_owned(), json!(" "), "pack.connector"),
        (
            "/pack/balance_connector".to_owned(),
            json!(""),
            "pack.balance_connector",
        ),
        (
            "/pack/label_charge_c".to_owned(),
            json!(0.05),
            "pack.label_charge_c",
        ),
        (
            "/pack/label_full_v".to_owned(),
            json!(3.0),
            "pack.label_full_v",
        ),
        (
            "/pack/label_lowest_v".to_owned(),
            json!(4.5),
            "pack.label_lowest_v",
        ),
        (
            "/pack/label_lowest_v".to_owned(),
            json!(3.8),
            "pack.label_lowest_v",
        ),
        (
            "/pack/cell_resistance_mohm".to_owned(),
            json!(0),
            "pack.cell_resistance_mohm",
        ),
        ("/pack/colour".to_owned(), json!("red"), "pack.colour"),
        ("/pack".to_owned(), json!(["lipo", 3, 450]), "pack"),
        ("/pack_celsius".to_owned(), json!(201), "pack_celsius"),
        ("/room_celsius".to_owned(), json!(-101), "room_celsius"),
        ("/purpose".to_owned(), json!("hurry"), "purpose"),
        (
            "/purpose".to_owned(),
            json!({"ready_by_minutes": 0}),
            "purpose.ready_by_minutes",
        ),
        (
            "/purpose".to_owned(),
            json!({"there_minutes": 100_001}),
            "purpose.there_minutes",
        ),
        ("/purpose".to_owned(), Value::Null, "purpose"),
        (
            "/purpose".to_owned(),
            json!("ready_by_minutes"),
            "purpose.ready_by_minutes",
        ),
        ("/purpose".to_owned(), json!({"storage": null}), "purpose"),
        (
            "/purpose".to_owned(),
            json!({"storage": 5}),
            "purpose.storage",
        ),
        (
            "/purpose".to_owned(),
            json!({"ready_by_minutes": 30, "there_minutes": 60}),
            "purpose",
        ),
        ("/club".to_owned(), json!({"usual_c": 0}), "club.usual_c"),
        (
            "/chargers/0/number".to_owned(),
            json!(""),
            "chargers[0].number",
        ),
        (
            "/chargers/0/left_at_ma".to_owned(),
            json!(-1),
            "chargers[0].left_at_ma",
        ),
        (
            "/chargers/0/running".to_owned(),
            json!([{"output": 2, "input_mw": 1}]),
            "chargers[0].running[0].output",
        ),
        (
            "/chargers/0/running".to_owned(),
            json!([{"output": 1, "input_mw": -1}]),
            "chargers[0].running[0].input_mw",
        ),
        (spec("kind"), json!("supply"), "chargers[0].spec.kind"),
        (
            spec("current_memory"),
            json!("remembers"),
            "chargers[0].spec.current_memory",
        ),
        (spec("cells_to"), json!(99), "chargers[0].spec.cells_to"),
        (spec("cells_to"), json!("6"), "chargers[0].spec.cells_to"),
        (
            spec("current_max_ma"),
            json!(50),
            "chargers[0].spec.current_max_ma",
        ),
        (spec("cell_limit"), json!(50), "chargers[0].spec.cell_limit"),
        (
            "/chargers/0/spec".to_owned(),
            json!([1]),
            "chargers[0].spec.kind",
        ),
        (
            "/supplies/0/spec".to_owned(),
            json!({"kind": "supply", "gives": "dc", "mv": 1, "mw": 60_000, "connector": "xt60"}),
            "supplies[0].spec.mv",
        ),
        ("/adapters/0/free".to_owned(), json!(-1), "adapters[0].free"),
        (
            "/adapters/0/spec/to".to_owned(),
            json!("xt60"),
            "adapters[0].spec.to",
        ),
        (
            "/connectors".to_owned(),
            json!([{"code": "xt60", "name": "Mine"}]),
            "connectors[0].code",
        ),
        (
            "/connectors".to_owned(),
            json!([{"code": "own", "name": ""}]),
            "connectors[0].name",
        ),
        ("/parallel".to_owned(), json!(true), "parallel"),
        (
            "/connectors".to_owned(),
            json!([{"code": "XT-60", "name": "Mine"}]),
            "connectors[0].code",
        ),
        (
            "/pack/connector".to_owned(),
            json!("xt-600"),
            "pack.connector",
        ),
        (
            "/pack/balance_connector".to_owned(),
            json!("xh"),
            "pack.balance_connector",
        ),
        (
            spec("output_connector"),
            json!("banana"),
            "chargers[0].spec.output_connector",
        ),
        (
            spec("balance_connector"),
            json!("banana"),
            "chargers[0].spec.balance_connector",
        ),
        (
            spec("input"),
            json!({"takes": "dc", "mv_min": 10_000, "mv_max": 30_000, "connector": "banana"}),
            "chargers[0].spec.input.connector",
        ),
        (
            "/supplies/0/spec".to_owned(),
            json!({"kind": "supply", "gives": "dc", "mv": 12_000, "mw": 60_000, "connector": "banana"}),
            "supplies[0].spec.connector",
        ),
        (
            "/adapters/0/spec/from".to_owned(),
            json!("banana"),
            "adapters[0].spec.from",
        ),
        (
            "/adapters/0/spec/to".to_owned(),
            json!("XT-60"),
            "adapters[0].spec.to",
        ),
    ];
    for (at, value, field) in cases {
        let refusal = wrong(&with(&at, value.clone()));
        assert_eq!(refusal.field, field, "{at} {value}: {refusal:?}");
        for foreign in ["variant", "enum", "map", "tuple", "unit ", "array"] {
            assert!(!refusal.error.contains(foreign), "{at}: {refusal:?}");
        }
        assert!(!refusal.error.is_empty());
    }
    let mut lacking = ordinary();
    lacking["pack"]
        .as_object_mut()
        .expect("a pack")
        .remove("cells");
    assert_eq!(wrong(&lacking).field, "pack.cells");
    let mut lacking = ordinary();
    lacking["chargers"][0]["spec"]
        .as_object_mut()
        .expect("a sheet")
        .remove("outputs");
    assert_eq!(wrong(&lacking).field, "chargers[0].spec.outputs");
}

#[test]
fn what_runs_is_counted_once_and_where_it_is_fed_from() {
    let running = |runs: Value| {
        let twin = with("/chargers/0/spec/outputs", json!(2));
        and(twin, "/chargers/0/running", runs)
    };
    let run = |output: i64, supply: Value, port: Value| json!({"output": output, "supply": supply, "port": port, "input_mw": 20_000});
    let first = || run(1, json!("S-05"), json!(1));
    for (runs, field) in [
        (
            json!([run(1, json!("S-09"), Value::Null)]),
            "running[0].supply",
        ),
        (json!([run(1, json!("S-05"), json!(2))]), "running[0].port"),
        (json!([run(1, json!("S-05"), json!(0))]), "running[0].port"),
        (json!([run(1, Value::Null, json!(1))]), "running[0].port"),
        (json!([first(), first()]), "running[1].output"),
    ] {
        let refusal = wrong(&running(runs.clone()));
        assert_eq!(refusal.field, format!("chargers[0].{field}"), "{runs}");
    }
    let plan = told(&running(json!([first()])))["plans"][0].clone();
    assert_eq!(plan["output"], 2);
    assert_eq!(plan["supply_mw"], 25_000);
}

#[test]
fn two_things_of_one_number_and_more_than_can_be_planned_with_are_refused() {
    let charger = ordinary()["chargers"][0].clone();
    let twice = with("/chargers", json!([charger, charger]));
    assert_eq!(wrong(&twice).field, "chargers[1].number");
    let many = with("/chargers", json!(vec![charger; 101]));
    assert_eq!(wrong(&many).field, "chargers");
}

fn volts() -> impl Strategy<Value = f64> {
    prop_oneof![4 => 2.8_f64..4.4, 1 => -1.0_f64..12.0]
}

proptest! {
    #[test]
    fn whatever_is_given_is_answered_or_refused_by_a_field(
        chemistry in prop::sample::select(vec!["lipo", "lihv", "liion", "lifepo4", "nimh", "pb"]),
        cells in prop::sample::select(vec![-1_i64, 0, 1, 2, 3, 6, 14, 32, 33, i64::MAX]),
        capacity in prop_oneof![Just(1e300), Just(-1.0), 1.0_f64..20_000.0, Just(1_000_000.0)],
        volts in prop::collection::vec(volts(), 0..8),
        label in prop::option::of(-1.0_f64..30.0),
        resistance in prop::option::of(-1.0_f64..200.0),
        warm in prop::option::of(-20_i64..60),
        purpose in prop::sample::select(vec![json!("storage"), json!("empty"), json!({"ready_by_minutes": 30}), json!({"there_minutes": i64::MIN}), json!({"there_minutes": 100_000})]),
        sheet in prop::sample::select(vec!["current_min_ma", "current_max_ma", "current_step_ma", "charge_mw", "discharge_mw", "outputs", "cells_from"]),
        figure in prop_oneof![Just(i64::MAX), Just(i64::MIN), Just(0_i64), 1_i64..200_000],
        drawn in prop_oneof![Just(i64::MAX), Just(0_i64), 1_i64..200_000],
        is_whole in any::<bool>(),
    ) {
        let mut given = ordinary();
        given["pack"]["chemistry"] = json!(chemistry);
        given["pack"]["cells"] = json!(cells);
        given["pack"]["capacity_mah"] = json!(capacity);
        given["pack"]["cell_volts"] = if is_whole { Value::Null } else { json!(volts) };
        given["pack"]["pack_v"] = if is_whole { json!(volts.iter().sum::<f64>()) } else { Value::Null };
        given["pack"]["label_charge_c"] = json!(label);
        given["pack"]["cell_resistance_mohm"] = json!(resistance);
        given["pack_celsius"] = json!(warm);
        given["purpose"] = purpose;
        given["chargers"][0]["spec"][sheet] = json!(figure);
        given["chargers"][0]["running"] = json!([{"output": 1, "supply": "S-05", "input_mw": drawn}]);
        match Calculation::ChargePlan.answer(given.to_string().as_bytes()) {
            Err(refusal) => prop_assert!(!refusal.field.is_empty() && !refusal.error.is_empty(), "{refusal:?}"),
            Ok(told) => {
                let is_stopped = told["answer"] != "plans";
                prop_assert!(!is_stopped || told["plans"] == json!([]), "{told}");
                for plan in told["plans"].as_array().expect("plans") {
                    prop_assert!(plan["current_ma"].as_i64() > Some(0), "{plan}");
                }
            }
        }
    }
}

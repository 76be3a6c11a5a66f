//! That a plan is told whole, that what is wrong with the question is named by its field, and that no rate is looser than a
//! club's start.

use crate::calc::asking_tests::{and, answered};
use crate::calc::{Calculation, ChargePlan, Wrong};
use serde_json::{Value, json};

mod apart;
mod refused;
mod sheets;

fn ordinary() -> Value {
    crate::calc::asking_tests::ordinary::<ChargePlan>()
}

fn told(given: &Value) -> Value {
    answered(Calculation::ChargePlan, given).expect("an answer")
}

fn wrong(given: &Value) -> Wrong {
    answered(Calculation::ChargePlan, given).expect_err("a refusal")
}

/// The ordinary question with another value at this pointer.
fn with(at: &str, value: Value) -> Value {
    and(ordinary(), at, value)
}

/// Somebody is there as long as it takes.
fn for_hours(given: Value) -> Value {
    and(given, "/purpose", json!({"there_minutes": 900}))
}

#[test]
fn a_plan_is_told_with_its_figures_and_the_words_of_its_card() {
    let told = told(&ordinary());
    assert_eq!(told["answer"], "plans");
    let plan = &told["plans"][0];
    for (name, value) in [
        ("charger", json!("C-02")),
        ("output", json!(1)),
        ("adapters", json!(["A-03"])),
        ("plugs", json!(["xt60", "xt30"])),
        ("mode", json!("balance")),
        ("current_ma", json!(400)),
        ("c_rate", json!(0.8888)),
        ("target_cell_v", json!(4.2)),
        ("target_pack_v", json!(12.6)),
        ("charges", json!(true)),
        ("balanced", json!(true)),
        ("in_time", json!(true)),
        ("first", json!({"what": "turn_down", "from_ma": 2_200})),
        (
            "limits",
            json!([{"by": "club_rate", "c": 1.0, "what": null}]),
        ),
    ] {
        assert_eq!(plan[name], value, "{name}");
    }
    assert_eq!(
        plan["supply"],
        json!({"number": "S-05", "port": 1, "volts": 15.0, "cable": null, "needs_own_cable": true})
    );
    let minutes = |name: &str| plan[name].as_i64().expect("minutes");
    assert!(minutes("minutes_low") < minutes("minutes_high"));
    assert!(minutes("cutoff_minutes") > minutes("minutes_high"));
    assert_eq!(
        plan["told"]["first"],
        "First turn C-02 down: it was left at 2.2 A, which is 4.9C on this pack."
    );
    assert_eq!(plan["told"]["read_back"], "3S LiPo, balance, 12.6 V, 0.4 A");
    assert_eq!(plan["told"]["steps"].as_array().map(Vec::len), Some(3));
}

/// Section 12 of the trade's facts, value 46: 12.6 V by 2.2 A is 27.7 W into the pack and 32.6 W from the supply, and
/// 45 W are enough. Value 47: 6S 5 A from the same 45 W is held back to 45 x 0.85 / 25.2 = 1.52 A, and 15 V can't lift
/// 25.2 V without a boost.
#[test]
fn forty_five_watts_charge_three_cells_as_asked_and_hold_six_back() {
    let pack = |cells: usize, mah: i64| {
        let mut given = with("/pack/cells", json!(cells));
        given["pack"]["cell_volts"] = json!(vec![3.7; cells]);
        given["pack"]["capacity_mah"] = json!(mah);
        given["pack"]["connector"] = json!("xt60");
        given["chargers"][0]["spec"]["current_step_ma"] = json!(1);
        given
    };
    let three = told(&pack(3, 2_200));
    let plan = &three["plans"][0];
    assert_eq!(
        (plan["current_ma"].clone(), plan["supply_mw"].clone()),
        (json!(2_200), json!(45_000))
    );
    let drawn_w = plan["drawn_mw"].as_f64().expect("mW") / 1_000.0;
    assert_eq!(format!("{drawn_w:.1}"), "32.6");
    let six = told(&for_hours(pack(6, 5_000)));
    let plan = &six["plans"][0];
    let amps = plan["current_ma"].as_f64().expect("mA") / 1_000.0;
    assert_eq!(format!("{amps:.2}"), "1.52");
    assert_eq!(
        plan["limits"],
        json!([{"by": "supply", "c": null, "what": "S-05"}])
    );
    let no_boost = told(&and(
        pack(6, 5_000),
        "/chargers/0/spec/can_boost",
        json!(false),
    ));
    assert_eq!(no_boost["plans"], json!([]));
    assert_eq!(
        no_boost["refused"][0],
        json!({"number": "C-02", "why": "C-02 can't charge above its input: this pack is 25.2 V full, and S-05 gives 15 V."})
    );
}

#[test]
fn a_stop_a_question_and_nothing_to_do_show_no_current() {
    let stop = told(&with("/pack/cell_volts/1", json!(2.99)));
    assert_eq!(
        (stop["answer"].clone(), stop["plans"].clone()),
        (json!("stop"), json!([]))
    );
    assert!(
        stop["why"][0]
            .as_str()
            .expect("why")
            .starts_with("Cell 2 reads 2.99 V")
    );
    let ask = told(&and(
        with("/pack_celsius", Value::Null),
        "/room_celsius",
        Value::Null,
    ));
    assert_eq!(
        (ask["answer"].clone(), ask["ask"].clone()),
        (json!("ask"), json!(["pack_celsius", "room_celsius"]))
    );
    let full = told(&with("/pack/cell_volts", json!([4.2, 4.2, 4.2])));
    assert_eq!(
        (full["answer"].clone(), full["why"].clone()),
        (json!("nothing"), json!(["It is full."]))
    );
}

#[test]
fn a_pack_straight_from_use_stops_unless_its_own_temperature_was_read() {
    let used = |minutes: i64| with("/pack/minutes_since_use", json!(minutes));
    let stop = told(&used(6));
    assert_eq!(stop["answer"], "stop");
    assert!(
        stop["why"][0]
            .as_str()
            .is_some_and(|why| why.contains("9 more minutes"))
    );
    assert_eq!(told(&used(15))["answer"], "plans");
    let measured = and(used(6), "/pack_is_measured", json!(true));
    assert_eq!(told(&measured)["answer"], "plans");
    assert_eq!(wrong(&used(-1)).field, "pack.minutes_since_use");
}

#[test]
fn a_charger_whose_sheet_names_no_usb_pd_levels_is_told_as_such() {
    let unknown = told(&with("/chargers/0/spec/input/levels_mv", Value::Null));
    let cautions = unknown["plans"][0]["cautions"].clone();
    assert_eq!(
        cautions,
        json!([{"what": "levels_unknown", "cell_v": null}])
    );
    let none = told(&with("/chargers/0/spec/input/levels_mv", json!([20_000])));
    let why = none["refused"][0]["why"].as_str().unwrap_or_default();
    assert_eq!(
        why,
        "S-05 gives it 5, 9, 15 V there; C-02 takes USB PD at 20 V."
    );
}

#[test]
fn every_purpose_is_asked_for_and_what_it_changes_is_told() {
    let purpose = |value: Value| told(&with("/purpose", value))["plans"][0].clone();
    let hurried = told(&with("/purpose", json!({"ready_by_minutes": 1})));
    assert_eq!(hurried["plans"][0]["in_time"], false);
    let alone = told(&with("/purpose", json!({"there_minutes": 1})));
    assert_eq!(alone["plans"], json!([]));
    let why = alone["refused"][0]["why"].as_str().unwrap_or_default();
    assert!(
        why.starts_with("Nobody would be there when it ends: it may take "),
        "{why}"
    );
    let full = with("/pack/cell_volts", json!([4.15, 4.15, 4.15]));
    let stored = told(&and(full.clone(), "/purpose", json!("storage")))["plans"][0].clone();
    assert_eq!(
        (stored["mode"].clone(), stored["charges"].clone()),
        (json!("storage"), json!(false))
    );
    // A tenth of C before disposal: 2000 mAh at 0.2 A, value 20.
    let emptied = and(full, "/pack/capacity_mah", json!(2_000));
    let emptied = told(&and(emptied, "/purpose", json!("empty")))["plans"][0].clone();
    assert_eq!(emptied["current_ma"], 200);
    assert_eq!(
        emptied["cautions"],
        json!([{"what": "for_disposal", "cell_v": null}])
    );
    // A label of 2C, and twenty minutes: harder than the club's usual rate.
    let hasty = purpose(json!({"ready_by_minutes": 45}));
    let rate = hasty["c_rate"].as_f64().expect("a rate");
    assert!(
        rate > 1.0 && rate <= 2.0 && hasty["in_time"] == true,
        "{hasty}"
    );
}

/// Six cells of nickel without a balance lead, on a charger that takes them.
fn nickel() -> Value {
    let given = with("/pack/chemistry", json!("nimh"));
    let given = and(given, "/pack/cells", json!(6));
    let given = and(given, "/pack/cell_volts", Value::Null);
    let given = and(given, "/pack/pack_v", json!(7.5));
    let given = and(given, "/pack/balance_connector", Value::Null);
    and(given, "/chargers/0/spec/chemistries", json!(["nimh"]))
}

#[test]
fn nickel_is_emptied_by_hand_and_why_is_said() {
    let told = told(&and(nickel(), "/purpose", json!("empty")));
    assert_eq!(told["answer"], "nothing");
    let why = told["why"][0].as_str().expect("why");
    for said in ["its volts don’t tell", "undamaged", "0.1C", "0.9 V a cell"] {
        assert!(why.contains(said), "{why}");
    }
}

#[test]
fn a_charge_that_ends_by_a_dip_has_no_volts_to_set() {
    let dip = told(&for_hours(nickel()))["plans"][0].clone();
    assert_eq!(dip["told"]["target"], "A dip in volts, by itself");
    for name in ["target_cell_v", "target_pack_v"] {
        assert_eq!(dip[name], Value::Null, "{name}");
    }
    let answer = Calculation::ChargePlan.schema()["$defs"]["answer"].clone();
    let plan = &answer["properties"]["plans"]["items"]["properties"];
    assert_eq!(plan["target_cell_v"]["type"], json!(["number", "null"]));
}

#[test]
fn a_club_is_stricter_than_the_start_and_never_looser() {
    let at = |usual: Value, most: Value| {
        let given = with("/club", json!({"usual_c": usual, "most_c": most}));
        and(given, "/purpose", json!({"ready_by_minutes": 1}))
    };
    let current = |given: &Value| told(given)["plans"][0]["current_ma"].clone();
    let slow = and(
        at(json!(0.3), Value::Null),
        "/purpose",
        json!({"there_minutes": 500}),
    );
    // 0.3C of 450 mAh, down to the charger's step.
    assert_eq!(current(&slow), json!(100));
    assert_eq!(wrong(&at(json!(1.1), Value::Null)).field, "club.usual_c");
    assert_eq!(wrong(&at(Value::Null, json!(2.1))).field, "club.most_c");
    assert_eq!(
        wrong(&at(json!(0.8), json!(0.7))).field,
        "club.most_c",
        "slower than usual"
    );
    let lead = and(at(Value::Null, json!(0.4)), "/pack/chemistry", json!("pb"));
    assert_eq!(wrong(&lead).field, "club.most_c");
}

#[test]
fn an_output_that_is_busy_and_what_it_draws_are_counted() {
    let busy = with(
        "/chargers/0/running",
        json!([{"output": 1, "supply": "S-05", "port": 1, "input_mw": 20_000}]),
    );
    assert_eq!(
        told(&busy)["refused"][0]["why"],
        "It charges another pack now."
    );
    let twin = and(busy, "/chargers/0/spec/outputs", json!(2));
    let plan = told(&twin)["plans"][0].clone();
    assert_eq!(
        (plan["output"].clone(), plan["supply_mw"].clone()),
        (json!(2), json!(25_000))
    );
}

#[test]
fn a_connector_of_the_clubs_own_carries_what_the_club_says() {
    let own = |connectors: Value| {
        let given = for_hours(with("/connectors", connectors));
        let given = and(given, "/pack/connector", json!("hall-plug"));
        let given = and(
            given,
            "/chargers/0/spec/output_connector",
            json!("hall-plug"),
        );
        and(given, "/pack/capacity_mah", json!(5_000))
    };
    let unrated = told(&own(json!([{"code": "hall-plug", "name": "Hall plug"}])));
    let unknown = &unrated["plans"][0];
    assert_eq!(unknown["limits"][0]["by"], "unrated_plug");
    let known = told(&own(
        json!([{"code": "hall-plug", "name": "Hall plug", "rating_ma": 2_500}]),
    ));
    let plan = &known["plans"][0];
    assert_eq!(plan["current_ma"], 2_500);
    assert_eq!(
        plan["limits"],
        json!([{"by": "plug", "c": null, "what": "hall-plug"}])
    );
    let bare = own(Value::Null);
    assert_eq!(wrong(&bare).field, "pack.connector");
}

#[test]
fn a_code_that_is_only_written_otherwise_is_the_one_that_is_meant() {
    let otherwise = with("/pack/connector", json!("XT-30"));
    let otherwise = and(otherwise, "/pack/balance_connector", json!("JST-XH"));
    let otherwise = and(
        otherwise,
        "/chargers/0/spec/balance_connector",
        json!("jstxh"),
    );
    let otherwise = and(otherwise, "/adapters/0/spec/from", json!(" Xt60"));
    assert_eq!(told(&otherwise), told(&ordinary()));
}

#[test]
fn null_and_absent_mean_unknown() {
    let mut bare = ordinary();
    let pack = bare["pack"].as_object_mut().expect("a pack");
    pack.retain(|_, value| !value.is_null());
    let bare_fields = bare.as_object_mut().expect("a question");
    bare_fields.retain(|_, value| !value.is_null());
    assert_eq!(told(&bare), told(&ordinary()));
}

#[test]
fn the_schema_tells_what_is_read_and_all_that_is_answered() {
    let schema = Calculation::ChargePlan.schema();
    assert_eq!(schema["title"], "charge-plan");
    assert_eq!(schema["required"], json!(["pack", "purpose"]));
    assert_eq!(schema["additionalProperties"], json!(false));
    assert!(
        !schema.to_string().contains("#/components"),
        "nothing is elsewhere"
    );
    let given = &schema["properties"]["pack"];
    assert_eq!(given["additionalProperties"], json!(false));
    let names = |of: &Value| -> Vec<String> {
        let fields = of.as_object().expect("fields").keys();
        fields.cloned().collect()
    };
    assert_eq!(names(&given["properties"]), names(&ordinary()["pack"]));
    let answer = &schema["$defs"]["answer"]["properties"];
    let told = told(&ordinary());
    assert_eq!(names(answer), names(&told));
    let plan = &answer["plans"]["items"]["properties"];
    assert_eq!(names(plan), names(&told["plans"][0]));
    assert_eq!(
        names(&plan["told"]["properties"]),
        names(&told["plans"][0]["told"])
    );
}

/// One charge has one time, whoever is asked: a cell holds up to a twelfth more than its label or some less (common practice, no
/// source). A plan doubts its volts more, since nobody knows whether it had lain for an hour.
#[test]
fn a_plan_s_range_holds_what_charge_time_tells_of_the_same_charge() {
    for cell_v in [3.55, 3.7, 3.8, 3.9, 4.05] {
        let mut given = with("/pack/cells", json!(1));
        given["pack"]["cell_volts"] = json!([cell_v]);
        given["pack"]["capacity_mah"] = json!(1_000);
        given["pack_celsius"] = json!(25);
        let plan = told(&given)["plans"][0].clone();
        let time = json!({
            "chemistry": "lipo", "cells": 1, "capacity_mah": 1_000, "current_ma": plan["current_ma"], "start_cell_v": cell_v,
        });
        let time = answered(Calculation::ChargeTime, &time).expect("an answer");
        let number = |told: &Value, name: &str| told[name].as_f64().expect("minutes");
        assert!(
            number(&plan, "minutes_low") <= number(&time, "minutes_low")
                && number(&plan, "minutes_high") >= number(&time, "minutes_high"),
            "{cell_v} V: {plan} {time}"
        );
    }
}

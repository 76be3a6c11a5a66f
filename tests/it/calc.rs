//! The trade's computations by the real program: `sandbucket calc`, JSON on standard input and output.

use serde_json::{Value, json};
use std::io::Write;
use std::process::{Command, Output, Stdio};

fn calc(verbs: &[&str], given: &str) -> Output {
    let mut child = Command::new(env!("CARGO_BIN_EXE_sandbucket"))
        .env_clear()
        .arg("calc")
        .args(verbs)
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .expect("the program runs");
    let mut stdin = child.stdin.take().expect("its input");
    stdin.write_all(given.as_bytes()).expect("it reads");
    drop(stdin);
    child.wait_with_output().expect("it ends")
}

fn told(output: &Output) -> Value {
    assert!(
        output.stderr.is_empty(),
        "{}",
        String::from_utf8_lossy(&output.stderr)
    );
    serde_json::from_slice(&output.stdout).expect("JSON")
}

const CHARGE: &str =
    r#"{"chemistry":"lipo","cells":2,"capacity_mah":450,"current_ma":450,"start_cell_v":3.7}"#;

#[test]
fn a_charge_time_is_computed_from_standard_input() {
    let output = calc(&["charge-time"], CHARGE);
    assert_eq!(output.status.code(), Some(0));
    let told = told(&output);
    let minutes = |name: &str| told[name].as_f64().expect("minutes");
    assert!(
        minutes("minutes_low") < minutes("minutes") && minutes("minutes") < minutes("minutes_high"),
        "{told}"
    );
}

#[test]
fn bad_input_exits_with_two_and_names_the_field_in_json() {
    for (given, field) in [
        (CHARGE.replace("450,\"cur", "-3,\"cur"), "capacity_mah"),
        (CHARGE.replace("3.7", "\"full\""), "start_cell_v"),
        (CHARGE.replace("lipo", "lead"), "chemistry"),
        (CHARGE.replace("\"lipo\"", "null"), "chemistry"),
        (
            CHARGE.replace("\"cells\":2", "\"cells\":2,\"cells\":3"),
            "cells",
        ),
        (
            CHARGE
                .replace("450,\"cur", "100000,\"cur")
                .replace("3.7}", "3.7,\"power_limit_w\":0.01}"),
            "power_limit_w",
        ),
        (
            CHARGE.replace("3.7}", "3.7,\"stop_cell_v\":3.6}"),
            "stop_cell_v",
        ),
        ("{".to_owned(), ""),
        (String::new(), ""),
    ] {
        let output = calc(&["charge-time"], &given);
        assert_eq!(output.status.code(), Some(2), "{given}");
        let told = told(&output);
        assert_eq!(told["field"], json!(field), "{given}: {told}");
        let words = told["error"].as_str().expect("words");
        assert!(!words.is_empty() && !words.contains("map"), "{words}");
    }
    let nonsense = calc(&["nonsense"], "{}");
    assert_eq!(nonsense.status.code(), Some(2));
}

const PLAN: &str = r#"{
    "pack": {"chemistry":"lipo","cells":3,"capacity_mah":2200,"cell_volts":[3.7,3.7,3.7],"connector":"xt60","balance_connector":"jst-xh"},
    "pack_celsius": 21, "room_celsius": 21, "purpose": {"there_minutes": 240},
    "chargers": [{"number":"C-02","spec":{"kind":"charger","chemistries":["lipo"],"cells_from":1,"cells_to":6,
        "current_min_ma":100,"current_max_ma":10000,"current_step_ma":100,"charge_mw":120000,"discharge_mw":5000,
        "modes":["balance"],"has_mah_cutoff":true,"has_time_cutoff":true,"outputs":1,"output_connector":"xt60",
        "balance_connector":"jst-xh","current_memory":{"wakes":"remembers"},"input":{"takes":"usb_pd","mw":65000},
        "fixed_through_balance":null,"can_boost":true}}],
    "supplies": [{"number":"S-05","spec":{"kind":"supply","gives":"usb_pd","shared_mw":null,
        "ports":[{"levels":[{"mv":5000,"ma":3000},{"mv":9000,"ma":3000},{"mv":15000,"ma":3000}]}]}}]
}"#;

/// The trade's worked values 46 and 47: three cells at 2.2 A draw 32.6 W, and 45 W are enough; six cells are held back to
/// 45 x 0.85 / 25.2 V = 1.52 A, which this charger is set to in tenths.
#[test]
fn a_charge_plan_is_computed_from_standard_input_and_bad_kit_named() {
    let output = calc(&["charge-plan"], PLAN);
    assert_eq!(output.status.code(), Some(0));
    let three = told(&output);
    let plan = &three["plans"][0];
    assert_eq!(three["answer"], json!("plans"));
    assert_eq!(
        (plan["current_ma"].clone(), plan["drawn_mw"].clone()),
        (json!(2_200), json!(32_611))
    );
    let six = PLAN
        .replace("\"cells\":3", "\"cells\":6")
        .replace("[3.7,3.7,3.7]", "[3.7,3.7,3.7,3.7,3.7,3.7]")
        .replace("\"capacity_mah\":2200", "\"capacity_mah\":5000");
    let six = told(&calc(&["charge-plan"], &six));
    assert_eq!(six["plans"][0]["current_ma"], json!(1_500));
    assert_eq!(six["plans"][0]["limits"][0]["what"], json!("S-05"));
    let bad = calc(&["charge-plan"], &PLAN.replace("120000", "-1"));
    assert_eq!(bad.status.code(), Some(2));
    assert_eq!(told(&bad)["field"], json!("chargers[0].spec.charge_mw"));
    let low = told(&calc(
        &["charge-plan"],
        &PLAN.replace("[3.7,3.7,3.7]", "[3.7,2.9,3.7]"),
    ));
    assert_eq!(
        (low["answer"].clone(), low["plans"].clone()),
        (json!("stop"), json!([]))
    );
}

#[test]
fn a_connector_that_nobody_knows_and_power_that_is_drawn_from_nowhere_are_named() {
    let with = |from: &str, to: &str| calc(&["charge-plan"], &PLAN.replace(from, to));
    let known = with("\"connector\":\"xt60\"", "\"connector\":\"XT-60\"");
    assert_eq!(told(&known)["plans"][0]["plugs"], json!(["xt60"]));
    for (from, to, field) in [
        (
            "\"connector\":\"xt60\"",
            "\"connector\":\"xt61\"",
            "pack.connector",
        ),
        (
            "\"number\":\"C-02\"",
            "\"number\":\"C-02\",\"running\":[{\"output\":1,\"supply\":\"S-06\",\"input_mw\":1000}]",
            "chargers[0].running[0].supply",
        ),
    ] {
        let output = with(from, to);
        assert_eq!(output.status.code(), Some(2), "{to}");
        assert_eq!(told(&output)["field"], json!(field));
    }
}

/// Section 0 of the trade's facts: over 0.10 V balance and read again, over 0.20 V out of service.
#[test]
fn cells_that_stand_far_apart_get_a_balance_or_no_settings_at_all() {
    let plan = |cells: &str| {
        let rested = PLAN.replace("[3.7,3.7,3.7]", &format!("{cells},\"rested\":true"));
        told(&calc(&["charge-plan"], &rested))
    };
    for cells in ["[3.1,4.1,4.1]", "[3.6,3.9,3.9]"] {
        let stopped = plan(cells);
        assert_eq!(stopped["answer"], json!("stop"), "{stopped}");
    }
    // The ahead ones are bled off for hours, and somebody must be there.
    let alone = plan("[3.7,3.85,3.85]");
    assert_eq!(alone["plans"], json!([]));
    let wide = PLAN.replace("[3.7,3.7,3.7]", "[3.7,3.85,3.85],\"rested\":true");
    let wide = wide.replace("\"there_minutes\": 240", "\"there_minutes\": 400");
    let wide = told(&calc(&["charge-plan"], &wide));
    assert_eq!(wide["plans"][0]["mode"], json!("balance"), "{wide}");
    assert_eq!(
        wide["plans"][0]["cautions"][0]["what"],
        json!("spread_wide")
    );
}

#[test]
fn the_charge_that_volts_tell_is_computed_and_each_schema_printed() {
    let output = calc(
        &["soc"],
        r#"{"chemistry":"lifepo4","cell_v":3.28,"temperature_c":null}"#,
    );
    assert_eq!(
        told(&output),
        json!({ "soc_percent": null, "soc_low_percent": 20.0, "soc_high_percent": 90.0 })
    );
    for name in ["charge-plan", "charge-time", "soc", "verdict"] {
        let output = calc(&["schema", name], "");
        assert_eq!(output.status.code(), Some(0));
        let schema = told(&output);
        assert_eq!(
            (schema["type"].clone(), schema["title"].clone()),
            (json!("object"), json!(name))
        );
    }
}

#[test]
fn a_calculation_that_there_is_not_is_told_in_json_too() {
    for (verbs, field) in [
        (&["ageing"][..], "calculation"),
        (&[], "calculation"),
        (&["schema", "ageing"], "name"),
        (&["schema"], "name"),
        (&["soc", "--quick"], "calculation"),
    ] {
        let output = calc(verbs, "");
        assert_eq!(output.status.code(), Some(2), "{verbs:?}");
        let wrong = told(&output);
        assert_eq!(wrong["field"], field, "{wrong}");
        assert!(
            wrong["error"]
                .as_str()
                .is_some_and(|words| words.len() > 10),
            "{wrong}"
        );
    }
}

const READINGS: &str = r#"{"pack":{"chemistry":"lipo","cells":2,"capacity_mah":450},"readings":[
    {"days_ago":30,"cell_volts":[3.9,3.9],"rested_minutes":60,"resistance_mohm":[11,11],"meter":"C-02","temperature_c":20},
    {"days_ago":0,"cell_volts":[3.9,3.9],"rested_minutes":60,"resistance_mohm":[11.5,24],"meter":"C-02","temperature_c":20}]}"#;

#[test]
fn a_verdict_is_told_from_readings_and_a_wrong_one_is_named() {
    let output = calc(&["verdict"], READINGS);
    assert_eq!(output.status.code(), Some(0));
    let verdict = told(&output);
    assert_eq!(verdict["state"], json!("set_aside"));
    assert_eq!(
        verdict["findings"][0]["words"],
        json!("Cell 2 has 2.2 times the resistance it had 30 days ago; the club's limit is 2.")
    );
    for (label, field) in [
        ("\"label_full_v\":3.0", "pack.label_full_v"),
        ("\"label_lowest_v\":4.5", "pack.label_lowest_v"),
    ] {
        let label = format!("\"capacity_mah\":450,{label}");
        let odd = READINGS.replace("\"capacity_mah\":450", &label);
        assert_eq!(told(&calc(&["verdict"], &odd))["field"], json!(field));
    }
    let output = calc(&["verdict"], &READINGS.replace("[11.5,24]", "[11.5]"));
    assert_eq!(output.status.code(), Some(2));
    assert_eq!(told(&output)["field"], json!("readings[1].resistance_mohm"));
}

#[test]
fn a_cell_that_shows_nothing_is_asked_about_until_somebody_says_that_it_is_so() {
    let verdict = |confirmed: &str| {
        let given = r#"{"pack":{"chemistry":"lipo","cells":2,"capacity_mah":450},"readings":[
            {"days_ago":1,"cell_volts":[3.85,0.99],"rested_minutes":60,"confirmed":X},
            {"days_ago":0,"cell_volts":[3.85,3.85],"rested_minutes":60}]}"#;
        told(&calc(&["verdict"], &given.replace('X', confirmed)))
    };
    assert_eq!(verdict("true")["state"], json!("quarantine"));
    assert_eq!(verdict("null")["state"], json!("fit"));
    let wrong = calc(
        &["verdict"],
        &READINGS.replace("\"meter\"", "\"confirmed\":1,\"meter\""),
    );
    assert_eq!(told(&wrong)["field"], json!("readings[0].confirmed"));
}

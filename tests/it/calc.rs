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
        ("{".to_owned(), ""),
        (String::new(), ""),
    ] {
        let output = calc(&["charge-time"], &given);
        assert_eq!(output.status.code(), Some(2), "{given}");
        let told = told(&output);
        assert_eq!(told["field"], json!(field), "{given}: {told}");
        assert!(
            told["error"]
                .as_str()
                .is_some_and(|words| !words.is_empty())
        );
    }
    let nonsense = calc(&["nonsense"], "{}");
    assert_eq!(nonsense.status.code(), Some(2));
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
    for name in ["charge-time", "soc"] {
        let output = calc(&["schema", name], "");
        assert_eq!(output.status.code(), Some(0));
        let schema = told(&output);
        assert_eq!(
            (schema["type"].clone(), schema["title"].clone()),
            (json!("object"), json!(name))
        );
    }
}

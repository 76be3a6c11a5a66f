//! Which column is what. Names are those of the Battery Data Format 0.1.0.

use super::How;
use crate::club::log_file::columns::Pair;
use crate::club::log_file::fields::Field;
use crate::club::log_file::units::Unit;
use crate::club::log_file::words::LogFileProblem;
use crate::club::log_file::{LogFile, columns, read};

fn log(text: &str) -> LogFile {
    read(text.as_bytes(), &[]).unwrap_or_else(|problem| panic!("{problem}\n{text}"))
}

fn refusal(text: &str) -> String {
    let problem = read(text.as_bytes(), &[]).expect_err(text);
    problem.to_string()
}

/// Seconds, volts and amps of the first log in a file.
fn three(file: &LogFile) -> Vec<(f64, f64, f64)> {
    let samples = file.runs[0].samples().iter();
    samples
        .map(|each| (each.seconds, each.volts, each.amps))
        .collect()
}

#[test]
fn headings_whose_word_and_unit_are_plain_are_taken_and_others_are_asked_about() {
    let file = log(
        "Elapsed time (min),Battery voltage [mV],I/mA,Temp. (°C),Charge capacity (mAh),Note\n0,3900,450,21,0,a\n1.5,3950,450,22,11,b\n",
    );
    let second = file.runs[0].samples()[1];
    assert_eq!(
        (second.seconds, second.volts, second.amps),
        (90.0, 3.95, 0.45)
    );
    assert_eq!(
        (second.celsius, second.charging_ah),
        (Some(22.0), Some(0.011))
    );
    assert!(
        file.columns[..5]
            .iter()
            .all(|each| each.how == Some(How::Guessed))
    );
    assert_eq!(file.columns[5].ours, None);
    let clock = log("Time (hh:mm:ss);mV;mA\n0:00:10;3900;-450\n0:01:10;3890;-450\n");
    assert_eq!(three(&clock), [(10.0, 3.9, -0.45), (70.0, 3.89, -0.45)]);
    // No unit; two that could be it; a word that makes it another thing.
    for (headings, cells) in [
        ("Time,Voltage,Current", "0,4,1"),
        (
            "Time (s),Cell voltage (V),Pack voltage (V),Current (A)",
            "0,4,12,1",
        ),
        ("Time (s),Set voltage (V),Current (A)", "0,4,1"),
    ] {
        let problem = read(format!("{headings}\n{cells}\n").as_bytes(), &[]).expect_err(headings);
        let is_asked = matches!(&problem, LogFileProblem::ColumnsMissing { missing, .. } if missing.contains(&Field::Volts));
        assert!(is_asked, "{headings}: {problem}");
    }
}

#[test]
fn what_somebody_chose_goes_before_names_and_guesses() {
    let text = "t,Voltage / V,Cell,Amps (A)\n0,12.1,4100,1\n60000,12.0,4000,1\n";
    let pair = |theirs: &str, ours| Pair {
        theirs: theirs.to_owned(),
        ours,
    };
    let chosen = [
        pair("t", Some((Field::Time, Unit::Millisecond))),
        pair("Cell", Some((Field::Volts, Unit::Millivolt))),
    ];
    let file = read(text.as_bytes(), &chosen).expect("a log");
    assert_eq!(three(&file), [(0.0, 4.1, 1.0), (60.0, 4.0, 1.0)]);
    assert_eq!(file.columns[1].ours, None, "one column is the volts");
    assert_eq!(file.columns[2].how, Some(How::Chosen));
    let left_out = [chosen[0].clone(), chosen[1].clone(), pair("Amps (A)", None)];
    let problem = read(text.as_bytes(), &left_out).expect_err("no current");
    assert!(
        problem
            .to_string()
            .starts_with("No column is plainly the current"),
        "{problem}"
    );
}

#[test]
fn a_choice_that_can_not_be_is_told() {
    let text = "t,u,i\n0,4,1\n1,4,1\n";
    let told = |pairs: &[(&str, Field, Unit)]| {
        let pairs: Vec<Pair> = pairs
            .iter()
            .map(|(theirs, field, unit)| Pair {
                theirs: (*theirs).to_owned(),
                ours: Some((*field, *unit)),
            })
            .collect();
        read(text.as_bytes(), &pairs)
            .expect_err("refused")
            .to_string()
    };
    assert_eq!(
        told(&[("x", Field::Time, Unit::Second)]),
        "No column of this file is called “x”."
    );
    assert_eq!(
        told(&[("t", Field::Time, Unit::Volt)]),
        "Column “t” can't have the time in that unit."
    );
    assert_eq!(
        told(&[
            ("t", Field::Time, Unit::Second),
            ("u", Field::Time, Unit::Second)
        ]),
        "Both “t” and “u” are taken for the time. Choose one."
    );
    let twice = refusal("Test Time / s,voltage_volt,Voltage / V,Current / A\n0,4,4,1\n");
    assert_eq!(
        twice,
        "Both “voltage_volt” and “Voltage / V” are taken for the volts. Choose one."
    );
}

#[test]
fn the_columns_are_shown_for_choosing_before_a_log_can_be_read() {
    let shown = columns(b"When,Voltage / V,I (mA)\n0,4,1\n", &[]).expect("columns");
    let ours: Vec<Option<(Field, Unit)>> = shown.iter().map(|each| each.ours).collect();
    assert_eq!(
        ours,
        [
            None,
            Some((Field::Volts, Unit::Volt)),
            Some((Field::Amps, Unit::Milliampere))
        ]
    );
}

#[test]
fn a_column_that_is_needed_and_not_there_is_told_by_name_with_what_the_file_has() {
    assert_eq!(
        refusal("Test Time / s,Power / W,Value\n0,4,1\n1,4,1\n"),
        "No column is plainly the volts (“Voltage / V”) or the current (“Current / A”). Say which it is, and its unit: \
        the file has “Test Time / s”, “Power / W”, “Value”."
    );
}

#[test]
fn every_field_and_unit_is_found_again_by_its_code() {
    for field in Field::all() {
        assert_eq!(Field::from_code(&field.code()), Some(field));
        assert!(!field.units().is_empty());
    }
    for unit in Unit::ALL {
        assert_eq!(Unit::from_label(unit.label()), Some(unit));
        assert!(
            Field::all().any(|field| field.units().contains(&unit)),
            "{unit:?}"
        );
    }
    assert_eq!(Field::from_code("power_watt"), None);
    assert_eq!(Unit::from_label("kV"), None);
}

#[test]
fn the_first_unit_of_a_field_is_the_formats_own() {
    for field in Field::all() {
        let own = field.units()[0];
        assert_eq!(own.factor(), 1.0, "{field:?}");
        assert!(field.label().ends_with(own.label()), "{field:?}");
    }
}

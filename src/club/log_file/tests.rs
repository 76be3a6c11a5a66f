//! Logs as programs write them, and as nobody should. The names of columns are those of the Battery Data Format 0.1.0.

use super::columns::How;
use super::*;
use crate::battery::log::LogProblem;
use proptest::prelude::*;

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

fn told(file: &LogFile) -> Vec<String> {
    file.notes.iter().map(Note::to_string).collect()
}

#[test]
fn a_file_in_the_open_format_is_read_by_its_labels_or_its_machine_readable_names() {
    let labels = "Test Time / s,Voltage / V,Current / A,Cycle Count / 1,Step Count / 1,Surface Temperature T1 / degC,\
        Ambient Temperature / degC,Charging Capacity / Ah,Discharging Capacity / Ah,Net Capacity / Ah,Internal Resistance / Ohm,\
        Unix Time / s,Power / W\n0,4.2,-1,3,7,31,25,0,0.1,-0.1,0.02,1700000000,-4.2\n10,4.1,-1,3,7,32,25,0,0.2,-0.2,0.03,1700000010,-4.1\n";
    let names = labels.replace(
        labels.lines().next().expect("a heading"),
        "test_time_second,voltage_volt,current_ampere,cycle_count,step_count,temperature_t1_celsius,ambient_temperature_celsius,\
        charging_capacity_ah,discharging_capacity_ah,net_capacity_ah,internal_resistance_ohm,unix_time_second,power_watt",
    );
    for text in [labels, &names] {
        let file = log(text);
        let first = Sample {
            seconds: 0.0,
            volts: 4.2,
            amps: -1.0,
            celsius: Some(31.0),
            cycle: Some(3),
            step: Some(7),
            charging_ah: Some(0.0),
            discharging_ah: Some(0.1),
            net_ah: Some(-0.1),
            stated_ohm: Some(0.02),
            ..Sample::default()
        };
        assert_eq!(file.runs[0].samples()[0], first);
        assert!(file.notes.is_empty(), "{:?}", file.notes);
        let named = file
            .columns
            .iter()
            .filter(|each| each.how == Some(How::Named));
        assert_eq!(named.count(), 11, "all but the clock and the power");
    }
}

#[test]
fn ohm_is_taken_with_a_small_or_a_large_letter_and_spaces_play_no_role() {
    for heading in [
        "Internal Resistance / ohm",
        "Internal Resistance / Ohm",
        "internal resistance/OHM",
    ] {
        let file = log(&format!(
            "Test Time / s,Voltage / V,Current / A,{heading}\n0,4,1,0.02\n1,4,1,0.03\n"
        ));
        assert_eq!(
            file.runs[0].samples()[1].stated_ohm,
            Some(0.03),
            "{heading}"
        );
    }
}

#[test]
fn comments_above_the_headings_are_passed_over_and_lines_are_counted_with_them() {
    let head =
        "# cell: a pouch\r\n\r\n# source: a bench\r\nTest Time / s,Voltage / V,Current / A\r\n";
    assert_eq!(
        three(&log(&format!("{head}0,4,1\r\n1,4.1,1\r\n"))),
        [(0.0, 4.0, 1.0), (1.0, 4.1, 1.0)]
    );
    let wrong = refusal(&format!("{head}0,4,1\r\n1,x,1\r\n2,4,1\r\n"));
    assert_eq!(wrong, "Line 6, column “Voltage / V”: 'x' is no number.");
    let unclosed = refusal(&format!("{head}0,4,1\r\n1,\"4,1\r\n"));
    assert!(unclosed.starts_with("Line 6, column 2:"), "{unclosed}");
}

#[test]
fn decimal_commas_with_semicolons_tabs_or_quotation_marks_are_read() {
    let same = [(0.0, 4.15, -0.5), (1.5, 4.125, -0.5)];
    for text in [
        "Test Time / s;Voltage / V;Current / A\n0;4,15;-0,5\n1,5;4,125;-0,5\n",
        "Test Time / s\tVoltage / V\tCurrent / A\n0\t4,15\t-0,5\n1,5\t4,125\t-0,5\n",
        "Test Time / s,Voltage / V,Current / A\n0,\"4,15\",\"-0,5\"\n\"1,5\",\"4,125\",\"-0,5\"\n",
        "sep=;\nTest Time / s;Voltage / V;Current / A\n0;4.15;-0.5\n1.5;4.125;-0.5\n",
    ] {
        assert_eq!(three(&log(text)), same, "{text}");
    }
}

#[test]
fn commas_that_could_be_two_things_are_told() {
    let unquoted = refusal("Test Time / s,Voltage / V,Current / A\n0,4,15,-0,5\n");
    assert_eq!(
        unquoted,
        "Line 2 has more cells than there are headings. Is a decimal comma in it, without quotation marks?"
    );
    let thousands = refusal("Test Time / s;Voltage / V;Current / A\n999;4.1;1\n1,000;4.1;1\n");
    assert!(
        thousands.starts_with("Line 3, column “Test Time / s”: '1,000' has another decimal mark"),
        "{thousands}"
    );
}

#[test]
fn what_is_no_log_is_refused_in_a_sentence() {
    for (text, sentence) in [
        ("", "There is nothing in this file."),
        ("\n\n", "There is nothing in this file."),
        ("# only a comment", "There is nothing in this file."),
        (
            "Test Time / s,Voltage / V,Current / A\n",
            "Below the headings in line 1 stands nothing.",
        ),
        (
            "Test Time / s,Voltage / V,Current / A\n0,4,1\n",
            "Line 2: This log has one reading. It takes two to tell anything.",
        ),
        (
            "Test Time / s,Voltage / V,Current / A\n5,4,1\n5,4,1\n",
            "Line 2: All readings of this log have the same time.",
        ),
        (
            "Test Time / s,Voltage / V,Current / A\n0,4,1\n9,4,1\n8,4,1\n",
            "Line 4: The time goes back, from 9 s to 8 s.",
        ),
        (
            "Test Time / s,Voltage / V,Current / A\n9,4,1\n8,4,1\n",
            "Line 3: The time goes back, from 9 s to 8 s.",
        ),
        (
            "Test Time / s,Voltage / V,Current / A\n0,4,1\n1,,1\n2,4,1\n",
            "Line 3, column “Voltage / V”: nothing stands here. A number is needed.",
        ),
        (
            "Test Time / s,Voltage / V,Current / A\n0,4,1\n1,4100,1\n2,4,1\n",
            "Line 3: 4100 V is no voltage of a pack. Is it in millivolts?",
        ),
        (
            "Test Time / s,Voltage / V,Current / A\n0,4,1\n1,4,NaN\n2,4,1\n",
            "Line 3, column “Current / A”: 'NaN' is no number.",
        ),
    ] {
        assert_eq!(refusal(text), sentence, "{text:?}");
    }
    let workbook = read(b"PK\x03\x04", &[])
        .expect_err("a workbook")
        .to_string();
    assert!(workbook.contains("workbook"), "{workbook}");
}

#[test]
fn too_long_and_too_large_files_are_told_with_the_limit_and_their_own_size() {
    let rows = |count: usize| -> String {
        let head = "Test Time / s,Voltage / V,Current / A\n".to_owned();
        head + &(0..count)
            .map(|at| format!("{at},4,1\n"))
            .collect::<String>()
    };
    let most = log(&rows(MOST_ROWS));
    assert_eq!(most.runs[0].samples().len(), 50_000);
    let told = refusal(&rows(MOST_ROWS + 1));
    assert!(
        told.starts_with("A log has at most 50,000 rows below its headings; this one has 50001."),
        "{told}"
    );
    let told = refusal(&"x".repeat(MOST_BYTES + 1024 * 1024));
    assert!(
        told.starts_with("A log has at most 10 MB; this file has 11.0 MB."),
        "{told}"
    );
}

#[test]
fn a_file_that_ends_early_is_told_and_its_cut_line_is_left_out() {
    let whole =
        "Test Time / s,Voltage / V,Current / A,Cycle Count / 1\n0,4,1,1\n1,4.1,1,1\n2,4.2,1,1\n";
    assert!(told(&log(whole)).is_empty());
    for cut in ["2,4.2,1,", "2,4.2,1", "2,4.2", "2,4.2,-", "2"] {
        let file = log(&whole.replace("2,4.2,1,1\n", cut));
        assert_eq!(file.runs[0].samples().len(), 2, "{cut}");
        assert_eq!(
            told(&file),
            [
                "The file ends in the middle of line 4. That line was left out; there may have been more."
            ],
            "{cut}"
        );
    }
    let without_line_end = log(whole.trim_end());
    assert_eq!(without_line_end.runs[0].samples().len(), 3);
    assert_eq!(
        told(&without_line_end),
        [
            "The last line has no line end. If the file was cut off there, its last number is cut as well."
        ]
    );
    let with_words_below = log(&(whole.to_owned() + "finished\n"));
    assert_eq!(with_words_below.runs[0].samples().len(), 3);
    assert_eq!(told(&with_words_below).len(), 1);
}

#[test]
fn a_column_that_is_not_needed_and_no_numbers_is_left_out_and_told() {
    let file = log(
        "Test Time / s,Voltage / V,Current / A,Step Count / 1\n0,4,1,1\n1,4.1,1,CC_Chg\n2,4.1,1,\n",
    );
    assert!(
        file.runs[0]
            .samples()
            .iter()
            .all(|each| each.step.is_none())
    );
    assert_eq!(
        told(&file),
        ["Column “Step Count / 1” was left out: in line 3 'CC_Chg' is no number that fits."]
    );
}

#[test]
fn where_the_time_begins_anew_another_log_begins() {
    let head = "Test Time / s,Voltage / V,Current / A\n".to_owned();
    let file = log(&(head.clone() + "0,4,1\n9,4.1,1\n0,4,2\n9,4.1,2\n"));
    assert_eq!(
        file.runs
            .iter()
            .map(|run| run.samples()[0].amps)
            .collect::<Vec<f64>>(),
        [1.0, 2.0]
    );
    assert_eq!(
        told(&file),
        ["The time begins anew within the file: it holds 2 logs, one after the other."]
    );
    let steps = refusal(&(head + &"0,4,1\n9,4.1,1\n".repeat(MOST_RUNS + 1)));
    assert!(
        steps.starts_with("The time begins anew 20 times. Is that the time of each step?"),
        "{steps}"
    );
}

#[test]
fn an_old_spreadsheet_programs_letters_are_read() {
    let file = read(
        b"Time (s);Voltage (V);Current (A);Temp (\xb0C)\n0;4;1;21\n1;4;1;22\n",
        &[],
    )
    .expect("a log");
    assert_eq!(file.runs[0].samples()[1].celsius, Some(22.0));
}

proptest! {
    #[test]
    fn no_text_stops_the_reader(text in "(#[a-z]{0,5}\n)?.{0,200}", bytes in proptest::collection::vec(any::<u8>(), 0..200)) {
        let _ = (read(text.as_bytes(), &[]), read(&bytes, &[]), columns(&bytes, &[]));
    }

    #[test]
    fn no_rows_stop_the_reader_nor_what_reads_the_log(
        rows in proptest::collection::vec("(-?[0-9]{0,4}[.,]?[0-9]{0,2}[,;\t]){0,4}[0-9a-z\"]{0,3}", 0..30),
        separator in "[,;\t]",
    ) {
        let head = ["Test Time / s", "Voltage / V", "Current / A", "Step Count / 1", "Discharging Capacity / Ah"].join(&separator);
        let text = format!("{head}\n{}", rows.join("\n"));
        if let Ok(file) = read(text.as_bytes(), &[]) {
            for run in file.runs {
                let count = run.samples().len();
                let _ = run.sign();
                let log = run.with_sign(crate::battery::log::current_sign::CurrentSign::ChargingIsPositive);
                prop_assert_eq!(log.parts().iter().map(|part| part.readings().len()).sum::<usize>(), count);
                let _ = (log.moved(), log.sweeps(), log.edges(10.0), log.differing());
            }
        }
    }

    #[test]
    fn wherever_a_file_is_cut_no_number_is_read_that_was_not_in_it(at in 0_usize..10_000) {
        let whole = include_str!("../../../tests/reference/measured/nmc_pouch_hppc_relaxation.csv");
        let all = log(whole);
        let at = 700 + at % (whole.len() - 700);
        match read(&whole.as_bytes()[..at], &[]) {
            Ok(cut) => {
                let (cut_rows, all_rows) = (cut.runs[0].samples(), all.runs[0].samples());
                let sure = cut_rows.len() - usize::from(cut.notes.contains(&Note::NoLineEnd));
                prop_assert_eq!(&cut_rows[..sure], &all_rows[..sure]);
                prop_assert!(!cut.notes.is_empty() || whole.as_bytes()[at - 1] == b'\n');
            }
            Err(problem) => prop_assert!(
                matches!(problem, LogFileProblem::Log { problem: LogProblem::OneReading { .. }, .. } | LogFileProblem::NothingBelow { .. } | LogFileProblem::ColumnsMissing { .. }),
                "{}", problem
            ),
        }
    }
}

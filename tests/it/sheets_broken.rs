//! Broken spreadsheets, thrown with dice: a good sheet of packs with one thing in it broken. Each is told by line and column,
//! and changes nothing on record but the sheet that is kept. `SANDBUCKET_TEST_SEED` throws the same dice again.

use crate::sheets_in::sent;
use crate::support::*;
use std::collections::BTreeMap;

const HEADINGS: [&str; 10] = [
    "Number",
    "Design",
    "Chemistry",
    "Cells",
    "Capacity",
    "Connector",
    "Balance",
    "Maker",
    "Bought",
    "Place",
];

fn good(rows: usize) -> Vec<Vec<String>> {
    let cell = |text: &str| text.to_owned();
    let row = |at: usize| {
        let cells = at % 4 + 1;
        vec![
            format!("P-{}", 100 + at),
            format!("Thrown {cells}"),
            cell("LiPo"),
            format!("{cells}S"),
            cell("450 mAh"),
            cell("XT30"),
            cell("JST-XH"),
            cell("Mill, Sons"),
            cell("2026-10-05"),
            cell(""),
        ]
    };
    (0..rows).map(row).collect()
}

/// Which column is broken, by its heading, and what stands there then.
fn bad_cell(dice: &mut Dice) -> (usize, String) {
    let all = [
        (0, "P-0"),
        (0, "Q-5"),
        (0, "seven"),
        (0, "P-9999999"),
        (1, "=\"\""),
        (2, "Unobtainium"),
        (3, "99"),
        (3, "three"),
        (3, "-1"),
        (4, "much"),
        (4, "5 V"),
        (4, "-450"),
        (4, "1.2.3"),
        (4, "0"),
        (4, "999999999999"),
        (5, "XT-61"),
        (6, "perhaps"),
        (8, "soon"),
        (8, "2026-13-40"),
        (8, "31.2.2026"),
        (8, "2027-01-01"),
        (8, "5.10.26"),
        (9, "The moon"),
    ];
    let (at, text) = all[dice.throw(all.len() + 1).min(all.len() - 1)];
    match dice.throw(12) {
        0 => (7, "x".repeat(501)),
        1 => (7, "x".repeat(2_001)),
        // An empty name is one that describes a design: break its chemistry instead.
        _ if at == 1 => (2, "?".to_owned()),
        _ => (at, text.to_owned()),
    }
}

fn written(rows: &[Vec<String>], separator: char) -> Vec<String> {
    let quoted = |cell: &String| format!("\"{}\"", cell.replace('"', "\"\""));
    let line = |cells: &Vec<String>| {
        cells
            .iter()
            .map(quoted)
            .collect::<Vec<_>>()
            .join(&separator.to_string())
    };
    let head = HEADINGS
        .iter()
        .map(|heading| (*heading).to_owned())
        .collect();
    std::iter::once(&head).chain(rows).map(line).collect()
}

/// The sheet, and what is told of it: the line, and the column by number or heading.
fn broken(dice: &mut Dice) -> (String, usize, Vec<String>) {
    let mut rows = good(dice.throw(12) + 2);
    let at = dice.throw(rows.len());
    let separator = [',', ';', '\t'][dice.throw(3)];
    let line = at + 2;
    let by_heading = |column: usize| {
        vec![
            format!("column \u{201c}{}\u{201d}", HEADINGS[column]),
            format!("column {}", column + 1),
        ]
    };
    let ends = ["\n", "\r\n"][dice.throw(2)];
    match dice.throw(8) {
        // A quotation mark that is never closed.
        0 => {
            let mut lines = written(&rows, separator);
            lines.truncate(line);
            lines[line - 1].pop();
            (lines.join(ends), line, vec!["column 10".to_owned()])
        }
        // More behind the closing one.
        1 => {
            let mut lines = written(&rows, separator);
            lines[line - 1].push('x');
            (lines.join(ends), line, vec!["column 10".to_owned()])
        }
        // A cell too many.
        2 => {
            rows[at].push("one more".to_owned());
            (
                written(&rows, separator).join(ends),
                line,
                vec!["column 11".to_owned()],
            )
        }
        // A number that stands there twice: told at the later one.
        3 if at > 0 => {
            rows[at][0] = rows[0][0].clone();
            (written(&rows, separator).join(ends), line, by_heading(0))
        }
        _ => {
            let (column, text) = bad_cell(dice);
            rows[at][column] = text;
            (
                written(&rows, separator).join(ends),
                line,
                by_heading(column),
            )
        }
    }
}

/// All that is on record, but for what is kept of forms and sheets on their way.
async fn on_record(club: &TestClub) -> BTreeMap<String, Vec<String>> {
    let mut all = club.contents().await;
    for passing in ["sheet", "form_key", "session"] {
        all.remove(passing);
    }
    all
}

/// What the page says, a line for each thing to put right.
fn told(answer: &Answer) -> Vec<String> {
    let rows = answer.texts("#f-sheet tbody tr");
    rows.into_iter().chain(answer.problems()).collect()
}

on_both! {
    async fn each_broken_sheet_is_told_by_line_and_column_and_changes_nothing(club: TestClub) {
        club.in_full_swing(3).await;
        let before = on_record(&club).await;
        let mut dice = Dice::thrown();
        let count = share(300, 1_000);
        let cookie = club.quartermaster().await.cookie("sandbucket").expect("a session");
        for round in 0..count {
            // A program afresh: nobody sends a thousand sheets in a minute.
            let app = club.with_settings(|_| {});
            let quinn = Browser::new(&app, None);
            quinn.keep_cookie("sandbucket", &cookie);
            let (text, line, columns) = broken(&mut dice);
            let answer = sent(&quinn, "packs", text.as_bytes()).await;
            let told = told(&answer);
            let is_it = |words: &String| {
                let (line_told, column_told) = (format!("Line {line}"), columns.iter().any(|column| words.contains(column.as_str())));
                words.starts_with(&line_told) && column_told
            };
            assert!(told.iter().any(is_it), "round {round}: {line} {columns:?} of {told:?} ({})\n{text}", answer.status);
            assert!(answer.select("#f-sheet form").is_empty(), "round {round}: it can be brought in\n{text}");
            if round % 100 == 0 {
                assert_eq!(on_record(&club).await, before, "round {round}");
            }
        }
        assert_eq!(on_record(&club).await, before);
        tell_rounds(&format!("broken spreadsheets on {:?}: {count} (full count 1,000); each told by line and column, nothing changed", club.backend));
    }

    async fn the_sheet_that_is_broken_is_good_as_it_was(club: TestClub) {
        let quinn = club.quartermaster().await;
        let check = sent(&quinn, "packs", written(&good(9), ';').join("\n").as_bytes()).await;
        assert_eq!(check.one("main button.main"), "Bring in 9 packs, 4 new designs", "{}", check.text);
    }

    async fn bytes_that_are_no_sheet_at_all_make_nothing_fail(club: TestClub) {
        club.found().await;
        let cookie = club.quartermaster().await.cookie("sandbucket").expect("a session");
        let mut dice = Dice::thrown();
        for _ in 0..share(60, 1_000) {
            let app = club.with_settings(|_| {});
            let quinn = Browser::new(&app, None);
            quinn.keep_cookie("sandbucket", &cookie);
            let letters = b"\"\",;\t\r\n=+-@'a1 \xff\xfe\xc3\xa9";
            let bytes: Vec<u8> = (0..dice.throw(400)).map(|_| letters[dice.throw(letters.len())]).collect();
            let holds = ["packs", "designs", "kit"][dice.throw(3)];
            let answer = sent(&quinn, holds, &bytes).await;
            assert!(!answer.status.is_server_error(), "{bytes:?}: {}", answer.status);
        }
        assert!(club.ids("pack").await.is_empty() && club.ids("design").await.is_empty());
    }
}

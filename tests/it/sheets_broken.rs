//! Broken spreadsheets, thrown with dice: a good sheet of packs, designs or kit with one thing in it broken. Each is told by
//! line and column, and changes nothing on record but the sheet that is kept. `SANDBUCKET_TEST_SEED` throws the same dice again.

use crate::sheets_in::sent;
use crate::support::*;
use std::collections::BTreeMap;

/// A kind of sheet that is good until one thing in it is broken.
struct Good {
    holds: &'static str,
    headings: &'static [&'static str],
    row: fn(usize) -> Vec<String>,
    /// The column whose cells are each there once.
    once: usize,
    /// What can't stand in a column.
    bad: &'static [(usize, &'static str)],
    /// A column of text, and more letters than it takes.
    long: (usize, usize),
}

const PACKS: Good = Good {
    holds: "packs",
    headings: &[
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
    ],
    row: |at| {
        let cells = at % 4 + 1;
        let (number, design) = (format!("P-{}", 100 + at), format!("Thrown {cells}"));
        let cells = format!("{cells}S");
        [
            number.as_str(),
            &design,
            "LiPo",
            &cells,
            "450 mAh",
            "XT30",
            "JST-XH",
            "Mill, Sons",
            "2026-10-05",
            "",
        ]
        .map(str::to_owned)
        .to_vec()
    },
    once: 0,
    bad: &[
        (0, "P-0"),
        (0, "Q-5"),
        (0, "seven"),
        (0, "P-9999999"),
        (2, "Unobtainium"),
        (2, "?"),
        (3, "99"),
        (3, "three"),
        (3, "-1"),
        (4, "much"),
        (4, "5 V"),
        (4, "5 Wh"),
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
    ],
    long: (7, 501),
};

const DESIGNS: Good = Good {
    holds: "designs",
    headings: &[
        "Name",
        "Chemistry",
        "Cells",
        "Capacity (Ah)",
        "Connector",
        "Balance",
        "Weight (g)",
    ],
    row: |at| {
        let name = format!("Thrown {at}, wide");
        [name.as_str(), "LiPo", "3S", "0.45", "XT30", "JST-XH", "41"]
            .map(str::to_owned)
            .to_vec()
    },
    once: 0,
    bad: &[
        (0, ""),
        (1, ""),
        (1, "Unobtainium"),
        (2, "99"),
        (2, ""),
        (3, "much"),
        (3, "48 Wh"),
        (3, "201"),
        (4, "XT-61"),
        (4, ""),
        (5, "perhaps"),
        (6, "2 kg"),
        (6, "heavy"),
        (6, "60000"),
    ],
    long: (0, 61),
};

const KIT: Good = Good {
    holds: "kit",
    headings: &[
        "Kind",
        "Number",
        "Name",
        "From",
        "To",
        "Carries (W)",
        "Owned",
    ],
    row: |at| {
        let number = format!("K-{}", 10 + at);
        ["cable", &number, "long, black", "USB-C", "USB-C", "60", ""]
            .map(str::to_owned)
            .to_vec()
    },
    once: 1,
    bad: &[
        (0, "boat"),
        (0, ""),
        (1, "A-01"),
        (1, "K-0"),
        (1, "ten"),
        (3, "XT-61"),
        (4, ""),
        (5, "much"),
        (5, "5 V"),
        (5, "-60"),
        (6, "3"),
        (6, "many"),
    ],
    long: (2, 81),
};

impl Good {
    fn rows(&self, count: usize) -> Vec<Vec<String>> {
        (0..count).map(self.row).collect()
    }

    /// Which column is broken, and what stands there then.
    fn bad_cell(&self, dice: &mut Dice) -> (usize, String) {
        match dice.throw(12) {
            0 => (self.long.0, "x".repeat(self.long.1)),
            1 => (self.long.0, "x".repeat(2_001)),
            _ => {
                let (at, text) = self.bad[dice.throw(self.bad.len())];
                (at, text.to_owned())
            }
        }
    }

    /// The lines of the text, the headings first.
    fn written(&self, rows: &[Vec<String>], separator: char) -> Vec<String> {
        let quoted = |cell: &String| format!("\"{}\"", cell.replace('"', "\"\""));
        let line = |cells: &Vec<String>| {
            let cells: Vec<String> = cells.iter().map(quoted).collect();
            cells.join(&separator.to_string())
        };
        let head = self.headings.iter().map(|heading| (*heading).to_owned());
        std::iter::once(&head.collect())
            .chain(rows)
            .map(line)
            .collect()
    }

    /// The sheet, and what is told of it: the line, and the column by number or heading.
    fn broken(&self, dice: &mut Dice) -> (String, usize, Vec<String>) {
        let mut rows = self.rows(dice.throw(12) + 2);
        let at = dice.throw(rows.len());
        let separator = [',', ';', '\t'][dice.throw(3)];
        let (line, last) = (at + 2, format!("column {}", self.headings.len()));
        let by_heading = |column: usize| {
            vec![
                format!("column \u{201c}{}\u{201d}", self.headings[column]),
                format!("column {}", column + 1),
            ]
        };
        let ends = ["\n", "\r\n"][dice.throw(2)];
        let written = |rows: &[Vec<String>]| self.written(rows, separator);
        match dice.throw(8) {
            // A quotation mark that is never closed.
            0 => {
                let mut lines = written(&rows);
                lines.truncate(line);
                lines[line - 1].pop();
                (lines.join(ends), line, vec![last])
            }
            // More behind the closing one.
            1 => {
                let mut lines = written(&rows);
                lines[line - 1].push('x');
                (lines.join(ends), line, vec![last])
            }
            // A cell too many.
            2 => {
                rows[at].push("one more".to_owned());
                let beyond = format!("column {}", self.headings.len() + 1);
                (written(&rows).join(ends), line, vec![beyond])
            }
            // What may stand there once stands there twice: told at the later one.
            3 if at > 0 => {
                rows[at][self.once] = rows[0][self.once].clone();
                (written(&rows).join(ends), line, by_heading(self.once))
            }
            _ => {
                let (column, text) = self.bad_cell(dice);
                rows[at][column] = text;
                (written(&rows).join(ends), line, by_heading(column))
            }
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
            let good = [PACKS, DESIGNS, KIT].into_iter().nth(dice.throw(3)).expect("one of three");
            let (text, line, columns) = good.broken(&mut dice);
            let answer = sent(&quinn, good.holds, text.as_bytes()).await;
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

    async fn the_sheets_that_are_broken_are_good_as_they_were(club: TestClub) {
        let quinn = club.quartermaster().await;
        for (good, button) in [
            (PACKS, "Bring in 9 packs, 4 new designs"),
            (DESIGNS, "Bring in 9 new designs"),
            (KIT, "Bring in 9 pieces of kit"),
        ] {
            let text = good.written(&good.rows(9), ';').join("\n");
            let check = sent(&quinn, good.holds, text.as_bytes()).await;
            assert_eq!(check.one("main button.main"), button, "{}", check.text);
        }
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

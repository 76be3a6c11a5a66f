//! What the form for a sheet of labels says: which packs, by their running numbers, and the sheet as it was chosen or
//! measured.

use crate::bench::kit::KitKind;
use crate::club::lending::{Typed, key_of, read_numbers};
use crate::paper::presets::preset;
use crate::paper::sheet::{Paper, Sheet, read_mm};
use crate::web::fields::{Fields, Problems};

/// The sheet as it was chosen or measured.
pub(super) fn sheet_of(typed: &Fields, problems: &mut Problems) -> Option<(Sheet, i64, bool)> {
    let before = problems.list().len();
    let chosen = typed.text("sheet");
    let sheet = match (preset(&chosen), chosen.as_str()) {
        (Some(preset), _) => Some(preset.sheet),
        (None, "own") => own_sheet(typed, problems),
        _ => {
            problems.add("sheet", "Choose the sheet of labels.");
            None
        }
    }?;
    let skip = match typed.text("skip").as_str() {
        "" => Some(0),
        text => text
            .parse()
            .ok()
            .filter(|skip| (0..sheet.per_page()).contains(skip)),
    };
    let Some(skip) = skip else {
        problems.add(
            "skip",
            format!(
                "Give 0 to {}: so many labels has a sheet, less one.",
                sheet.per_page() - 1
            ),
        );
        return None;
    };
    (problems.list().len() == before).then(|| (sheet, skip, typed.is_ticked("cut")))
}

fn own_sheet(typed: &Fields, problems: &mut Problems) -> Option<Sheet> {
    let before = problems.list().len();
    let paper = problems.keep(
        "paper",
        Paper::from_code(&typed.text("paper")).ok_or("Choose the paper."),
    );
    let mut count = |field: &'static str| {
        let read = typed
            .text(field)
            .parse::<i64>()
            .ok()
            .filter(|count| (1..=99).contains(count));
        problems.keep(field, read.ok_or("Type a whole number."))
    };
    let (columns, rows) = (count("columns"), count("rows"));
    let mut length = |field: &'static str, empty: Option<i64>| {
        let text = typed.text(field);
        let read = if text.is_empty() {
            empty
        } else {
            read_mm(&text)
        };
        problems.keep(field, read.ok_or("Give millimetres, like 38.1."))
    };
    let (width, height) = (length("width", None), length("height", None));
    let (left, top) = (length("left", Some(0)), length("top", Some(0)));
    let (gap_x, gap_y) = (length("gap_x", Some(0)), length("gap_y", Some(0)));
    let fold = if typed.text("fold").is_empty() {
        None
    } else {
        length("fold", None)
    };
    let sheet = Sheet {
        paper: paper?,
        columns: columns?,
        rows: rows?,
        width: width?,
        height: height?,
        left: left?,
        top: top?,
        gap_x: gap_x?,
        gap_y: gap_y?,
        fold,
    };
    for problem in sheet.problems() {
        problems.add(problem.field, problem.words);
    }
    (problems.list().len() == before).then_some(sheet)
}

fn is_of_kit(number: &str) -> bool {
    let mut kinds = KitKind::ALL.into_iter();
    kinds.any(|kind| number.starts_with(kind.number_prefix()))
}

/// Running numbers of the packs that were named, rising.
pub(super) fn keys_of(line: &str, problems: &mut Problems) -> Vec<i64> {
    let typed = match read_numbers(line) {
        Ok(typed) => typed,
        Err(word) => {
            problems.add(
                "numbers",
                format!("“{word}” is no number. Type packs as 14 15 17-20."),
            );
            return Vec::new();
        }
    };
    let mut keys = Vec::new();
    for one in typed {
        match one {
            Typed::Packs(from, to) => keys.extend(from..=to),
            // Whatever letters stood before the numbers when it was registered.
            Typed::Number(number, 1) if !is_of_kit(&number) => keys.extend(key_of(&number)),
            Typed::Number(number, _) => problems.add("numbers", format!("{number} is no pack.")),
        }
    }
    keys.sort_unstable();
    keys.dedup();
    keys
}

//! Where on the paper each label lies, and whether a label can hold its code. Paper: ISO 216 (A4) and
//! ANSI/ASME Y14.1 (Letter). Lengths in hundredths of a millimetre.

use crate::bench::FieldProblem;

/// A code is at least so wide, without its quiet border: read by a phone at arm's length. Common practice, no source.
pub const LEAST_CODE: i64 = 2_000;
/// Larger reads no better on a pack.
const MOST_CODE: i64 = 3_600;
/// Beside or under the code: number, cells and capacity, chemistry.
const LEAST_TEXT_WIDTH: i64 = 1_500;
const LEAST_TEXT_HEIGHT: i64 = 900;

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Paper {
    A4,
    Letter,
}

impl Paper {
    pub const ALL: [Self; 2] = [Self::A4, Self::Letter];

    pub const fn code(self) -> &'static str {
        match self {
            Self::A4 => "a4",
            Self::Letter => "letter",
        }
    }

    pub fn from_code(code: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|each| each.code() == code)
    }

    pub const fn label(self) -> &'static str {
        match self {
            Self::A4 => "A4, 210 × 297 mm",
            Self::Letter => "Letter, 216 × 279 mm",
        }
    }

    /// Width and height.
    pub const fn size(self) -> (i64, i64) {
        match self {
            Self::A4 => (21_000, 29_700),
            Self::Letter => (21_590, 27_940),
        }
    }
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Sheet {
    pub paper: Paper,
    pub columns: i64,
    pub rows: i64,
    pub width: i64,
    pub height: i64,
    /// From the paper's left and upper edge to the first label.
    pub left: i64,
    pub top: i64,
    /// Between two labels.
    pub gap_x: i64,
    pub gap_y: i64,
    /// A flag folds round a lead: this much of its middle goes round it. None: a plain label.
    pub fold: Option<i64>,
}

/// Where on a label the code and the words lie: left, top, width, height from its own upper left corner.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Parts {
    /// Square; its quiet border is counted in.
    pub code: (i64, i64, i64, i64),
    pub words: (i64, i64, i64, i64),
    /// Where a flag is folded: left and right.
    pub fold: Option<(i64, i64)>,
}

impl Sheet {
    pub const fn per_page(&self) -> i64 {
        self.columns * self.rows
    }

    /// Upper left corner of the label at `index` on its page, row by row.
    pub const fn corner(&self, index: i64) -> (i64, i64) {
        let (column, row) = (index % self.columns, index / self.columns);
        (
            self.left + column * (self.width + self.gap_x),
            self.top + row * (self.height + self.gap_y),
        )
    }

    /// What of it can't be, by field.
    pub fn problems(&self) -> Vec<FieldProblem> {
        let (page_width, page_height) = self.paper.size();
        let across = self.left + self.columns * self.width + (self.columns - 1) * self.gap_x;
        let down = self.top + self.rows * self.height + (self.rows - 1) * self.gap_y;
        let mut found = Vec::new();
        let mut ask = |holds: bool, field: &'static str, words: String| {
            if !holds {
                found.push(FieldProblem { field, words });
            }
        };
        ask(
            (1..=20).contains(&self.columns),
            "columns",
            "Give 1 to 20 labels across.".to_owned(),
        );
        ask(
            (1..=40).contains(&self.rows),
            "rows",
            "Give 1 to 40 labels down.".to_owned(),
        );
        for (field, length) in [
            ("left", self.left),
            ("top", self.top),
            ("gap_x", self.gap_x),
            ("gap_y", self.gap_y),
        ] {
            ask(
                (0..=10_000).contains(&length),
                field,
                "Give 0 to 100 mm.".to_owned(),
            );
        }
        for (field, length) in [("width", self.width), ("height", self.height)] {
            ask(
                (1_000..=30_000).contains(&length),
                field,
                "Give 10 to 300 mm.".to_owned(),
            );
        }
        let fold = self.fold.unwrap_or(400);
        ask(
            (400..=10_000).contains(&fold),
            "fold",
            "Give 4 to 100 mm.".to_owned(),
        );
        if found.is_empty() && across > page_width {
            let over = mm(across - page_width);
            found.push(FieldProblem {
                field: "width",
                words: format!("Together they are {over} mm wider than the paper."),
            });
        }
        if found.is_empty() && down > page_height {
            let over = mm(down - page_height);
            found.push(FieldProblem {
                field: "height",
                words: format!("Together they are {over} mm higher than the paper."),
            });
        }
        found
    }

    /// `modules`: of the code, without and with its quiet border. The error says what is too small, by field.
    pub fn parts(&self, modules: (i64, i64)) -> Result<Parts, FieldProblem> {
        let least = (LEAST_CODE * modules.1 + modules.0 - 1) / modules.0;
        let most = MOST_CODE * modules.1 / modules.0;
        let side = |room: i64| room.min(most);
        let (width, height) = (self.width, self.height);
        if let Some(fold) = self.fold {
            let half = (width - fold) / 2;
            let side = side(half.min(height));
            if side < least {
                return Err(too_small(
                    if height < least { "height" } else { "width" },
                    least,
                    Some(fold),
                ));
            }
            return Ok(Parts {
                code: ((half - side) / 2, (height - side) / 2, side, side),
                words: (half + fold, 0, half, height),
                fold: Some((half, half + fold)),
            });
        }
        let beside = side(height.min(width - LEAST_TEXT_WIDTH));
        if beside >= least {
            return Ok(Parts {
                code: (0, (height - beside) / 2, beside, beside),
                words: (beside, 0, width - beside, height),
                fold: None,
            });
        }
        let above = side(width.min(height - LEAST_TEXT_HEIGHT));
        if above >= least {
            return Ok(Parts {
                code: ((width - above) / 2, 0, above, above),
                words: (0, above, width, height - above),
                fold: None,
            });
        }
        Err(too_small(
            if height < least { "height" } else { "width" },
            least,
            None,
        ))
    }
}

fn too_small(field: &'static str, least: i64, fold: Option<i64>) -> FieldProblem {
    let (height, width) = match fold {
        Some(fold) => (mm(least), mm(2 * least + fold)),
        None => (mm(least), mm(least + LEAST_TEXT_WIDTH)),
    };
    FieldProblem {
        field,
        words: format!(
            "Too small: a phone needs a code of 20 mm and white around it. At least {height} mm high and {width} mm wide, with this address."
        ),
    }
}

/// `38.1`
pub fn mm(length: i64) -> String {
    let text = format!("{}.{:02}", length / 100, length % 100);
    text.trim_end_matches('0').trim_end_matches('.').to_owned()
}

/// `38.1` or `38,1`, with or without its unit.
pub fn read_mm(text: &str) -> Option<i64> {
    let text = text.trim().trim_end_matches("mm").trim().replace(',', ".");
    let (whole, part) = text.split_once('.').unwrap_or((&text, ""));
    let is_number = |digits: &str, most: usize| {
        digits.len() <= most && digits.bytes().all(|digit| digit.is_ascii_digit())
    };
    if whole.is_empty() || !is_number(whole, 4) || !is_number(part, 2) {
        return None;
    }
    let whole: i64 = whole.parse().ok()?;
    let part: i64 = format!("{part:0<2}").parse().ok()?;
    Some(whole * 100 + part)
}

#[cfg(test)]
mod tests {
    use super::super::presets::PRESETS;
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn every_preset_lies_on_its_paper_and_holds_codes_of_usual_addresses() {
        for preset in &PRESETS {
            assert_eq!(preset.sheet.problems(), vec![], "{}", preset.code);
            // Versions 4 to 7: 33 to 45 modules, addresses of 35 to 86 bytes at level Q (ISO/IEC 18004, table 7).
            for modules in [33, 37, 41, 45] {
                let parts = preset
                    .sheet
                    .parts((modules, modules + 8))
                    .expect(preset.code);
                assert!(
                    parts.code.2 * modules / (modules + 8) >= LEAST_CODE,
                    "{} {modules}",
                    preset.code
                );
            }
        }
    }

    #[test]
    fn a_label_too_low_for_its_code_is_refused_with_what_it_needs() {
        let low = Sheet {
            height: 2_000,
            ..PRESETS[0].sheet
        };
        let refused = low.parts((37, 45)).expect_err("too low");
        assert_eq!(refused.field, "height");
        assert!(refused.words.contains("24.33 mm high"), "{}", refused.words);
    }

    #[test]
    fn lengths_are_written_without_idle_zeros() {
        assert_eq!([3_810, 2_500, 5].map(mm), ["38.1", "25", "0.05"]);
        assert_eq!(
            ["38.1", "25 mm", "0,05", "63.555", "x", "", "-3"].map(read_mm),
            [Some(3_810), Some(2_500), Some(5), None, None, None, None]
        );
    }

    proptest! {
        #[test]
        fn code_and_words_stay_on_the_label_and_apart(
            width in 1_000_i64..12_000, height in 1_000_i64..8_000, fold in proptest::option::of(400_i64..4_000), modules in 21_i64..60,
        ) {
            let sheet = Sheet { width, height, fold, ..PRESETS[0].sheet };
            if let Ok(parts) = sheet.parts((modules, modules + 8)) {
                for (left, top, wide, high) in [parts.code, parts.words] {
                    prop_assert!(left >= 0 && top >= 0 && left + wide <= width && top + high <= height);
                }
                let (code, words) = (parts.code, parts.words);
                prop_assert!(words.0 >= code.0 + code.2 || words.1 >= code.1 + code.3);
                prop_assert!(code.2 * modules / (modules + 8) >= LEAST_CODE);
            }
        }

        #[test]
        fn labels_of_a_sheet_without_problems_lie_on_its_paper_and_never_overlap(
            columns in 1_i64..6, rows in 1_i64..12, width in 1_000_i64..9_000, height in 1_000_i64..6_000, gap in 0_i64..500,
        ) {
            let sheet = Sheet { columns, rows, width, height, gap_x: gap, gap_y: gap, ..PRESETS[1].sheet };
            prop_assume!(sheet.problems().is_empty());
            let corners: Vec<(i64, i64)> = (0..sheet.per_page()).map(|index| sheet.corner(index)).collect();
            for (at, (x, y)) in corners.iter().enumerate() {
                prop_assert!(x + width <= 21_000 && y + height <= 29_700);
                for (other_x, other_y) in &corners[at + 1..] {
                    prop_assert!((x - other_x).abs() >= width || (y - other_y).abs() >= height);
                }
            }
        }
    }
}

//! Sheets of labels as stationers sell them, and two of flags to cut out. Lengths in hundredths of a millimetre.

use super::sheet::{Paper, Sheet};

/// A sheet of labels that can be chosen by name.
pub struct Preset {
    pub code: &'static str,
    pub label: &'static str,
    pub sheet: Sheet,
}

const fn sheet(
    paper: Paper,
    grid: (i64, i64),
    size: (i64, i64),
    at: (i64, i64),
    gap: (i64, i64),
    fold: Option<i64>,
) -> Sheet {
    Sheet {
        paper,
        columns: grid.0,
        rows: grid.1,
        width: size.0,
        height: size.1,
        left: at.0,
        top: at.1,
        gap_x: gap.0,
        gap_y: gap.1,
        fold,
    }
}

pub const PRESETS: [Preset; 7] = [
    Preset {
        code: "a4-21",
        label: "A4, 21 labels of 63.5 × 38.1 mm",
        sheet: sheet(
            Paper::A4,
            (3, 7),
            (6_350, 3_810),
            (725, 1_515),
            (250, 0),
            None,
        ),
    },
    Preset {
        code: "a4-24",
        label: "A4, 24 labels of 70 × 37 mm",
        sheet: sheet(Paper::A4, (3, 8), (7_000, 3_700), (0, 50), (0, 0), None),
    },
    Preset {
        code: "a4-14",
        label: "A4, 14 labels of 99.1 × 38.1 mm",
        sheet: sheet(
            Paper::A4,
            (2, 7),
            (9_910, 3_810),
            (465, 1_515),
            (250, 0),
            None,
        ),
    },
    Preset {
        code: "a4-flag",
        label: "A4, 16 flags of 84 × 28 mm to cut out and fold round a lead",
        sheet: sheet(
            Paper::A4,
            (2, 8),
            (8_400, 2_800),
            (1_800, 1_900),
            (600, 500),
            Some(1_600),
        ),
    },
    Preset {
        code: "letter-30",
        label: "Letter, 30 labels of 66.7 × 25.4 mm",
        sheet: sheet(
            Paper::Letter,
            (3, 10),
            (6_668, 2_540),
            (476, 1_270),
            (317, 0),
            None,
        ),
    },
    Preset {
        code: "letter-10",
        label: "Letter, 10 labels of 101.6 × 50.8 mm",
        sheet: sheet(
            Paper::Letter,
            (2, 5),
            (10_160, 5_080),
            (397, 1_270),
            (476, 0),
            None,
        ),
    },
    Preset {
        code: "letter-flag",
        label: "Letter, 16 flags of 84 × 28 mm to cut out and fold round a lead",
        sheet: sheet(
            Paper::Letter,
            (2, 8),
            (8_400, 2_800),
            (2_095, 1_020),
            (600, 500),
            Some(1_600),
        ),
    },
];

pub fn preset(code: &str) -> Option<&'static Preset> {
    PRESETS.iter().find(|preset| preset.code == code)
}

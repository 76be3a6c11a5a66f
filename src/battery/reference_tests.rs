//! Reads the reference values of `tests/reference/`, for tests alone. Each file says where its rows come from.

use std::collections::HashMap;

pub type Row = HashMap<String, String>;

/// Taken in when the tests are built: this room reads no files.
const FILES: [(&str, &str); 13] = [
    (
        "ageing.csv",
        include_str!("../../tests/reference/ageing.csv"),
    ),
    (
        "charge_times.csv",
        include_str!("../../tests/reference/charge_times.csv"),
    ),
    (
        "charge_times_power_cell.csv",
        include_str!("../../tests/reference/charge_times_power_cell.csv"),
    ),
    (
        "fade_estimate.csv",
        include_str!("../../tests/reference/fade_estimate.csv"),
    ),
    (
        "lco_pouch_discharge.csv",
        include_str!("../../tests/reference/lco_pouch_discharge.csv"),
    ),
    (
        "nmc_pouch_fade_series.csv",
        include_str!("../../tests/reference/nmc_pouch_fade_series.csv"),
    ),
    ("ocv.csv", include_str!("../../tests/reference/ocv.csv")),
    (
        "ocv_cross_check.csv",
        include_str!("../../tests/reference/ocv_cross_check.csv"),
    ),
    (
        "power_limited_charge_times.csv",
        include_str!("../../tests/reference/power_limited_charge_times.csv"),
    ),
    (
        "relaxation.csv",
        include_str!("../../tests/reference/relaxation.csv"),
    ),
    (
        "resistance.csv",
        include_str!("../../tests/reference/resistance.csv"),
    ),
    (
        "storage_charge_change.csv",
        include_str!("../../tests/reference/storage_charge_change.csv"),
    ),
    (
        "storage_discharge.csv",
        include_str!("../../tests/reference/storage_discharge.csv"),
    ),
];

/// The rows of one file, by the names in its heading; lines that start with # are left out.
pub fn rows(file: &str) -> Vec<Row> {
    let text = FILES.iter().find(|(name, _)| *name == file);
    let (_, text) = text.expect("a reference file");
    let mut lines = text.lines().filter(|line| !line.starts_with('#'));
    let names: Vec<&str> = lines.next().expect("a heading").split(',').collect();
    let row = |line: &str| {
        let cells = line.split(',').map(str::to_owned);
        names
            .iter()
            .map(|name| (*name).to_owned())
            .zip(cells)
            .collect()
    };
    lines.map(row).collect()
}

pub fn number(row: &Row, name: &str) -> f64 {
    row[name].parse().expect("a number")
}

/// Throws that are the same in every run: SplitMix64.
pub struct Dice(u64);

impl Dice {
    pub const fn new(seed: u64) -> Self {
        Self(seed)
    }

    const fn next(&mut self) -> u64 {
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mixed = (self.0 ^ (self.0 >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        let mixed = (mixed ^ (mixed >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        mixed ^ (mixed >> 31)
    }

    pub fn between(&mut self, low: f64, high: f64) -> f64 {
        low + (high - low) * (self.next() >> 11) as f64 / (1_u64 << 53) as f64
    }

    pub fn below(&mut self, count: usize) -> usize {
        (self.next() % count as u64) as usize
    }
}

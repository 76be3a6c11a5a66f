//! Reads the reference values of `tests/reference/`, for tests alone. Each file says where its rows come from.

use std::collections::HashMap;

pub type Row = HashMap<String, String>;

/// Taken in when the tests are built: this room reads no files.
const FILES: [(&str, &str); 8] = [
    (
        "charge_times.csv",
        include_str!("../../tests/reference/charge_times.csv"),
    ),
    (
        "charge_times_power_cell.csv",
        include_str!("../../tests/reference/charge_times_power_cell.csv"),
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

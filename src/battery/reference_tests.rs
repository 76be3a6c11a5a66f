//! Reads the reference values of `tests/reference/`, for tests alone. Each file says where its rows come from.

use std::collections::HashMap;

pub type Row = HashMap<String, String>;

/// The rows of one file, by the names in its heading; lines that start with # are left out.
pub fn rows(file: &str) -> Vec<Row> {
    let at = format!("{}/tests/reference/{file}", env!("CARGO_MANIFEST_DIR"));
    let text = std::fs::read_to_string(&at).expect("a reference file");
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

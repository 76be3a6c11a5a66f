//! What the command answers for the charges of PyBaMM's physical models; each file of `tests/reference` names its source.

use super::{ChargeTime, ChargeTimeTold};
use crate::battery::reference::{Row, number, rows};
use crate::calc::Compute;
use serde_json::json;

/// Nominal Ah, Ah between its ends (`parameter_sets.csv`), milliohm Ah in ten seconds at 3.85 V (the same run).
const AI: (f64, f64, f64) = (2.28, 2.46632, 105.466);
const MOHTAT: (f64, f64, f64) = (5.0, 4.96913, 54.72);

fn curve_of(set: &str) -> Vec<(f64, f64)> {
    if set == "Ai2020" {
        let own = rows("ocv.csv");
        let own = own.iter().filter(|row| row["parameter_set"] == set);
        return own
            .map(|row| (number(row, "soc_percent"), number(row, "resting_cell_v")))
            .collect();
    }
    let check = rows("ocv_cross_check.csv");
    let seen = check.iter().map(|row| {
        let percent = number(row, "soc_percent_Mohtat2020");
        (percent, number(row, "rest_voltage_V"))
    });
    let ends = [(0.0, 2.8), (100.0, 4.2)];
    ends[..1]
        .iter()
        .copied()
        .chain(seen)
        .chain(ends[1..].iter().copied())
        .collect()
}

/// As it is typed to the command: what stands in the row, and the cell's own curve, capacity and resistance.
fn asked(set: &str, typed: serde_json::Value) -> ChargeTimeTold {
    let mut question = json!({ "chemistry": "lipo", "cells": 1, "resting_curve": curve_of(set) });
    let fields = question.as_object_mut().expect("an object");
    fields.extend(typed.as_object().expect("an object").clone());
    let question: ChargeTime = serde_json::from_value(question).expect("a question");
    question.compute().expect("an answer")
}

fn of_cell(row: &Row) -> f64 {
    let set = row["parameter_set"].as_str();
    let (nominal_ah, holds_ah, milliohm_ah) = if set == "Ai2020" { AI } else { MOHTAT };
    let watts: Option<f64> = row["power_w_per_ah"].parse().ok();
    // Where watts hold it back the current is free: as much as may be typed.
    let ma = row["c_rate"]
        .parse()
        .map_or(1e6, |rate: f64| rate * nominal_ah * 1e3);
    let told = asked(
        set,
        json!({
            "capacity_mah": nominal_ah * 1e3, "real_capacity_mah": holds_ah * 1e3, "current_ma": ma,
            "start_cell_v": number(row, "start_resting_cell_v"),
            "cutoff_ma": number(row, "cutoff_c") * nominal_ah * 1e3,
            "power_limit_w": watts.map(|watts| watts * nominal_ah),
            "cell_resistance_mohm": milliohm_ah / nominal_ah,
        }),
    );
    let names = ["minutes_first_phase", "minutes_cv", "ah_in_per_nominal_ah"];
    phases(&told, row, names, nominal_ah);
    off(&told, row)
}

/// The same cell with thinner electrodes, nearer to a hobby pack's.
fn of_power_cell(row: &Row) -> f64 {
    let nominal_ah = AI.0;
    let told = asked(
        "Ai2020",
        json!({
            "capacity_mah": nominal_ah * 1e3, "real_capacity_mah": number(row, "q_eq_Ah") * 1e3,
            "current_ma": number(row, "c_rate_per_h") * nominal_ah * 1e3,
            "start_cell_v": number(row, "start_ocv_V"),
            "cutoff_ma": number(row, "cut_off_C") * nominal_ah * 1e3,
            "cell_resistance_mohm": number(row, "r_10s_mohm_Ah") / nominal_ah,
        }),
    );
    let names = ["minutes_cc", "minutes_cv", "charge_in_per_rated"];
    phases(&told, row, names, nominal_ah);
    off(&told, row)
}

/// The charge that goes in within 0.75 %, the minutes until full volts within 7.5 %, of the thick cell at 3C three early, and those at
/// full volts within four: which is how far off by which cell stands beside `battery::charge_time`.
fn phases(told: &ChargeTimeTold, row: &Row, [first, held, taken]: [&str; 3], nominal_ah: f64) {
    let there_mah = number(row, taken) * nominal_ah * 1e3;
    let charge_mah = told.charge_mah.expect("a charge");
    assert!(
        (charge_mah / there_mah - 1.0).abs() <= 0.0075,
        "{row:?}: {told:?}"
    );
    let is_hard = row.get("thinner_by").is_some_and(|by| by == "1");
    let is_hard = is_hard && number(row, "c_rate_per_h") > 1.0;
    let first_off = told.minutes_first_phase.expect("minutes") - number(row, first);
    let first_most = if is_hard {
        3.2
    } else {
        0.075 * number(row, first)
    };
    assert!(first_off.abs() <= first_most, "{row:?}: {told:?}");
    let held_off = told.minutes_cv.expect("minutes") - number(row, held);
    assert!(held_off.abs() <= 4.1, "{row:?}: {told:?}");
}

fn off(told: &ChargeTimeTold, row: &Row) -> f64 {
    let minutes = told.minutes.expect("minutes");
    assert!(
        told.minutes_low <= minutes && minutes <= told.minutes_high,
        "{told:?}"
    );
    (minutes / number(row, "minutes_total") - 1.0).abs()
}

#[test]
fn the_command_tells_the_minutes_of_physical_models_within_five_percent_and_twelve_at_worst() {
    type Told = fn(&Row) -> f64;
    let files: [(&str, Told); 3] = [
        ("charge_times.csv", of_cell),
        ("power_limited_charge_times.csv", of_cell),
        ("charge_times_power_cell.csv", of_power_cell),
    ];
    for (file, told) in files {
        let rows = rows(file);
        let mut offs: Vec<f64> = rows.iter().map(told).collect();
        offs.sort_by(f64::total_cmp);
        let (middle, worst) = (offs[offs.len() / 2], offs[offs.len() - 1]);
        assert!(offs.len() >= 6, "{file}: {}", offs.len());
        assert!(middle <= 0.05, "{file}: {middle} at the median");
        assert!(worst <= 0.12, "{file}: {worst} at worst");
    }
}

//! Minutes of discharge against PyBaMM's physical models; each source stands beside its check.

use super::*;
use crate::battery::curve::Curve;
use crate::battery::reference::{number, rows};
use proptest::prelude::*;
use std::collections::BTreeMap;

fn curve(set: &str) -> Curve {
    let own = rows("ocv.csv");
    let own = own.iter().filter(|row| row["parameter_set"] == set);
    let points = own.map(|row| (number(row, "soc_percent"), number(row, "resting_cell_v")));
    Curve::new(points.collect()).expect("a curve")
}

/// `ocv_cross_check.csv`: the resting volts of a set that `ocv.csv` has not, between 3.0 and 4.2 V.
fn checked_curve(set: &str) -> Curve {
    let check = rows("ocv_cross_check.csv");
    let inner = check.iter().map(|row| {
        let percent = number(row, &format!("soc_percent_{set}"));
        (percent, number(row, "rest_voltage_V"))
    });
    let points = std::iter::once((0.0, 3.0)).chain(inner);
    Curve::new(points.chain([(100.0, 4.2)]).collect()).expect("a curve")
}

/// PyBaMM 26.10.1.1. Ai2020: Ai et al. 2020, J. Electrochem. Soc. 167, 013512, 2.466 Ah between its cut-offs. Marquis2019:
/// Marquis et al. 2019, J. Electrochem. Soc. 166, A3693, 0.9336 Ah between 3.0 and 4.2 V (`fade_estimate.csv`); no file gives its
/// resistance in ten seconds, so it is what its 1C rows sag by once the slow part has come, 0.1185 V, over 1.55.
fn cell(set: &str) -> Cell {
    let (curve, capacity_ah, milliohm_ah, rated_ah) = match set {
        "Ai2020" => (curve(set), 2.46632, 105.466, 2.28),
        "Marquis2019" => (checked_curve(set), 0.9336, 118.5 / 1.55, 0.8892),
        _ => panic!("no cell is known of {set}"),
    };
    Cell {
        curve,
        capacity_ah,
        resistance_ohm: milliohm_ah / 1_000.0 / rated_ah,
    }
}

#[test]
fn the_minutes_down_to_storage_volts_are_those_of_physical_models() {
    let mut by_set: BTreeMap<String, Vec<f64>> = BTreeMap::new();
    for row in rows("storage_discharge.csv") {
        let set = row["set"].as_str();
        let cell = cell(set);
        let value = number(&row, "discharge_value") * number(&row, "q_rated_Ah");
        let drain = match row["discharge_kind"].as_str() {
            "C" => Drain {
                current_a: value,
                power_w: None,
            },
            _ => Drain {
                current_a: f64::INFINITY,
                power_w: Some(value),
            },
        };
        let (from, to) = (number(&row, "start_ocv_V"), number(&row, "target_rest_V"));
        let (from, to) = (cell.curve.percent_at(from), cell.curve.percent_at(to));
        let told = discharged(&cell, from, to, &drain).expect("an end");
        let offs = by_set.entry(set.to_owned()).or_default();
        offs.push((told.minutes / number(&row, "minutes") - 1.0).abs());
    }
    let counted: Vec<(&str, usize)> = by_set
        .iter()
        .map(|(set, offs)| (set.as_str(), offs.len()))
        .collect();
    assert_eq!(counted, [("Ai2020", 36), ("Marquis2019", 36)], "all rows");
    for (set, offs) in &mut by_set {
        offs.sort_by(f64::total_cmp);
        let (median, worst) = (offs[offs.len() / 2], offs[offs.len() - 1]);
        println!(
            "{set}: {:.1} % off at the median, {:.1} % at worst",
            median * 100.0,
            worst * 100.0
        );
        assert!(
            median < 0.05 && worst < 0.12,
            "{set}: {median} at the median, {worst} at worst"
        );
    }
}

/// `storage_charge_change.csv`, from the resting curve of the same set.
#[test]
fn so_much_goes_in_or_out_between_two_resting_volts() {
    for row in rows("storage_charge_change.csv") {
        let curve = curve(&row["parameter_set"]);
        let at = |name: &str| curve.percent_at(number(&row, name));
        let change = at("to_resting_cell_v") - at("from_resting_cell_v");
        let there = number(&row, "soc_change_percent");
        assert!(
            (change - there).abs() < 0.5,
            "{change} points, there {there}"
        );
    }
}

#[test]
fn a_cell_that_is_there_already_is_done_and_one_that_cannot_give_the_watts_says_so() {
    let cell = cell("Ai2020");
    let drain = Drain {
        current_a: 1.0,
        power_w: None,
    };
    assert_eq!(
        discharged(&cell, 40.0, 50.0, &drain).map(|told| told.minutes),
        Some(0.0)
    );
    let wild = Drain {
        current_a: f64::INFINITY,
        power_w: Some(1_000.0),
    };
    assert_eq!(discharged(&cell, 90.0, 50.0, &wild), None);
    let nothing = Drain {
        current_a: 0.0,
        power_w: None,
    };
    assert_eq!(discharged(&cell, 90.0, 50.0, &nothing), None);
}

#[test]
fn a_small_chargers_watts_make_storage_the_bottleneck() {
    // 2.2 Ah 3S from full to half at 10 W: 73 minutes, by energy alone (11.1 V x 1.1 Ah / 10 W).
    let cell = Cell {
        curve: Curve::of(crate::battery::chemistry::Chemistry::LiPo).expect("a curve"),
        capacity_ah: 2.2,
        resistance_ohm: 0.014 / 2.2,
    };
    let drain = Drain {
        current_a: 5.0,
        power_w: Some(10.0 / 3.0),
    };
    let told = discharged(&cell, 100.0, 50.0, &drain).expect("an end");
    assert!((73.0..82.0).contains(&told.minutes), "{told:?}");
}

proptest! {
    #[test]
    fn more_watts_or_more_current_never_take_longer(watts in 0.5_f64..20.0, more in 1.0_f64..3.0, amps in 0.1_f64..5.0, from in 10.0_f64..100.0, to in 0.0_f64..100.0) {
        let cell = cell("Ai2020");
        let told = |watts: f64, amps: f64| discharged(&cell, from, to, &Drain { current_a: amps, power_w: Some(watts) });
        if let (Some(first), Some(watts_more), Some(amps_more)) = (told(watts, amps), told(watts * more, amps), told(watts, amps * more)) {
            prop_assert!(watts_more.minutes <= first.minutes + 0.5 && amps_more.minutes <= first.minutes + 0.5);
            prop_assert!((first.charge_ah - ((from - to).max(0.0) / 100.0 * cell.capacity_ah)).abs() < 1e-6);
        }
    }
}

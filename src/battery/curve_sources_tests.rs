//! The sources' curves against the files they come from, and the change between two readings told from all of them.

use super::*;
use crate::battery::reference::{number, rows};
use proptest::prelude::*;

#[test]
fn every_source_is_there_and_rises() {
    let counted = |chemistry| sources(chemistry).len();
    assert_eq!(counted(Chemistry::LiPo), 8);
    assert_eq!(counted(Chemistry::LiHv), 7);
    assert_eq!(counted(Chemistry::LiIon), 3);
    assert_eq!(counted(Chemistry::LiFePo4), 4);
    assert_eq!((counted(Chemistry::Pb), counted(Chemistry::NiMh)), (1, 0));
}

/// `ocv_cross_check.csv`, PyBaMM 26.10.1.1's sets and a measured pouch; each cites its paper there.
#[test]
fn the_sources_say_what_the_cross_check_says() {
    let lipo = [
        (3, "Ai2020"),
        (4, "measured_lco_pouch_0p1C"),
        (5, "Ramadass2004"),
        (6, "Marquis2019"),
        (7, "Ecker2015"),
    ];
    for row in rows("ocv_cross_check.csv") {
        for (index, name) in lipo {
            let told = sources(Chemistry::LiPo)[index].percent_at(number(&row, "rest_voltage_V"));
            let there = number(&row, &format!("soc_percent_{name}"));
            assert!(
                (told - there).abs() < 0.051,
                "{name}: {told}, there {there}"
            );
        }
    }
}

/// `ocv.csv`, Prada2013: Prada et al. 2013, J. Electrochem. Soc. 160, A616.
#[test]
fn the_iron_cell_is_its_set_s() {
    for row in rows("ocv.csv") {
        if row["parameter_set"] == "Prada2013" {
            let volts = number(&row, "resting_cell_v");
            let there = sources(Chemistry::LiFePo4)[1].volts_at(number(&row, "soc_percent"));
            assert!(
                (there - volts).abs() < 0.016 || volts < 2.9,
                "{there}, there {volts}"
            );
        }
    }
}

/// `storage_charge_change.csv`, Ai et al. 2020 in PyBaMM.
#[test]
fn what_moves_between_two_resting_volts_is_in_the_range() {
    for row in rows("storage_charge_change.csv") {
        let at = |name: &str| number(&row, name);
        let (from, to) = (at("from_resting_cell_v"), at("to_resting_cell_v"));
        let told = points_between(Chemistry::LiPo, from, to, 0.0).expect("points");
        // The file's curve has twice as many points as the cross-check's.
        let there = at("soc_change_percent");
        assert!(
            told.least - 1.0 <= there && there <= told.most + 1.0,
            "{from} to {to} V: {told:?}, there {there}"
        );
    }
}

proptest! {
    #[test]
    fn a_meter_s_error_at_both_readings_stays_in_the_range(
        from in 3.3_f64..4.2, to in 3.3_f64..4.2, which in 0_usize..8,
        off in -1.0_f64..1.0, other_off in -1.0_f64..1.0,
    ) {
        let truth = &sources(Chemistry::LiPo)[which];
        let change = truth.percent_at(to) - truth.percent_at(from);
        let (read_from, read_to) = (from + off * METER_V, to + other_off * METER_V);
        let told = points_between(Chemistry::LiPo, read_from, read_to, METER_V).expect("points");
        prop_assert!(told.least - 1e-9 <= change && change <= told.most + 1e-9, "{told:?}, truly {change}");
    }
}

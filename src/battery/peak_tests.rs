//! Peaks against published examples, energy against a measured pouch cell; each source stands beside its check.

use super::*;
use crate::battery::limits::LabelVolts;
use crate::battery::reference::{number, rows};
use proptest::prelude::*;

fn pack(chemistry: Chemistry, cells_series: i64, capacity_mah: i64) -> Build {
    Build {
        chemistry,
        cells_series,
        groups_parallel: 1,
        capacity_mah,
        sees_cells: true,
        label: LabelVolts::default(),
    }
}

const fn measured(cell_uohm: i64) -> Known {
    Known {
        label_c_tenths: None,
        cell_uohm: Some(cell_uohm),
        celsius: Some(25.0),
    }
}

#[test]
fn by_the_label_a_pack_gives_its_rate_times_its_capacity() {
    // A combat-robot LiPo FAQ: 2600 mAh, 60C: 156 A. Four cells of 850 mAh at 75C: 63.75 A.
    for (mah, c, ma) in [(2_600, 60, 156_000), (850, 75, 63_750)] {
        let known = Known {
            label_c_tenths: Some(c * 10),
            ..Known::default()
        };
        let peak = Peak::of(&pack(Chemistry::LiPo, 6, mah), 80.0, &known);
        assert_eq!(peak.label_ma, Some(ma));
        assert_eq!(peak.unknown, [Unknown::Resistance, Unknown::Temperature]);
    }
}

#[test]
fn what_sags_first_limits_and_a_label_that_promises_too_much_does_not() {
    // 10 milliohm, half full: 3.805 V resting on the room's curve, 0.605 V down to 3.2: 60.5 A.
    let build = pack(Chemistry::LiPo, 3, 1_000);
    let brag = Known {
        label_c_tenths: Some(1_000),
        ..measured(10_000)
    };
    let peak = Peak::of(&build, 50.0, &brag);
    let sag = peak.sag_ma.expect("a sag");
    assert!((sag.likely - 60_500.0).abs() < 1.0, "{sag:?}");
    assert_eq!(
        (peak.limited_by, peak.label_ma),
        (Some(Limit::Sag), Some(100_000))
    );
    assert!(
        peak.careful_ma()
            .is_some_and(|ma| ma < 60_500 && ma as f64 >= sag.least - 1.0)
    );
    let modest = Known {
        label_c_tenths: Some(200),
        ..brag
    };
    let peak = Peak::of(&build, 50.0, &modest);
    assert_eq!(
        (peak.limited_by, peak.careful_ma()),
        (Some(Limit::Label), Some(20_000))
    );
    assert_eq!(peak.unknown, []);
}

#[test]
fn what_is_not_known_is_said_and_leaves_more_open() {
    let build = pack(Chemistry::LiPo, 3, 1_000);
    let known = Peak::of(&build, 50.0, &measured(14_000))
        .sag_ma
        .expect("a sag");
    let blind = Peak::of(&build, 50.0, &Known::default());
    assert_eq!(
        blind.unknown,
        [
            Unknown::LabelRate,
            Unknown::Resistance,
            Unknown::Temperature
        ]
    );
    let guess = blind.sag_ma.expect("a sag");
    assert!(guess.least < known.least && guess.most > known.most);
    // Where nobody said how warm it is, it may be as cold as 10 °C.
    let at = |celsius| {
        let known = Known {
            celsius,
            ..measured(14_000)
        };
        Peak::of(&build, 50.0, &known).sag_ma.expect("a sag")
    };
    assert_eq!(at(None).least, at(Some(10.0)).least);
    assert_eq!(at(None).most, at(Some(30.0)).most);
    let nickel = Peak::of(&pack(Chemistry::NiMh, 6, 2_000), 50.0, &measured(10_000));
    assert_eq!(
        (nickel.sag_ma, nickel.limited_by, nickel.careful_ma()),
        (None, None, None)
    );
    assert!(nickel.unknown.contains(&Unknown::Sag));
}

#[test]
fn an_empty_pack_gives_nothing_and_a_label_s_lowest_volts_count() {
    let build = pack(Chemistry::LiPo, 3, 1_000);
    assert_eq!(
        Peak::of(&build, 0.0, &measured(10_000)).careful_ma(),
        Some(0)
    );
    let strict = Build {
        label: LabelVolts {
            full_mv: None,
            lowest_mv: Some(3_500),
        },
        ..build
    };
    let peak = |build: &Build| {
        Peak::of(build, 50.0, &measured(10_000))
            .sag_ma
            .expect("a sag")
            .likely
    };
    assert!((peak(&strict) - 30_500.0).abs() < 1.0 && peak(&build) > peak(&strict));
}

/// `ocv.csv` and `resistance.csv`: Ai et al. 2020 in PyBaMM.
fn ai_cell(capacity_ah: f64) -> Cell {
    let own = rows("ocv.csv");
    let own = own.iter().filter(|row| row["parameter_set"] == "Ai2020");
    let points = own.map(|row| (number(row, "soc_percent"), number(row, "resting_cell_v")));
    Cell {
        curve: Curve::new(points.collect()).expect("a curve"),
        capacity_ah,
        // 0.105 to 0.123 V of sag at 1C of 2.28 Ah.
        resistance_ohm: 0.114 / 2.28,
    }
}

/// `lco_pouch_discharge.csv`: the pouch of Ai et al., measured (PyBaMM repository, BSD-3-Clause; B. Rieger et al. 2016,
/// J. Electrochem. Soc. 163, A1566), discharged from full to 3.0 V at 0.1 to 2C. Its slowest discharge tells what it holds.
#[test]
fn the_energy_is_that_of_a_measured_pouch_cell() {
    let all = rows("lco_pouch_discharge.csv");
    let of = |rate: &str| -> Vec<(f64, f64)> {
        let own = all.iter().filter(|row| row["c_rate_per_h"] == rate);
        own.map(|row| {
            (
                number(row, "Discharging Capacity / Ah"),
                number(row, "Voltage / V"),
            )
        })
        .collect()
    };
    let energy = |points: &[(f64, f64)]| -> f64 {
        points
            .windows(2)
            .map(|two| (two[1].0 - two[0].0) * (two[1].1 + two[0].1) / 2.0)
            .sum()
    };
    let cell = ai_cell(of("0.1").last().expect("points").0);
    for (rate, current_a) in [("0.1", 0.228), ("0.5", 1.14), ("1.0", 2.28), ("2.0", 4.56)] {
        let there = energy(&of(rate));
        let told = given(&cell, (100.0, 0.0), current_a, 3.0).expect("a discharge");
        let off = told.energy_wh / there - 1.0;
        println!(
            "{rate}C: {:.2} Wh, measured {there:.2}, {:.1} % off",
            told.energy_wh,
            off * 100.0
        );
        assert!(off.abs() < 0.03, "{rate}C: {off}");
    }
}

#[test]
fn a_cell_without_resistance_lasts_as_long_as_its_charge_and_gives_its_whole_energy() {
    // A combat-robot LiPo FAQ: 2600 mAh at 26 A last 6 minutes.
    let cell = Cell {
        resistance_ohm: 0.0,
        ..ai_cell(2.6)
    };
    let told = given(&cell, (100.0, 0.0), 26.0, 0.0).expect("a discharge");
    assert!(
        (told.minutes - 6.0).abs() < 1e-6 && !told.is_cut_short,
        "{told:?}"
    );
    assert!((told.charge_ah - 2.6).abs() < 1e-9);
    // About the nominal 3.7 to 3.85 V times what it holds.
    assert!((2.6 * 3.7..2.6 * 3.9).contains(&told.energy_wh), "{told:?}");
}

#[test]
fn a_pack_s_energy_is_a_range_and_says_when_it_may_be_cut_short() {
    let build = pack(Chemistry::LiPo, 3, 1_300);
    let calm = usable(
        &build,
        &Holds::exactly(1_300, 100.0),
        30.0,
        1_300,
        &measured(8_000),
    )
    .expect("energy");
    // 0.91 Ah from three cells that rest at 3.91 V on their way from full to 30 % (kernel tables, weighed by tenths), less
    // 0.01 V of sag: 10.6 Wh; at 1.3 A 42 minutes.
    assert!(calm.energy_mwh.contains(10_600.0), "{calm:?}");
    assert!(calm.minutes.contains(42.0) && !calm.may_be_cut_short);
    let wild = usable(
        &build,
        &Holds::exactly(1_300, 100.0),
        10.0,
        60_000,
        &measured(8_000),
    )
    .expect("energy");
    let whole = usable(
        &build,
        &Holds::exactly(1_300, 100.0),
        10.0,
        1_300,
        &measured(8_000),
    )
    .expect("energy");
    assert!(wild.may_be_cut_short && wild.energy_mwh.likely < whole.energy_mwh.likely);
    assert_eq!(
        usable(
            &build,
            &Holds::exactly(1_300, 100.0),
            30.0,
            0,
            &Known::default()
        ),
        None
    );
    assert_eq!(
        usable(
            &pack(Chemistry::NiMh, 6, 1_300),
            &Holds::exactly(1_300, 100.0),
            30.0,
            1_300,
            &Known::default()
        ),
        None
    );
}

proptest! {
    #[test]
    fn more_resistance_cold_or_less_charge_never_give_a_higher_peak(
        uohm in 1_000_i64..50_000, more in 0_i64..50_000, percent in 0.0_f64..100.0, less in 0.0_f64..50.0,
        celsius in 0.0_f64..45.0, colder in 0.0_f64..20.0,
    ) {
        let build = pack(Chemistry::LiPo, 4, 850);
        let peak = |uohm, percent, celsius| {
            let known = Known { label_c_tenths: None, cell_uohm: Some(uohm), celsius: Some(celsius) };
            Peak::of(&build, percent, &known).sag_ma.expect("a sag")
        };
        let first = peak(uohm, percent, celsius);
        for lower in [peak(uohm + more, percent, celsius), peak(uohm, percent - less, celsius), peak(uohm, percent, celsius - colder)] {
            prop_assert!(lower.likely <= first.likely + 1e-6 && lower.least <= first.least + 1e-6);
        }
        prop_assert!(first.least <= first.likely && first.likely <= first.most);
    }

    #[test]
    fn more_current_never_gives_more_energy(ma in 100_i64..20_000, more in 0_i64..20_000) {
        let build = pack(Chemistry::LiPo, 3, 1_300);
        let told = |ma| usable(&build, &Holds::exactly(1_300, 95.0), 20.0, ma, &measured(8_000)).expect("energy").energy_mwh;
        // A step's length may make it differ by a thousandth.
        prop_assert!(told(ma + more).likely <= told(ma).likely * 1.002);
    }
}

//! Both ranges against what they stand for; each source stands beside its check.

use super::*;
use crate::battery::reference::{number, rows};
use proptest::prelude::*;

fn lipo(charge_percent: f64, celsius: f64, months: f64) -> Ageing {
    Ageing::expected(Chemistry::LiPo, charge_percent, celsius, months).expect("lithium")
}

/// A battery-education site's table, as two battery makers' pages copy it: percent left after a year, at 60 °C and full
/// after three months.
#[test]
fn the_handbook_s_table_lies_in_its_range() {
    let table = [
        (0.0, 98.0, 94.0, 12.0),
        (25.0, 96.0, 80.0, 12.0),
        (40.0, 85.0, 65.0, 12.0),
        (60.0, 75.0, 60.0, 3.0),
    ];
    for (celsius, left_at_40, left_when_full, full_months) in table {
        let (half, full) = (
            lipo(40.0, celsius, 12.0).handbook,
            lipo(100.0, celsius, full_months).handbook,
        );
        assert!(
            half.contains(100.0 - left_at_40),
            "{celsius} °C at 40 %: {half:?}"
        );
        assert!(
            full.contains(100.0 - left_when_full),
            "{celsius} °C full: {full:?}"
        );
        // A general encyclopaedia gives the first column for 40 to 60 %.
        assert!(
            lipo(60.0, celsius, 12.0)
                .handbook
                .contains(100.0 - left_at_40),
            "{celsius} °C at 60 %"
        );
        for told in [lipo(40.0, celsius, 12.0), lipo(100.0, celsius, 12.0)] {
            assert!(
                told.handbook.most < 2.0 * told.handbook.likely,
                "{told:?} tells too little"
            );
        }
    }
    // A hobby bench test: five percent after thirty days full, at room temperature.
    assert!(lipo(100.0, 25.0, 1.0).handbook.contains(5.0));
}

#[test]
fn a_year_s_loss_in_milliamp_hours_is_the_table_s() {
    // 2200 mAh after a year, full and at 40 %: 1760 and 2112 at 25 °C, 1430 and 1870 at 40 °C (the same table).
    let left = |charge, celsius| {
        (2_200.0 * (1.0 - lipo(charge, celsius, 12.0).handbook.likely / 100.0)).round()
    };
    assert_eq!((left(100.0, 25.0), left(40.0, 25.0)), (1_760.0, 2_112.0));
    assert_eq!((left(100.0, 40.0), left(40.0, 40.0)), (1_430.0, 1_870.0));
}

/// `ageing.csv`: BLAST-Lite 1.1.1 (NREL) and O'Kane et al. 2022 in PyBaMM; each row a cell, a temperature, a charge and
/// months from one to twenty-four.
#[test]
fn every_laboratory_cell_lies_in_the_laboratories_range() {
    let mut counted = 0;
    for row in rows("ageing.csv") {
        let chemistry = if row["cell"].starts_with("LFP") {
            Chemistry::LiFePo4
        } else {
            Chemistry::LiPo
        };
        let (charge, celsius) = (
            number(&row, "soc_stored") * 100.0,
            number(&row, "temperature_C"),
        );
        let (months, lost) = (
            number(&row, "months"),
            number(&row, "capacity_lost_percent"),
        );
        let told = Ageing::expected(chemistry, charge, celsius, months).expect("lithium");
        let cell = &row["cell"];
        assert!(
            told.laboratory.contains(lost),
            "{cell} {celsius} °C {charge} % {months}: {lost} in {told:?}"
        );
        assert!(told.both().contains(lost));
        counted += 1;
    }
    assert_eq!(counted, 864);
}

/// BLAST-Lite 1.1.1 itself, for cells and conditions that `ageing.csv` has not: °C, percent, months, percent lost.
const OTHER_CELLS: [(f64, f64, f64, f64); 20] = [
    // NCA/graphite-Si, 2.5 Ah
    (15.0, 40.0, 24.0, 6.19),
    (20.0, 80.0, 6.0, 4.52),
    (35.0, 90.0, 12.0, 9.83),
    (40.0, 80.0, 3.0, 5.80),
    // NMC/graphite, 50 Ah, B2
    (15.0, 40.0, 24.0, 2.03),
    (20.0, 80.0, 6.0, 1.89),
    (35.0, 90.0, 12.0, 5.39),
    (40.0, 80.0, 3.0, 2.70),
    // NMC/graphite, 75 Ah
    (15.0, 40.0, 24.0, 0.23),
    (20.0, 80.0, 6.0, 0.41),
    (35.0, 90.0, 12.0, 3.56),
    (40.0, 80.0, 3.0, 2.20),
    // NMC622/graphite, 50 Ah
    (15.0, 40.0, 24.0, 2.29),
    (20.0, 80.0, 6.0, 1.27),
    (35.0, 90.0, 12.0, 3.63),
    (40.0, 80.0, 3.0, 2.26),
    // NMC111/graphite pouch, 75 Ah
    (15.0, 40.0, 24.0, 0.42),
    (20.0, 80.0, 6.0, 2.00),
    (35.0, 90.0, 12.0, 9.97),
    (40.0, 80.0, 3.0, 6.84),
];

#[test]
fn so_do_other_cells_of_the_same_laboratories_under_other_conditions() {
    for (celsius, charge, months, lost) in OTHER_CELLS {
        let told = lipo(charge, celsius, months).laboratory;
        assert!(
            told.contains(lost),
            "{celsius} °C {charge} % {months}: {lost} in {told:?}"
        );
    }
}

#[test]
fn the_likely_laboratory_cell_is_the_middle_one() {
    // The median of BLAST-Lite's NMC and NCA cells after a year: 25 °C 2.7 % at half charge, 4.5 % full; 40 °C 5.8 and 8.9.
    for (celsius, charge, lost) in [
        (25.0, 50.0, 2.7),
        (25.0, 100.0, 4.5),
        (40.0, 50.0, 5.8),
        (40.0, 100.0, 8.9),
    ] {
        let likely = lipo(charge, celsius, 12.0).laboratory.likely;
        assert!(
            (likely / lost - 1.0).abs() < 0.10,
            "{celsius} °C {charge} %: {likely}, there {lost}"
        );
    }
}

#[test]
fn the_handbook_is_the_harsher_and_nickel_and_lead_lie_by_other_laws() {
    let told = lipo(100.0, 25.0, 12.0);
    assert!(told.handbook.likely > 3.0 * told.laboratory.likely);
    let both = told.both();
    assert!(both.contains(told.handbook.most) && both.contains(told.laboratory.least));
    for chemistry in [Chemistry::NiMh, Chemistry::Pb] {
        assert_eq!(Ageing::expected(chemistry, 50.0, 20.0, 12.0), None);
    }
    assert_eq!(lipo(50.0, 20.0, 0.0).both(), Range::around(0.0, []));
}

proptest! {
    #[test]
    fn longer_warmer_or_fuller_never_ages_less(
        charge in 0.0_f64..100.0, fuller in 0.0_f64..100.0, celsius in -20.0_f64..70.0, warmer in 0.0_f64..30.0,
        months in 0.0_f64..120.0, longer in 0.0_f64..60.0,
    ) {
        let first = lipo(charge, celsius, months);
        let more = [lipo((charge + fuller).min(100.0), celsius, months), lipo(charge, celsius + warmer, months), lipo(charge, celsius, months + longer)];
        for more in more {
            for (one, other) in [(first.handbook, more.handbook), (first.laboratory, more.laboratory)] {
                prop_assert!(one.least <= other.least + 1e-9 && one.likely <= other.likely + 1e-9 && one.most <= other.most + 1e-9);
            }
        }
        for range in [first.handbook, first.laboratory, first.both()] {
            prop_assert!(range.least >= 0.0 && range.least <= range.likely && range.likely <= range.most && range.most <= 100.0);
        }
    }
}

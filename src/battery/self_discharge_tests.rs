//! Losses of cells whose truth is known; what cannot be told is not told.

use super::*;
use crate::battery::curve_sources::sources;
use crate::battery::reference::Dice;
use proptest::prelude::*;

fn lipo(before: &[i64], after: &[i64], days: f64) -> Vec<CellLoss> {
    lost(Chemistry::LiPo, before, after, days, &LossLimits::default()).expect("two readings")
}

#[test]
fn what_a_good_pack_is_expected_to_lose_doubles_with_ten_degrees() {
    // An engineering handbook: lithium 2 to 3 % a month at 20 to 25 °C, NiMH 30, lead 4 to 6; a battery site: doubling.
    let likely = |chemistry, celsius| expected_percent_a_month(chemistry, celsius).likely;
    assert_eq!(likely(Chemistry::LiPo, 20.0), 2.0);
    assert_eq!(likely(Chemistry::LiFePo4, 30.0), 4.0);
    assert_eq!(likely(Chemistry::LiIon, 10.0), 1.0);
    let lithium = expected_percent_a_month(Chemistry::LiPo, 20.0);
    assert!(lithium.contains(0.2) && lithium.contains(3.0));
    // BU-802b: 1 to 2 % a month after the first day, 3 more with a protection circuit, which a pack of round cells may have.
    let round = expected_percent_a_month(Chemistry::LiIon, 20.0);
    assert!(
        [0.2, 1.0, 3.0, 2.0 + 3.0]
            .into_iter()
            .all(|rate| round.contains(rate))
    );
    assert!(expected_percent_a_month(Chemistry::NiMh, 20.0).contains(30.0));
    assert!(expected_percent_a_month(Chemistry::Pb, 20.0).contains(5.0));
}

#[test]
fn a_fall_within_the_meters_error_cannot_be_told_yet() {
    for fallen in [-20, 0, 5, 10] {
        let told = lipo(&[3_850], &[3_850 - fallen], 90.0)[0];
        assert_eq!((told.fallen_mv, told.loss), (fallen, Loss::CannotTellYet));
        assert!(told.percent_a_month.is_some_and(|range| range.least < 1e-9));
    }
    assert_ne!(lipo(&[3_850], &[3_839], 90.0)[0].loss, Loss::CannotTellYet);
    // What lies in the flat part of an iron cell cannot be told in percent; its range says so.
    let iron = lost(
        Chemistry::LiFePo4,
        &[3_280],
        &[3_268],
        30.0,
        &LossLimits::default(),
    )
    .expect("readings");
    assert!(
        iron[0]
            .percent_a_month
            .is_some_and(|range| range.most - range.least > 20.0)
    );
}

#[test]
fn a_pack_that_loses_much_is_flagged_and_one_that_loses_little_is_not() {
    // From 4.15 V, where 12 mV are about a percent, to 4.12 in a month: about three percent.
    let slow = lipo(&[4_150, 4_150], &[4_120, 4_120], 30.4)[0];
    assert_eq!(slow.loss, Loss::Fine);
    assert!(
        slow.percent_a_month
            .is_some_and(|range| range.contains(3.0)),
        "{slow:?}"
    );
    let fast = lipo(&[4_150, 4_150], &[4_020, 4_020], 30.4)[0];
    assert_eq!(fast.loss, Loss::Fast);
    assert!(
        fast.percent_a_month
            .is_some_and(|range| range.least > 5.0 && range.contains(12.0))
    );
    // The same fall in a year.
    assert_eq!(
        lipo(&[4_150, 4_150], &[4_020, 4_020], 365.0)[0].loss,
        Loss::Fine
    );
    // Perhaps: on the built-in curve just over, on another not.
    assert_eq!(lipo(&[4_100], &[4_040], 30.4)[0].loss, Loss::PerhapsFast);
    // A battery site: discard at 30 % in a day.
    assert_eq!(lipo(&[4_150], &[3_700], 1.0)[0].loss, Loss::Discard);
}

#[test]
fn a_cell_that_sags_more_than_its_mates_is_named() {
    let told = lipo(
        &[3_850, 3_852, 3_850, 3_851],
        &[3_846, 3_848, 3_815, 3_847],
        30.4,
    );
    let sagging: Vec<usize> = told
        .iter()
        .filter(|cell| cell.is_sagging)
        .map(|cell| cell.cell)
        .collect();
    assert_eq!(sagging, [3]);
    assert_eq!(told[2].sags_more_mv_a_month, Some(31));
    assert_eq!(told[0].sags_more_mv_a_month, None);
    // 20 mV more in two months are not more than 20 in one.
    let slower = lipo(&[3_850; 3], &[3_846, 3_826, 3_846], 60.8);
    assert_eq!(
        (slower[1].sags_more_mv_a_month, slower[1].is_sagging),
        (Some(10), false)
    );
    // Ten millivolts more in two days are within the meter's error, whatever they would be in a month.
    let soon = lipo(&[3_850; 3], &[3_849, 3_839, 3_849], 2.0);
    assert_eq!(
        (soon[1].sags_more_mv_a_month, soon[1].is_sagging),
        (None, false)
    );
    // A single cell has no mates.
    assert!(!lipo(&[3_850], &[3_700], 30.0)[0].is_sagging);
}

#[test]
fn what_does_not_belong_together_is_refused() {
    let told = |after: &[i64], days| {
        lost(
            Chemistry::LiPo,
            &[3_850, 3_850],
            after,
            days,
            &LossLimits::default(),
        )
    };
    assert_eq!(told(&[3_840, 3_840], 0.9), Err(NoLoss::TooSoon));
    assert_eq!(told(&[3_840, 3_840], f64::NAN), Err(NoLoss::TooSoon));
    assert_eq!(told(&[3_840], 30.0), Err(NoLoss::OtherCells));
    let nickel = lost(
        Chemistry::NiMh,
        &[1_350],
        &[1_250],
        30.0,
        &LossLimits::default(),
    )
    .expect("readings");
    assert_eq!(
        (nickel[0].percent_a_month, nickel[0].loss),
        (None, Loss::CannotTellYet)
    );
}

/// Cells of each source that lose 0 to 12 % a month, read by meters that are off by up to 5 mV each time.
#[test]
fn the_true_loss_of_made_up_cells_lies_in_the_range() {
    let mut dice = Dice::new(5);
    for chemistry in [
        Chemistry::LiPo,
        Chemistry::LiHv,
        Chemistry::LiIon,
        Chemistry::LiFePo4,
    ] {
        let curves = sources(chemistry);
        let (mut flagged, mut wrongly) = (0, 0);
        for _ in 0..2_000 {
            let cell = &curves[dice.below(curves.len())];
            let (from, a_month, days) = (
                dice.between(40.0, 99.0),
                dice.between(0.0, 12.0),
                dice.between(7.0, 120.0),
            );
            let to = (from - a_month * days / MONTH).max(0.0);
            let truth = (from - to) * MONTH / days;
            let mut read = |percent: f64| {
                (cell.volts_at(percent) * 1_000.0 + dice.between(-4.5, 4.5)).round() as i64
            };
            let told = lost(
                chemistry,
                &[read(from)],
                &[read(to)],
                days,
                &LossLimits::default(),
            )
            .expect("readings");
            let range = told[0].percent_a_month.expect("percent");
            assert!(
                range.least <= truth + 1e-9 && truth <= range.most + 1e-9,
                "{chemistry:?}: {truth} {range:?}"
            );
            flagged += usize::from(told[0].loss >= Loss::Fast);
            wrongly += usize::from(told[0].loss >= Loss::Fast && truth <= 5.0);
        }
        println!("{}: {flagged} of 2000 surely over 5 %", chemistry.code());
        assert_eq!(wrongly, 0);
        assert!(flagged > 50, "{chemistry:?}: {flagged}");
    }
}

proptest! {
    #[test]
    fn a_farther_fall_is_never_told_kinder(
        before in 3_000_i64..4_200, fallen in 0_i64..400, more in 0_i64..200, days in 1.0_f64..200.0,
    ) {
        let told = |fallen: i64| lipo(&[before, before, before], &[before - 3, before - fallen, before - 4], days)[1];
        let (near, far) = (told(fallen), told(fallen + more));
        prop_assert!(far.loss >= near.loss);
        prop_assert!(far.is_sagging || !near.is_sagging);
    }
}

#[test]
fn what_pages_say_of_its_loss_are_the_ends_that_are_reckoned_with() {
    let words = LOSES_IN_WORDS.join(" ");
    for (kind, chemistry) in [
        ("LiPo, LiHV and LiFePO4", Chemistry::LiPo),
        ("Li-ion", Chemistry::LiIon),
        ("Lead", Chemistry::Pb),
        ("NiMH", Chemistry::NiMh),
    ] {
        let loses = expected_percent_a_month(chemistry, 20.0);
        let said = format!("{kind}: {} to {}", loses.least, loses.most);
        assert!(words.contains(&said), "{said}");
    }
    let first = first_day_percent(Chemistry::LiPo).most;
    assert!(words.contains(&format!("up to {first} on the first day after a charge")));
}

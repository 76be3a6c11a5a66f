//! What lying costs a pack, and how far its cells stand apart in charge.

use super::scenes_tests::*;
use super::*;
use crate::battery::chemistry::Chemistry;
use crate::battery::self_discharge::Loss;
use crate::club::reading::Rested;
use crate::club::verdict::Gravity;
use Gravity::{Caution, Note, ToMend};
use Rule::{ImbalanceByCharge, SelfDischarge};

fn check(days: i64, cells: &[i64]) -> HealthReading {
    on(days).cells(cells).checked()
}

fn said(readings: &[HealthReading]) -> Option<(Gravity, String)> {
    let health = health_of(&lipo(), readings);
    let reason = of(&health, SelfDischarge)?;
    Some((reason.finding.gravity, reason.finding.words.clone()))
}

#[test]
fn a_cell_that_empties_itself_is_a_caution_with_its_figures() {
    let readings = [
        check(30, &[3_850, 3_850, 3_850]),
        check(0, &[3_845, 3_845, 3_700]),
    ];
    let (gravity, words) = said(&readings).expect("a reason");
    assert_eq!(gravity, Caution);
    assert!(
        words.starts_with("Cell 3 lost about 43 % of its charge a month (35 to 48)"),
        "{words}"
    );
    assert!(
        words.ends_with("while it lay for 30 days; the club's limit is 5 %."),
        "{words}"
    );
    let health = health_of(&lipo(), &readings);
    let reason = of(&health, SelfDischarge).expect("a reason");
    assert_eq!((reason.cell, reason.sure), (Some(3), Sure::OneReading));
    assert!(!health.closes(SelfDischarge));
    let told = health.told.lying.expect("told");
    assert_eq!((told.days, told.cells[0].loss), (30.0, Loss::CannotTellYet));
    assert!(told.expected_percent_a_month.contains(2.0));
}

#[test]
fn a_cell_that_sags_more_than_its_mates_is_a_caution_where_percent_can_t_tell() {
    let readings = [
        check(30, &[4_100, 4_100, 4_100]),
        check(0, &[4_100, 4_100, 4_072]),
    ];
    let (gravity, words) = said(&readings).expect("a reason");
    assert_eq!(
        (gravity, words.as_str()),
        (
            Caution,
            "Cell 3 sagged 28 mV a month more than its mates while it lay for 30 days; the club's limit is 20 mV."
        )
    );
}

#[test]
fn a_third_of_its_charge_in_a_day_sets_it_aside() {
    let readings = [
        check(1, &[4_150, 4_150, 4_150]),
        check(0, &[4_148, 4_150, 3_600]),
    ];
    let (gravity, words) = said(&readings).expect("a reason");
    assert_eq!(gravity, ToMend);
    assert!(
        words.contains("% of its charge a day (") && words.ends_with("the club's limit is 30 %."),
        "{words}"
    );
}

#[test]
fn what_only_perhaps_is_too_fast_is_told() {
    let readings = [check(30, &[3_990; 3]), check(0, &[3_930; 3])];
    let health = health_of(&lipo(), &readings);
    let reason = of(&health, SelfDischarge).expect("a reason");
    assert_eq!((reason.finding.gravity, reason.sure), (Note, Sure::Perhaps));
}

#[test]
fn only_two_checks_of_a_stored_pack_or_somebody_s_word_tell_that_it_only_lay() {
    let before = on(30).cells(&[4_190; 3]);
    let after = on(0).cells(&[3_820; 3]);
    assert_eq!(said(&[before.clone(), after.clone()]), None);
    // It was full, and was brought to storage by a charger.
    assert_eq!(said(&[before.clone(), after.clone().checked()]), None);
    assert!(said(&[before.clone(), after.clone().put_in(0)]).is_some());
    assert_eq!(
        said(&[before.clone(), after.clone().checked().taken_out(900)]),
        None
    );
    let unrested = HealthReading {
        rested: Rested::A_WHILE,
        ..after.checked()
    };
    assert_eq!(said(&[before.checked(), unrested]), None);
}

#[test]
fn a_mistyped_check_counts_once_and_the_next_one_lifts_it() {
    let mut readings = vec![
        check(90, &[3_850; 3]),
        check(60, &[3_845; 3]),
        check(30, &[3_845, 3_845, 3_484]),
    ];
    assert!(said(&readings).is_some());
    readings.push(check(0, &[3_840; 3]));
    let health = health_of(&lipo(), &readings);
    assert_eq!(rules(&health.reasons), []);
    assert!(health.closes(SelfDischarge));
}

#[test]
fn one_of_a_month_before_tells_more_than_one_of_yesterday() {
    let readings = [
        check(31, &[3_850; 3]),
        check(29, &[3_849; 3]),
        check(1, &[3_846, 3_846, 3_731]),
        check(0, &[3_845, 3_845, 3_725]),
    ];
    let health = health_of(&lipo(), &readings);
    let told = health.told.lying.as_ref().expect("told");
    assert_eq!(told.days, 29.0);
    assert!(of(&health, SelfDischarge).is_some());
}

#[test]
fn what_was_found_while_it_lay_stands_until_it_lay_again() {
    let mut readings = vec![check(60, &[3_850; 3]), check(30, &[3_845, 3_845, 3_700])];
    readings.push(on(3).cells(&[3_900; 3]));
    let health = health_of(&lipo(), &readings);
    assert!(of(&health, SelfDischarge).is_some());
    assert!(health.opens().all(|finding| finding.rule != SelfDischarge));
    assert!(!health.closes(SelfDischarge));
}

#[test]
fn nickel_and_lead_lie_by_other_laws() {
    for chemistry in [Chemistry::NiMh, Chemistry::Pb] {
        let (full, low) = match chemistry {
            Chemistry::NiMh => (1_350, 1_220),
            _ => (2_150, 2_080),
        };
        let pack = pack(chemistry, 6, 2_000);
        let readings = [
            check(30, &[full; 6]),
            check(0, &[full, full, full, full, full, low]),
        ];
        let health = health_of(&pack, &readings);
        assert!(of(&health, SelfDischarge).is_none());
        assert!(health.told.lying.is_some());
    }
}

#[test]
fn cells_that_part_in_the_flat_part_are_a_caution_though_their_volts_are_close() {
    // Kernel table A (ab8500): 3.812 V is 50 %, 3.787 V 40 %.
    let flat = health_of(&lipo(), &[on(0).cells(&[3_812, 3_784, 3_812])]);
    let reason = of(&flat, ImbalanceByCharge).expect("a reason");
    assert_eq!(reason.finding.gravity, Caution);
    let words = &reason.finding.words;
    assert!(
        words.starts_with(
            "Cells 1 and 2 are 0.028 V apart, which is about 9 % of charge there (5 to 15)"
        ),
        "{words}"
    );
    assert!(words.ends_with("the club's limit is 8 %."), "{words}");
    assert_eq!(reason.cell, Some(2));
    assert!(!flat.closes(ImbalanceByCharge));
    let steep = health_of(&lipo(), &[on(0).cells(&[4_068, 4_040, 4_068])]);
    assert_eq!(rules(&steep.reasons), []);
    assert!(steep.closes(ImbalanceByCharge));
}

#[test]
fn what_is_wide_in_volts_is_said_by_its_own_rule_and_what_has_not_rested_by_none() {
    let wide = health_of(&lipo(), &[on(0).cells(&[3_820, 3_760, 3_820])]);
    assert_eq!(rules(&wide.reasons), []);
    let unrested = HealthReading {
        rested: Rested::A_WHILE,
        ..on(0).cells(&[3_812, 3_784, 3_812])
    };
    let health = health_of(&lipo(), &[unrested]);
    assert_eq!(rules(&health.reasons), []);
    assert!(health.told.balance.is_none() && !health.closes(ImbalanceByCharge));
}

/// Common practice, no source: a rate is told of as long as was watched, and nothing loses more than all it holds.
#[test]
fn what_was_lost_in_less_than_a_week_is_told_by_the_day() {
    let told = |days: i64, cells: &[i64]| {
        let readings = [check(days, &[3_990; 3]), check(0, cells)];
        said(&readings).expect("a reason").1
    };
    let day = told(1, &[3_988, 3_988, 3_900]);
    assert!(day.starts_with("Cell 3 lost about 1"), "{day}");
    assert!(
        day.contains(" % of its charge a day (")
            && day.ends_with("while it lay for a day; the club's limit is 5 % a month."),
        "{day}"
    );
    let days = told(6, &[3_988, 3_988, 3_900]);
    assert!(
        days.contains("a day (") && days.contains("while it lay for 6 days"),
        "{days}"
    );
    // Eighty percent in ten days would be 240 % a month.
    let most = told(10, &[3_988, 3_988, 3_500]);
    assert!(most.contains(" % of its charge a day ("), "{most}");
    let readings = [check(2, &[4_100; 3]), check(0, &[4_100, 4_100, 4_089])];
    let sagging = said(&readings).expect("a reason").1;
    assert_eq!(
        sagging,
        "Cell 3 sagged 5.5 mV a day more than its mates while it lay for 2 days; the club's limit is 20 mV a month."
    );
}

#[test]
fn a_cell_that_fell_alone_while_nothing_is_on_record_is_told_as_far_as_that_goes() {
    let lay = |days: i64, cells: &[i64]| on(days).cells(cells).used(200);
    let readings = [
        lay(90, &[3_850, 3_850, 3_850]),
        lay(60, &[3_849, 3_849, 3_820]),
        lay(0, &[3_847, 3_847, 3_754]),
    ];
    let (gravity, words) = said(&readings).expect("a reason");
    assert_eq!(gravity, Caution);
    let begins = "As far as is on record it only lay. Cell 3 lost about";
    assert!(words.starts_with(begins), "{words}");
    let health = health_of(&lipo(), &readings);
    assert_eq!(
        of(&health, SelfDischarge).map(|reason| reason.sure),
        Some(Sure::OnRecord)
    );
    assert!(health.opens().any(|finding| finding.rule == SelfDischarge));
    assert!(health.told.lying.is_none(), "no forecast goes by it");
    // It was out between, or nobody looked the record up; its mates fell too, or rose: it was used, or charged.
    let of = |before: HealthReading, after: HealthReading| said(&[before, after]);
    let even = || lay(30, &[3_850, 3_850, 3_850]);
    assert_eq!(of(even(), lay(0, &[3_847, 3_847, 3_754]).used(10)), None);
    assert_eq!(of(even(), on(0).cells(&[3_847, 3_847, 3_754])), None);
    assert_eq!(of(even(), lay(0, &[3_800, 3_800, 3_700])), None);
    assert_eq!(of(even(), lay(0, &[3_900, 3_900, 3_850])), None);
    // A cell rose: it was charged and balanced, and what the others lost of their volts they did not lose by lying.
    let apart = || lay(90, &[3_900, 3_750, 3_900]);
    assert_eq!(of(apart(), lay(0, &[3_820, 3_810, 3_820])), None);
    assert_eq!(of(even(), lay(0, &[3_847, 3_847, 3_754]).put_in(300)), None);
    assert_eq!(
        of(lay(3, &[3_850; 3]), lay(0, &[3_847, 3_847, 3_800])),
        None,
        "cells settle yet"
    );
    assert!(of(even(), lay(0, &[3_847, 3_847, 3_754])).is_some());
}

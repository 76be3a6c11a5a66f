//! Going through the whole record comes to what was kept as it went.

use super::*;
use crate::battery::chemistry::Chemistry;
use crate::club::care::scenes_tests::*;
use crate::club::care::story::Toward;

fn read_at(days: i64, mv: i64) -> (Instant, Step) {
    let story = read(days, mv);
    (days_ago(days), Step::Read(story.read.expect("it was read")))
}

fn was(days: i64, what: What) -> (Instant, Step) {
    (days_ago(days), Step::Was(what))
}

#[test]
fn two_full_readings_and_a_loan_between_leave_the_first_day_above_the_band() {
    let lipo = lying(Chemistry::LiPo);
    let steps = vec![
        read_at(3, 4_150),
        was(9, What::Lent),
        read_at(20, 4_180),
        was(5, What::CameBack),
        read_at(30, 3_820),
    ];
    let told = walked(&lipo, steps);
    assert_eq!(told.kept.above_since, Some(days_ago(20)));
    assert_eq!(told.kept.back_since, Some(days_ago(5)));
    assert_eq!(told.first_check, Some(days_ago(30)));
    let days: f64 = told.lain.iter().map(|one| one.days).sum();
    assert!(
        (days - 11.0).abs() < 1e-9,
        "out for the rest: {:?}",
        told.lain
    );
}

#[test]
fn what_comes_back_is_read_after_it_came_and_goes_out_after_it_was_read() {
    let lipo = lying(Chemistry::LiPo);
    let all = |mv| {
        let steps = vec![read_at(2, mv), was(2, What::Lent), was(2, What::CameBack)];
        let mut steps = [steps, vec![read_at(1, 3_830)]].concat();
        steps.reverse();
        walked(&lipo, steps).kept
    };
    // In the band: stored. Above it: not yet, until it went out again.
    assert_eq!(all(3_820), Kept::default());
    assert_eq!(all(4_180).back_since, None);
    assert_eq!(all(4_180).above_since, Some(days_ago(2)));
}

#[test]
fn a_reading_of_the_whole_pack_is_no_first_check_where_cells_can_be_seen() {
    let mut lipo = lying(Chemistry::LiPo);
    let (at, _) = read_at(4, 3_820);
    let whole = Step::Read(LastRead {
        at,
        volts: Volts::Pack(11_460),
        rested: crate::club::reading::Rested::AN_HOUR,
    });
    let steps = vec![(at, whole)];
    assert_eq!(walked(&lipo, steps.clone()).first_check, None);
    lipo.build.sees_cells = false;
    assert_eq!(walked(&lipo, steps).first_check, Some(at));
}

#[test]
fn a_storage_charge_ends_the_count() {
    let lipo = lying(Chemistry::LiPo);
    let steps = vec![
        read_at(20, 4_180),
        was(15, done(Toward::Storage)),
        read_at(4, 3_820),
    ];
    let told = walked(&lipo, steps);
    assert_eq!(told.kept, Kept::default());
    assert!((told.lain[0].days - 5.0).abs() < 1e-9);
}

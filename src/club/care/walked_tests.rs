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
    let told = walked(&lipo, &Warmth::default(), steps);
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
        walked(&lipo, &Warmth::default(), steps).kept
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
    assert_eq!(
        walked(&lipo, &Warmth::default(), steps.clone()).first_check,
        None
    );
    lipo.build.sees_cells = false;
    assert_eq!(
        walked(&lipo, &Warmth::default(), steps).first_check,
        Some(at)
    );
}

#[test]
fn a_storage_charge_ends_the_count() {
    let lipo = lying(Chemistry::LiPo);
    let steps = vec![
        read_at(20, 4_180),
        was(15, done(Toward::Storage)),
        read_at(4, 3_820),
    ];
    let told = walked(&lipo, &Warmth::default(), steps);
    assert_eq!(told.kept, Kept::default());
    assert!((told.lain[0].days - 5.0).abs() < 1e-9);
}

#[test]
fn gone_through_anew_days_that_were_counted_stay_as_warm_as_they_were() {
    let lipo = lying(Chemistry::LiPo);
    let cool = Lying {
        celsius: Some(12),
        ..lipo
    };
    let warm = Lying {
        celsius: Some(31),
        ..lipo
    };
    let steps = vec![read_at(40, 4_180), read_at(30, 4_180)];
    let so_far = walked(&cool, &Warmth::default(), steps.clone());
    let steps = [steps, vec![read_at(10, 4_170), read_at(5, 4_160)]].concat();
    let told = walked(&warm, &so_far.warmth, steps.clone());
    let days = |celsius: i64| -> f64 {
        let all = told.lain.iter().filter(|one| one.celsius == celsius);
        all.map(|one| one.days).sum()
    };
    assert_eq!([12, 31, 20].map(days), [10.0, 25.0, 0.0]);
    assert_eq!(walked(&lipo, &told.warmth, steps), told, "and again");
    // Kept before there was such a column: what its days were counted at, where that is one warmth.
    let until = Some(days_ago(30));
    assert_eq!(
        Warmth::of(None, &so_far.lain, until).at(days_ago(35)),
        Some(12)
    );
    assert_eq!(Warmth::of(None, &told.lain, until).at(days_ago(35)), None);
}

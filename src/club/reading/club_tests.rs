//! How far a club's own limits go.

use super::tests::{build, rules};
use super::*;
use crate::battery::chemistry::Chemistry;

#[test]
fn what_a_club_tightened_quarantines_sooner_and_says_that_it_is_the_club() {
    let tight = ClubLimits {
        above_minimum_mv: 200,
        over_full_by_mv: 20,
        ..ClubLimits::default()
    };
    let lipo = build(Chemistry::LiPo, 2, true);
    let judged = |cells: [i64; 2], limits: &ClubLimits| {
        judge(
            &lipo,
            &Volts::Cells(cells.to_vec()),
            Rested::AN_HOUR,
            limits,
        )
    };
    let low = judged([3_150, 3_160], &tight);
    assert_eq!(rules(&low), [Rule::OverDischarged, Rule::OverDischarged]);
    assert!(
        low[0].words.contains("the club's minimum is 3.20 V"),
        "{}",
        low[0].words
    );
    assert_eq!(
        rules(&judged([3_150, 3_160], &ClubLimits::default())),
        [Rule::Empty, Rule::Empty]
    );
    let full = judged([4_221, 4_221], &tight);
    assert_eq!(rules(&full), [Rule::OverCharged, Rule::OverCharged]);
    assert!(
        full[0]
            .words
            .contains("more than 4.22 V is overcharged in this club"),
        "{}",
        full[0].words
    );
    assert!(judged([4_220, 4_220], &tight).is_empty());
}

#[test]
fn a_club_may_only_tighten_its_limits() {
    let loose = ClubLimits {
        spread_watch_mv: 500,
        spread_wide_mv: 900,
        rest_minutes: 0,
        reading_days: 999,
        spread_override_mv: 999,
        above_minimum_mv: -100,
        over_full_by_mv: 500,
        charge_from_celsius: -10,
        charge_to_celsius: 60,
    };
    assert_eq!(loose.tightened(), ClubLimits::default());
    let tight = ClubLimits {
        spread_watch_mv: 10,
        spread_wide_mv: 50,
        rest_minutes: 60,
        reading_days: 30,
        spread_override_mv: 0,
        above_minimum_mv: 200,
        over_full_by_mv: 20,
        charge_from_celsius: 5,
        charge_to_celsius: 40,
    };
    assert_eq!(tight.tightened(), tight);
    let crossed = ClubLimits {
        spread_wide_mv: 1,
        ..tight
    };
    assert_eq!(crossed.tightened().spread_wide_mv, 10);
    let lipo = build(Chemistry::LiPo, 2, true);
    let wide = Volts::Cells(vec![3_800, 3_960]);
    assert_eq!(
        rules(&judge(&lipo, &wide, Rested::A_WHILE, &loose)),
        [Rule::SpreadWide]
    );
    assert_eq!(
        rules(&judge(&lipo, &wide, Rested::JustUsed, &loose)),
        [Rule::SpreadNotJudged]
    );
}

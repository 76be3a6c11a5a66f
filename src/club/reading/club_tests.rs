//! How far a club's own limits go.

use super::tests::{build, rules, verdict_on};
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
        charge_lipo_c_tenths: 50,
        charge_lihv_c_tenths: 15,
        charge_liion_c_tenths: 6,
        charge_lifepo4_c_tenths: 99,
        charge_nimh_c_tenths: 11,
        charge_lipo_most_c_tenths: 30,
        charge_lihv_most_c_tenths: 21,
        charge_liion_most_c_tenths: 11,
        charge_lifepo4_most_c_tenths: 99,
        charge_nimh_most_c_tenths: 50,
        ..ClubLimits::default()
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
        charge_lipo_c_tenths: 5,
        charge_lihv_c_tenths: 5,
        charge_liion_c_tenths: 1,
        charge_lifepo4_c_tenths: 3,
        charge_nimh_c_tenths: 2,
        charge_lipo_most_c_tenths: 5,
        charge_lihv_most_c_tenths: 20,
        charge_liion_most_c_tenths: 2,
        charge_lifepo4_most_c_tenths: 10,
        charge_nimh_most_c_tenths: 2,
        ..ClubLimits::default()
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

#[test]
fn a_slipped_point_is_asked_about_with_what_was_meant() {
    let lipo = build(Chemistry::LiPo, 2, true);
    let next = |cells: [i64; 2]| {
        let found = judge(
            &lipo,
            &Volts::Cells(cells.to_vec()),
            Rested::AN_HOUR,
            &ClubLimits::default(),
        );
        assert_eq!(found[0].rule, Rule::Implausible);
        assert!(
            found[0].words.contains("hardly any cell"),
            "{}",
            found[0].words
        );
        found[0].next.clone()
    };
    assert_eq!(next([38_500, 3_850]), "Was 3.85 V meant? Log it again.");
    assert_eq!(next([385, 3_850]), "Was 3.85 V meant? Log it again.");
    assert!(next([9_999, 3_850]).starts_with("Was it mistyped?"));
    assert!(next([0, 3_850]).starts_with("Is the cell dead"));
}

#[test]
fn the_volts_of_one_cell_typed_for_a_whole_pack_quarantine_it_and_say_how_that_is_put_right() {
    let nimh = build(Chemistry::NiMh, 6, false);
    let found = judge(
        &nimh,
        &Volts::Pack(1_250),
        Rested::AN_HOUR,
        &ClubLimits::default(),
    );
    assert_eq!(found[0].rule, Rule::OverDischarged);
    assert!(
        found[0].next.contains("correct the reading"),
        "{}",
        found[0].next
    );
    let dead = judge(
        &nimh,
        &Volts::Pack(900),
        Rested::AN_HOUR,
        &ClubLimits::default(),
    );
    assert!(
        !dead[0].next.contains("correct the reading"),
        "{}",
        dead[0].next
    );
}

#[test]
fn a_longer_rest_asked_for_never_makes_a_wide_spread_milder() {
    let strict = ClubLimits {
        rest_minutes: 60,
        ..ClubLimits::default()
    };
    let lipo = build(Chemistry::LiPo, 3, true);
    let judged = |cells: [i64; 3], rested, limits: &ClubLimits| {
        rules(&judge(&lipo, &Volts::Cells(cells.to_vec()), rested, limits))
    };
    let wide = [3_820, 3_650, 3_820];
    assert_eq!(judged(wide, Rested::A_WHILE, &strict), [Rule::SpreadWide]);
    assert_eq!(
        judged(wide, Rested::JustUsed, &strict),
        [Rule::SpreadNotJudged]
    );
    let even = [3_820, 3_815, 3_820];
    assert_eq!(
        judged(even, Rested::A_WHILE, &strict),
        [Rule::SpreadNotJudged]
    );
    assert_eq!(judged(even, Rested::AN_HOUR, &strict), []);
}

#[test]
fn a_clubs_margin_moves_no_minimum_of_nimh_or_lead_and_makes_no_cell_missing() {
    let strict = ClubLimits {
        above_minimum_mv: 300,
        ..ClubLimits::default()
    };
    for (chemistry, mv) in [(Chemistry::NiMh, 7_150), (Chemistry::Pb, 12_250)] {
        let whole = build(chemistry, 6, false);
        let found =
            |limits: &ClubLimits| rules(&judge(&whole, &Volts::Pack(mv), Rested::AN_HOUR, limits));
        assert_eq!(
            found(&strict),
            found(&ClubLimits::default()),
            "{chemistry:?}"
        );
    }
    let lipo = build(Chemistry::LiPo, 3, false);
    let found = rules(&judge(&lipo, &Volts::Pack(9_600), Rested::AN_HOUR, &strict));
    assert!(
        found.contains(&Rule::OverDischarged) && !found.contains(&Rule::MissingCell),
        "{found:?}"
    );
}

#[test]
fn a_slipped_point_of_a_whole_pack_is_not_taken_for_one_cell() {
    let lipo = build(Chemistry::LiPo, 3, false);
    let found = judge(
        &lipo,
        &Volts::Pack(115_500),
        Rested::AN_HOUR,
        &ClubLimits::default(),
    );
    assert_eq!(found[0].next, "Was it mistyped? Measure and log it again.");
}

/// Common practice, no source: three cells that show 8.9 V together would be two of 4.45 V, which no cell has, and one of 8.9 V
/// nobody would type for another. What full is comes from section 1 of the trade's facts.
#[test]
fn no_hint_is_given_that_no_cell_could_bear_out() {
    let of = |cells: i64, pack_mv: i64| {
        let lipo = build(Chemistry::LiPo, cells, false);
        judge(
            &lipo,
            &Volts::Pack(pack_mv),
            Rested::AN_HOUR,
            &ClubLimits::default(),
        )
    };
    let next = |found: &[Finding]| {
        let low = found.iter().find(|each| each.rule == Rule::OverDischarged);
        low.map(|each| each.next.clone()).unwrap_or_default()
    };
    let both = "Don't charge or use it: it is in quarantine now.";
    let found = of(3, 8_900);
    assert_eq!(rules(&found), [Rule::OverDischarged, Rule::CellsNotSeen]);
    assert_eq!(next(&found), both);
    // Two full ones are two.
    assert!(rules(&of(3, 8_500)).contains(&Rule::MissingCell));
    assert!(!rules(&of(3, 8_501)).contains(&Rule::MissingCell));
    // One cell of three, or of four, typed for the pack.
    assert!(next(&of(3, 3_850)).contains("one cell were typed"));
    assert!(next(&of(4, 4_200)).contains("one cell were typed"));
    assert_eq!(next(&of(4, 4_300)), both);
}

#[test]
fn cells_farther_apart_than_lack_of_rest_explains_are_set_aside_at_once() {
    let apart = verdict_on(Chemistry::LiPo, &[4_150, 3_849, 4_150], Rested::JustUsed);
    assert_eq!(rules(&apart), vec![Rule::SpreadOut]);
    assert_eq!(apart[0].gravity, Gravity::ToMend);
    assert_eq!(
        apart[0].words,
        "Cell 3 and cell 2 are 0.301 V apart, of which lack of rest explains 0.10 V at most; the limit is 0.20 V."
    );
    let limits = ClubLimits {
        spread_wide_mv: 50,
        ..ClubLimits::default()
    };
    let build = build(Chemistry::LiPo, 2, true);
    let cells = Volts::Cells(vec![3_800, 3_951]);
    let stricter = judge(&build, &cells, Rested::Minutes(5), &limits);
    assert_eq!(rules(&stricter), vec![Rule::SpreadWide]);
    // A club that hands out none that is set aside for its spread still knows an even pack from one that is apart.
    let none_out = ClubLimits {
        spread_override_mv: 0,
        ..ClubLimits::default()
    };
    let rules_at = |apart_mv: i64| {
        let cells = Volts::Cells(vec![3_800, 3_800 + apart_mv]);
        rules(&judge(&build, &cells, Rested::AN_HOUR, &none_out))
    };
    assert_eq!(rules_at(0), vec![]);
    assert_eq!(rules_at(30), vec![]);
    assert_eq!(rules_at(100), vec![Rule::SpreadWatch]);
    assert_eq!(rules_at(200), vec![Rule::SpreadWide]);
    assert_eq!(rules_at(201), vec![Rule::SpreadOut]);
    // What lack of rest explains takes nothing out of service.
    let next = |cells: &[i64], rested| {
        let found = verdict_on(Chemistry::LiPo, cells, rested);
        found[0].next.clone()
    };
    let out = "So far apart it is out of service";
    assert!(next(&[3_800, 4_001], Rested::AN_HOUR).starts_with(out));
    assert!(next(&[3_800, 4_101], Rested::JustUsed).starts_with(out));
    let by_hand = "balances it at its lowest current";
    assert!(next(&[3_800, 4_000], Rested::AN_HOUR).contains(by_hand));
    assert!(next(&[3_800, 4_100], Rested::JustUsed).contains(by_hand));
}

//! Sentences about the trade, proven; leaves nothing to others.

use super::super::verdict::gravest;
use super::*;
use crate::battery::chemistry::Chemistry;
use crate::battery::limits::LabelVolts;
use proptest::prelude::*;

pub(super) fn build(chemistry: Chemistry, cells_series: i64, sees_cells: bool) -> Build {
    Build {
        chemistry,
        cells_series,
        groups_parallel: 1,
        capacity_mah: 1_000,
        sees_cells,
        label: LabelVolts::default(),
    }
}

pub(super) fn rules(findings: &[Finding]) -> Vec<Rule> {
    findings.iter().map(|each| each.rule).collect()
}

pub(super) fn verdict_on(chemistry: Chemistry, cells: &[i64], rested: Rested) -> Vec<Finding> {
    let build = build(chemistry, cells.len() as i64, true);
    judge(
        &build,
        &Volts::Cells(cells.to_vec()),
        rested,
        &ClubLimits::default(),
    )
}

#[test]
fn every_limit_of_every_chemistry_holds_at_its_edge_on_both_sides() {
    for chemistry in Chemistry::ALL {
        let l = chemistry.limits();
        let edges = [
            (l.plausible_low_mv - 1, vec![Rule::Implausible]),
            (l.plausible_low_mv, vec![Rule::OverDischarged]),
            (l.minimum_mv - 1, vec![Rule::OverDischarged]),
            (l.minimum_mv, vec![Rule::Empty]),
            (l.empty_mv - 1, vec![Rule::Empty]),
            (l.empty_mv, vec![]),
            (l.full_mv, vec![]),
            (l.over_full_warn_mv, vec![]),
            (l.over_full_warn_mv + 1, vec![Rule::OverFullWarn]),
            (l.over_full_mv, vec![Rule::OverFullWarn]),
            (l.over_full_mv + 1, vec![Rule::OverCharged]),
            (l.plausible_high_mv, vec![Rule::OverCharged]),
            (l.plausible_high_mv + 1, vec![Rule::Implausible]),
        ];
        for (mv, expected) in edges {
            for rested in Rested::OFFERED {
                assert_eq!(
                    rules(&verdict_on(chemistry, &[mv], rested)),
                    expected,
                    "{chemistry:?} {mv}"
                );
            }
            let whole = judge(
                &build(chemistry, 3, false),
                &Volts::Pack(mv * 3),
                Rested::A_WHILE,
                &ClubLimits::default(),
            );
            for rule in &expected {
                assert!(rules(&whole).contains(rule), "{chemistry:?} average {mv}");
            }
        }
    }
}

#[test]
fn the_gravity_of_a_rule_is_quarantine_for_danger_and_set_aside_for_what_is_asked_about() {
    let gravity_of = |mv| gravest(&verdict_on(Chemistry::LiPo, &[3_800, mv], Rested::AN_HOUR));
    assert_eq!(gravity_of(2_999), Some(Gravity::Danger));
    assert_eq!(gravity_of(4_251), Some(Gravity::Danger));
    assert_eq!(gravity_of(0), Some(Gravity::ToMend));
    assert_eq!(gravity_of(39_100), Some(Gravity::ToMend));
    assert_eq!(gravity_of(3_800), None);
    assert_eq!(
        gravest(&verdict_on(Chemistry::LiPo, &[3_499], Rested::AN_HOUR)),
        Some(Gravity::Caution)
    );
    assert_eq!(
        gravest(&verdict_on(Chemistry::LiPo, &[4_231], Rested::AN_HOUR)),
        Some(Gravity::Caution)
    );
}

#[test]
fn a_finding_names_the_cell_its_volts_and_the_limit() {
    let low = verdict_on(Chemistry::LiPo, &[3_800, 2_910], Rested::AN_HOUR);
    assert_eq!(
        low[0].words,
        "Cell 2 rests at 2.91 V; the minimum for LiPo is 3.00 V."
    );
    let used = verdict_on(Chemistry::LiPo, &[2_910], Rested::JustUsed);
    assert_eq!(
        used[0].words,
        "Cell 1 reads 2.91 V; the minimum for LiPo is 3.00 V."
    );
    let apart = verdict_on(Chemistry::LiPo, &[3_800, 3_920], Rested::AN_HOUR);
    assert_eq!(
        apart[0].words,
        "Cell 2 and cell 1 are 0.12 V apart; the limit is 0.10 V."
    );
}

#[test]
fn the_spread_is_judged_above_its_limits_and_only_after_a_rest() {
    let spread = |apart: i64, rested| {
        rules(&verdict_on(
            Chemistry::LiPo,
            &[3_800, 3_800 + apart],
            rested,
        ))
    };
    assert_eq!(spread(30, Rested::A_WHILE), vec![]);
    assert_eq!(spread(31, Rested::A_WHILE), vec![Rule::SpreadWatch]);
    assert_eq!(spread(100, Rested::A_WHILE), vec![Rule::SpreadWatch]);
    assert_eq!(spread(101, Rested::A_WHILE), vec![Rule::SpreadWide]);
    assert_eq!(spread(200, Rested::A_WHILE), vec![Rule::SpreadWide]);
    assert_eq!(spread(201, Rested::A_WHILE), vec![Rule::SpreadOut]);
    assert_eq!(
        spread(101, Rested::Minutes(14)),
        vec![Rule::SpreadNotJudged]
    );
    assert_eq!(spread(200, Rested::JustUsed), vec![Rule::SpreadNotJudged]);
    assert_eq!(spread(201, Rested::JustUsed), vec![Rule::SpreadWide]);
    let limits = ClubLimits::default();
    assert_eq!(log_again_after_minutes(Rested::JustUsed, &limits), Some(15));
    assert_eq!(
        log_again_after_minutes(Rested::Minutes(14), &limits),
        Some(1)
    );
    assert_eq!(log_again_after_minutes(Rested::Minutes(15), &limits), None);
    assert_eq!(
        log_again_after_minutes(Rested::Minutes(-5), &limits),
        Some(15)
    );
}

#[test]
fn a_2s_with_three_volts_is_asked_about_and_a_low_cell_among_them_counts_at_once() {
    let two = build(Chemistry::LiPo, 2, true);
    let limits = ClubLimits::default();
    let asked = judge(
        &two,
        &Volts::Cells(vec![3_900, 3_900, 3_900]),
        Rested::AN_HOUR,
        &limits,
    );
    assert_eq!(rules(&asked), [Rule::Implausible]);
    assert_eq!(gravest(&asked), Some(Gravity::ToMend));
    let low = judge(
        &two,
        &Volts::Cells(vec![3_900, 2_900, 3_900]),
        Rested::JustUsed,
        &limits,
    );
    assert_eq!(gravest(&low), Some(Gravity::Danger));
}

#[test]
fn a_strange_value_that_was_confirmed_is_quarantine() {
    let two = build(Chemistry::LiPo, 2, true);
    let limits = ClubLimits::default();
    let confirmed = |cells: &[i64]| {
        judge_confirmed(
            &two,
            &Volts::Cells(cells.to_vec()),
            Rested::AN_HOUR,
            &limits,
        )
    };
    assert_eq!(rules(&confirmed(&[3_900, 0])), [Rule::MissingCell]);
    assert_eq!(rules(&confirmed(&[3_900, 5_001])), [Rule::OverCharged]);
    assert_eq!(rules(&confirmed(&[3_900])), [Rule::MissingCell]);
    assert_eq!(
        rules(&confirmed(&[3_900, 3_900, 3_900])),
        [Rule::Implausible]
    );
    assert!(
        confirmed(&[3_900, 0])
            .iter()
            .all(|each| each.gravity == Gravity::Danger)
    );
}

#[test]
fn a_pack_that_shows_no_cells_is_judged_by_the_average_and_says_so() {
    let nimh = build(Chemistry::NiMh, 6, false);
    let limits = ClubLimits::default();
    let fine = judge(&nimh, &Volts::Pack(7_800), Rested::AN_HOUR, &limits);
    assert_eq!(
        (rules(&fine), gravest(&fine)),
        (vec![Rule::CellsNotSeen], Some(Gravity::Note))
    );
    let lipo = build(Chemistry::LiPo, 3, true);
    let whole = judge(&lipo, &Volts::Pack(11_400), Rested::AN_HOUR, &limits);
    assert_eq!(gravest(&whole), Some(Gravity::Caution));
    let lost_cell = judge(&lipo, &Volts::Pack(7_800), Rested::AN_HOUR, &limits);
    assert!(rules(&lost_cell).contains(&Rule::MissingCell));
    // A third of a millivolt over the hard stop is over it.
    let over = judge(&lipo, &Volts::Pack(3 * 4_250 + 1), Rested::AN_HOUR, &limits);
    assert!(rules(&over).contains(&Rule::OverCharged));
}

#[test]
fn a_reading_closes_what_hangs_on_readings_and_never_danger_nor_what_was_seen() {
    let limits = ClubLimits::default();
    let closes = |open, new: &[Finding], rested| closed_by_reading(open, new, rested, &limits);
    let fine = verdict_on(Chemistry::LiPo, &[3_800, 3_810], Rested::AN_HOUR);
    for open in [
        Rule::SpreadWide,
        Rule::SpreadWatch,
        Rule::Empty,
        Rule::OverFullWarn,
        Rule::Implausible,
        Rule::CouldNotRead,
        Rule::CameBackUnchecked,
        Rule::NeverRead,
        Rule::ReadingOld,
        Rule::CellsNotSeen,
    ] {
        assert!(closes(open, &fine, Rested::AN_HOUR), "{open:?}");
    }
    let seen = crate::club::seen::Seen::ALL.map(Rule::Seen);
    let held = [
        Rule::OverDischarged,
        Rule::OverCharged,
        Rule::MissingCell,
        Rule::SpreadOut,
        Rule::BatchSister,
        Rule::ReportedUnlooked,
    ];
    for open in held.into_iter().chain(seen) {
        assert!(!closes(open, &fine, Rested::AN_HOUR), "{open:?}");
    }
    let unrested = verdict_on(Chemistry::LiPo, &[3_800, 3_810], Rested::JustUsed);
    assert!(!closes(Rule::SpreadWide, &unrested, Rested::JustUsed));
    assert!(closes(Rule::CouldNotRead, &unrested, Rested::JustUsed));
    let narrower = verdict_on(Chemistry::LiPo, &[3_800, 3_850], Rested::AN_HOUR);
    assert!(closes(Rule::SpreadWide, &narrower, Rested::AN_HOUR));
    assert!(!closes(Rule::SpreadWatch, &narrower, Rested::AN_HOUR));
    let whole = judge(
        &build(Chemistry::LiPo, 2, true),
        &Volts::Pack(7_600),
        Rested::AN_HOUR,
        &limits,
    );
    assert!(!closes(Rule::SpreadWide, &whole, Rested::AN_HOUR));
    let strange = verdict_on(Chemistry::LiPo, &[3_800, 38_000], Rested::AN_HOUR);
    for open in Rule::OF_READINGS_AND_RECORDS {
        assert!(!closes(open, &strange, Rested::AN_HOUR), "{open:?}");
    }
}

fn chemistries() -> impl Strategy<Value = Chemistry> {
    prop::sample::select(Chemistry::ALL.to_vec())
}

fn resting() -> impl Strategy<Value = Rested> {
    prop_oneof![
        Just(Rested::JustUsed),
        any::<i64>().prop_map(Rested::Minutes)
    ]
}

/// Volts as people log them, most of them near the limits.
fn cell_mv() -> impl Strategy<Value = i64> {
    prop_oneof![2_400_i64..4_500, 0_i64..6_000, Just(39_100)]
}

proptest! {
    #[test]
    fn any_volts_on_any_build_get_a_verdict_and_no_word_of_it_says_safe(
        chemistry in chemistries(), in_series in any::<i64>(), list in prop::collection::vec(any::<i64>(), 0..6),
        whole in any::<i64>(), rested in resting(), sees_cells: bool,
    ) {
        let build = build(chemistry, in_series, sees_cells);
        for volts in [Volts::Cells(list), Volts::Pack(whole)] {
            for finding in judge(&build, &volts, rested, &ClubLimits::default()) {
                let said = [finding.words, finding.next].concat().to_lowercase();
                prop_assert!(!said.contains("safe"));
            }
            let _ = judge_confirmed(&build, &volts, rested, &ClubLimits::default());
        }
    }

    #[test]
    fn a_dangerous_cell_more_never_makes_the_verdict_milder(
        chemistry in chemistries(), list in prop::collection::vec(cell_mv(), 1..7), rested in resting(),
        by in 1_i64..400, is_low: bool, at in any::<prop::sample::Index>(),
    ) {
        let table = chemistry.limits();
        let dangerous = if is_low { table.minimum_mv - by.min(table.minimum_mv - table.plausible_low_mv) }
            else { table.over_full_mv + by.min(table.plausible_high_mv - table.over_full_mv) };
        let before = gravest(&verdict_on(chemistry, &list, rested));
        let build = build(chemistry, list.len() as i64, true);
        let mut more = list.clone();
        more.push(dangerous);
        let mut instead = list;
        let spot = at.index(instead.len());
        instead[spot] = dangerous;
        for worse in [more, instead] {
            let after = gravest(&judge(&build, &Volts::Cells(worse), rested, &ClubLimits::default()));
            prop_assert!(after >= before && after >= Some(Gravity::Danger));
        }
    }

    #[test]
    fn the_order_of_the_cells_does_not_change_the_gravity(
        chemistry in chemistries(), list in prop::collection::vec(cell_mv(), 1..7).prop_shuffle(), rested in resting(),
    ) {
        let mut sorted = list.clone();
        sorted.sort_unstable();
        let as_logged = gravest(&verdict_on(chemistry, &list, rested));
        prop_assert_eq!(as_logged, gravest(&verdict_on(chemistry, &sorted, rested)));
    }

    #[test]
    fn a_verdict_on_confirmed_volts_is_never_milder(
        chemistry in chemistries(), list in prop::collection::vec(cell_mv(), 1..7), in_series in 1_i64..7, rested in resting(),
    ) {
        let (build, volts) = (build(chemistry, in_series, true), Volts::Cells(list));
        let asked = judge(&build, &volts, rested, &ClubLimits::default());
        prop_assert!(gravest(&judge_confirmed(&build, &volts, rested, &ClubLimits::default())) >= gravest(&asked));
    }
}

#[test]
fn a_label_stricter_than_the_chemistry_counts_and_is_named_and_a_looser_one_does_not() {
    let on = |full_mv: i64, lowest_mv: i64, cells: &[i64]| {
        let build = Build {
            label: LabelVolts {
                full_mv: Some(full_mv),
                lowest_mv: Some(lowest_mv),
            },
            ..build(Chemistry::LiPo, 2, true)
        };
        let volts = Volts::Cells(cells.to_vec());
        judge(&build, &volts, Rested::AN_HOUR, &ClubLimits::default())
    };
    // Full 4.10 on the label: 4.16 is more than 0.05 V over it; for a LiPo's own 4.20 it is nothing.
    let over = on(4_100, 3_000, &[4_160, 4_160]);
    assert_eq!(rules(&over), [Rule::OverCharged, Rule::OverCharged]);
    assert!(
        over[0].words.contains("full on its label is 4.10 V"),
        "{}",
        over[0].words
    );
    assert_eq!(rules(&on(4_350, 2_500, &[4_160, 4_160])), []);
    assert_eq!(
        rules(&on(4_350, 2_500, &[4_260, 4_260])),
        [Rule::OverCharged, Rule::OverCharged]
    );
    let under = on(4_200, 3_200, &[3_190, 3_190]);
    assert_eq!(rules(&under), [Rule::OverDischarged, Rule::OverDischarged]);
    assert!(
        under[0].words.contains("the lowest on its label is 3.20 V"),
        "{}",
        under[0].words
    );
    assert_eq!(
        rules(&on(4_200, 2_500, &[2_990, 2_990])),
        [Rule::OverDischarged, Rule::OverDischarged]
    );
}

#[test]
fn volts_tell_the_charge_for_a_day_once_rested_and_until_the_pack_goes_out() {
    let now = Instant(1_000 * 86_400_000);
    let limits = ClubLimits::default();
    let tells = |minutes_ago: i64, rested: i64, lent_minutes_ago: Option<i64>| {
        let at = |ago: i64| now.plus_minutes(-ago);
        let read = (Some(at(minutes_ago)), Some(rested));
        still_tells_charge(read, lent_minutes_ago.map(at), now, &limits)
    };
    assert!(tells(24 * 60 - 1, 15, None) && !tells(24 * 60, 15, None));
    assert!(!tells(5, limits.rest_minutes - 1, None), "not rested");
    assert!(!tells(5, 60, Some(4)), "used since, for all one knows");
    assert!(!tells(5, 60, Some(5)), "read while it was handed out");
    assert!(tells(4, 60, Some(5)), "read by who has it");
    assert!(
        !still_tells_charge((None, None), None, now, &limits),
        "never read"
    );
}

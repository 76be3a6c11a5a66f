//! The watch: when looks are due, what begins it anew, when it is over, and that no way leads back after final danger.

use super::*;
use crate::club::book::first_minute::sends_to_it;
use crate::club::release::Inside;
use proptest::prelude::*;

const BEGAN: Instant = Instant(1_795_600_000_000);
const QUARTERMASTER: Releaser = Releaser {
    is_quartermaster: true,
    is_organiser: false,
    is_reporter: false,
    is_last_holder: false,
};

fn after(minutes: i64) -> Instant {
    BEGAN.plus_minutes(minutes)
}

fn look(minutes: i64, signs: &[Sign]) -> Look {
    Look {
        at: after(minutes),
        signs: signs.to_vec(),
    }
}

fn minutes(at: &[Instant]) -> Vec<i64> {
    at.iter().map(|at| at.minutes_since(BEGAN)).collect()
}

fn stands_after(minutes: i64, looks: &[Look]) -> Standing {
    stands(BEGAN, Period::default(), looks, after(minutes))
}

const END: i64 = 60 + 24 * 60;

/// The default: 60 minutes watched, then 24 hours. Sources stand at [`Period`].
#[test]
fn it_is_looked_at_each_quarter_of_an_hour_for_an_hour_and_then_every_eight_for_a_day() {
    let due = looks_due(BEGAN, Period::default());
    assert_eq!(minutes(&due), [15, 30, 45, 60, 540, 1020, END]);
    let uneven = Period {
        look_every_minutes: 7,
        look_every_hours: 7,
        ..Period::default()
    };
    let due = minutes(&looks_due(BEGAN, uneven));
    assert_eq!(due[..9], [7, 14, 21, 28, 35, 42, 49, 56, 60]);
    assert_eq!(due[9..], [480, 900, 1320, END]);
}

#[test]
fn a_club_may_watch_longer_and_never_shorter_nor_more_seldom() {
    let fields = |period: Period| {
        let problems = period.problems();
        problems.iter().map(|each| each.field).collect::<Vec<_>>()
    };
    assert_eq!(fields(Period::default()), [""; 0]);
    let looser = Period {
        watched_minutes: 59,
        look_every_minutes: 16,
        kept_hours: 23,
        look_every_hours: 9,
    };
    let all = [
        "watched_minutes",
        "look_every_minutes",
        "kept_hours",
        "look_every_hours",
    ];
    assert_eq!(fields(looser), all);
    let never = Period {
        look_every_minutes: 0,
        look_every_hours: 0,
        ..Period::default()
    };
    assert_eq!(fields(never), ["look_every_minutes", "look_every_hours"]);
    assert!(!looks_due(BEGAN, never).is_empty());
}

#[test]
fn a_watch_is_over_when_somebody_looked_at_its_end_and_saw_nothing() {
    assert!(!stands_after(END, &[]).is_over);
    assert!(!stands_after(END, &[look(END - 1, &[])]).is_over);
    assert!(stands_after(END, &[look(END, &[])]).is_over);
    assert!(!stands_after(END - 1, &[look(END, &[])]).is_over);
    let could_not_see = look(END + 5, &[Sign::CouldNotSee]);
    let stood = stands_after(END + 9, &[could_not_see]);
    assert!(!stood.is_over);
    assert_eq!(stood.next_look, Some(after(END)));
}

#[test]
fn the_next_look_is_told_and_those_that_nobody_made() {
    let stood = stands_after(0, &[]);
    assert_eq!((stood.next_look, stood.missed), (Some(after(15)), vec![]));
    let looks = [look(14, &[]), look(47, &[])];
    let stood = stands_after(47, &looks);
    assert_eq!(minutes(&stood.missed), [30]);
    assert_eq!(stood.next_look, Some(after(60)));
    let stood = stands_after(20, &[]);
    assert_eq!((stood.next_look, stood.missed), (Some(after(15)), vec![]));
    let stood = stands_after(END + 60, &[look(END + 60, &[])]);
    assert_eq!(minutes(&stood.missed), [15, 30, 45, 60, 540, 1020]);
    assert_eq!((stood.next_look, stood.is_over), (None, true));
}

#[test]
fn who_could_not_see_it_made_no_look() {
    let blind = [look(15, &[Sign::CouldNotSee])];
    assert_eq!(stands_after(15, &blind).next_look, Some(after(15)));
    assert_eq!(minutes(&stands_after(23, &blind).missed), [15]);
}

#[test]
fn danger_seen_begins_the_watch_anew() {
    let looks = [
        look(15, &[]),
        look(500, &[Sign::Smoke, Sign::Hissing, Sign::Bulging]),
    ];
    let stood = stands_after(500, &looks);
    assert_eq!(stood.since, after(500));
    assert_eq!(stood.ends, after(500 + END));
    assert_eq!(stood.next_look, Some(after(515)));
    assert_eq!(stood.danger, [Seen::Swollen, Seen::SmokeOrFire]);
    let quiet_at_old_end = [looks[1].clone(), look(END, &[])];
    assert!(!stands_after(END, &quiet_at_old_end).is_over);
}

#[test]
fn only_what_is_seen_or_heard_from_a_distance_is_asked_and_all_of_it_is_final() {
    for sign in Sign::ALL {
        assert_eq!(Sign::from_code(sign.code()), Some(sign));
        assert_eq!(sends_to_it(sign.label()), [""; 0], "{sign:?}");
        let is_final = sign.comes_to().map(Seen::gravity) == Some(Gravity::FinalDanger);
        assert_eq!(is_final, sign != Sign::CouldNotSee, "{sign:?}");
    }
    assert_eq!(sends_to_it(&question()), [""; 0]);
    assert!(question().starts_with("Look from 3 m or more"));
}

fn quarantined(open: &[Gravity]) -> Quarantined<'_> {
    Quarantined {
        open,
        since: BEGAN,
        last_reading: Some((after(END), Inside::Yes)),
        quartermasters_in_club: 2,
        is_on_loan: false,
    }
}

#[test]
fn a_pack_is_released_after_its_watch_by_the_rules_of_release_and_not_before() {
    let open = [Gravity::Danger];
    let pack = quarantined(&open);
    let over = stands_after(END, &[look(END, &[])]);
    assert_eq!(
        may_release(&over, &pack, QUARTERMASTER, "Looked over"),
        Ok(())
    );
    assert_eq!(
        ways_out(&open, &over),
        [WayOut::Released, WayOut::Retired, WayOut::LostInIncident]
    );
    let lies = stands_after(END, &[]);
    assert_eq!(
        may_release(&lies, &pack, QUARTERMASTER, "Looked over"),
        Err(WatchRefusal::NotOver)
    );
    assert_eq!(
        ways_out(&open, &lies),
        [WayOut::Retired, WayOut::LostInIncident]
    );
    assert_eq!(
        may_release(&over, &pack, QUARTERMASTER, " "),
        Err(WatchRefusal::Release(ReleaseRefusal::NoReason))
    );
}

#[test]
fn danger_seen_in_the_watch_is_final_though_its_finding_is_not_stored_yet() {
    let looks = [look(20, &[Sign::WetPatch]), look(20 + END, &[])];
    let stood = stands_after(20 + END, &looks);
    assert!(stood.is_over);
    let open = [Gravity::Danger];
    assert_eq!(
        ways_out(&open, &stood),
        [WayOut::Retired, WayOut::LostInIncident]
    );
    assert_eq!(
        may_release(&stood, &quarantined(&open), QUARTERMASTER, "Dry again"),
        Err(WatchRefusal::Release(ReleaseRefusal::FinalDanger))
    );
}

fn any_looks() -> impl Strategy<Value = Vec<Look>> {
    let signs = prop::collection::vec(prop::sample::select(Sign::ALL.to_vec()), 0..2);
    let look = (0..4_000_i64, signs).prop_map(|(minutes, signs)| look(minutes, &signs));
    prop::collection::vec(look, 0..10)
}

proptest! {
    #[test]
    fn no_pack_goes_back_to_use_after_final_danger_or_before_a_day_of_quiet(
        looks in any_looks(), now in 0..5_000_i64,
        open in prop::collection::vec(prop::sample::select(Gravity::ALL.to_vec()), 0..4),
    ) {
        let stood = stands_after(now, &looks);
        let past: Vec<&Look> = looks.iter().filter(|look| look.at <= after(now)).collect();
        let is_signed = |look: &&&Look| look.signs.iter().any(|sign| *sign != Sign::CouldNotSee);
        let has_danger = past.iter().any(|look| is_signed(&look));
        if may_release(&stood, &quarantined(&open), QUARTERMASTER, "Looked over").is_ok() {
            prop_assert!(!has_danger && !open.contains(&Gravity::FinalDanger));
            let is_late = |look: &&Look| look.at >= after(END) && look.signs.is_empty();
            prop_assert!(past.iter().any(is_late));
            prop_assert!(ways_out(&open, &stood).contains(&WayOut::Released));
        }
    }

    #[test]
    fn a_sign_of_danger_more_never_ends_a_watch_sooner(
        looks in any_looks(), at in 0..4_000_i64, now in 0..5_000_i64,
    ) {
        let before = stands_after(now, &looks);
        let more = [looks, vec![look(at, &[Sign::Smoke])]].concat();
        let stood = stands_after(now, &more);
        prop_assert!(stood.ends >= before.ends);
        prop_assert!(before.is_over || !stood.is_over);
    }

    #[test]
    fn while_it_is_not_over_there_is_a_next_look_and_no_missed_one_lies_ahead(
        looks in any_looks(), now in 0..5_000_i64,
    ) {
        let stood = stands_after(now, &looks);
        prop_assert_eq!(stood.next_look.is_none(), stood.is_over);
        prop_assert!(stood.missed.iter().all(|at| *at < after(now)));
        prop_assert!(stood.next_look.is_none_or(|next| !stood.missed.contains(&next)));
    }
}

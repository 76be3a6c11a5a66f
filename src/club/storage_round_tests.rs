//! How the packs of a storage round are sorted, and who may take one home.

use super::*;
use crate::club::care::due::Event;
use crate::club::care::scenes_tests::*;
use crate::club::care::story::{Toward, What};
use crate::club::seen::Seen;
use crate::club::states::State;

fn of(story: crate::club::care::story::Story) -> Sorted {
    sorted(&lipo(story), days_ago(2), false)
}

#[test]
fn volts_read_since_it_was_added_sort_it_and_older_ones_do_not() {
    // 3.75 to 3.90 V: common practice, no source.
    assert_eq!(of(read(1, 3_820)), Sorted::Done);
    assert_eq!(of(read(1, 4_100)), Sorted::NeedsDischarge);
    assert_eq!(of(read(1, 3_700)), Sorted::NeedsCharge);
    assert_eq!(of(read(3, 3_820)), Sorted::NotRead);
    assert_eq!(of(read(2, 3_820)), Sorted::Done, "read as it was added");
}

#[test]
fn what_a_charger_says_it_stored_is_read_before_it_is_ticked_off() {
    let stored = read(1, 4_100).then(0, done(Toward::Storage));
    assert_eq!(of(stored), Sorted::NotRead);
    let used = read(1, 3_820).then(0, What::CameBack);
    assert_eq!(of(used), Sorted::NotRead);
}

#[test]
fn what_charges_or_is_lent_is_never_ticked_off() {
    let in_use = sorted(&lipo(read(1, 3_820)), days_ago(2), true);
    assert_eq!(in_use, Sorted::NotRead);
}

#[test]
fn what_is_not_fit_is_left_alone() {
    for state in State::ALL {
        let pack = |days| OnRecord {
            state,
            ..lipo(read(days, 4_100))
        };
        let is_alone = sorted(&pack(1), days_ago(2), false) == Sorted::DontTouch;
        assert_eq!(is_alone, !state.shows_settings(), "{state:?}");
        let unread = sorted(&pack(9), days_ago(2), false) == Sorted::DontTouch;
        assert_eq!(unread, state.goes_to_nobody(), "{state:?}");
    }
}

#[test]
fn what_nothing_is_plugged_into_is_not_asked_for_its_volts() {
    let damaged = |next: &str| OnRecord {
        state: State::SetAside,
        state_next: next.to_owned(),
        ..lipo(read(9, 4_100))
    };
    let plug = damaged(Seen::BalancePlugDamaged.what_to_do());
    assert_eq!(sorted(&plug, days_ago(2), false), Sorted::DontTouch);
    let stopped = damaged("Find out why, and log its volts.");
    assert_eq!(sorted(&stopped, days_ago(2), false), Sorted::NotRead);
}

#[test]
fn an_unfinished_pack_is_taken_home_for_two_weeks_at_the_longest() {
    let today = Day::parse("2026-11-26").expect("a day");
    let told = |stands, days: i64| home_refusal(stands, Some(today.plus_days(days)), today);
    assert_eq!(told(Sorted::NeedsDischarge, 0), None);
    assert_eq!(told(Sorted::NotRead, 14), None);
    assert_eq!(told(Sorted::NeedsCharge, 15), Some(HomeRefusal::Day));
    assert_eq!(told(Sorted::NeedsCharge, -1), Some(HomeRefusal::Day));
    assert_eq!(told(Sorted::DontTouch, 1), Some(HomeRefusal::DontTouch));
    assert_eq!(told(Sorted::Done, 1), Some(HomeRefusal::Done));
    assert_eq!(
        home_refusal(Sorted::NotRead, None, today),
        Some(HomeRefusal::Day)
    );
}

#[test]
fn what_was_read_since_its_event_is_not_read_again() {
    let event = |days| {
        let ends = days_ago(days);
        let name = "Autumn Bouts".to_owned();
        Some(Event { name, ends })
    };
    let now = days_ago(0);
    let pack = |event| OnRecord {
        event,
        ..lipo(read(1, 3_820))
    };
    let evening = days_ago(1).plus_minutes(23 * 60);
    assert_eq!(back_from(&pack(event(2)), None, evening), days_ago(1));
    assert_eq!(
        back_from(&pack(event(2)), None, now),
        now,
        "a day later it is read again"
    );
    assert_eq!(
        back_from(&pack(event(0)), None, now),
        now,
        "read before it was over"
    );
    assert_eq!(back_from(&pack(None), None, now), now);
    let used = OnRecord {
        event: event(2),
        ..lipo(read(1, 3_820).then(0, What::CameBack))
    };
    assert_eq!(back_from(&used, Some(days_ago(2)), now), now);
    let minutes_ago = OnRecord {
        event: None,
        ..lipo(read(0, 3_820))
    };
    assert_eq!(back_from(&minutes_ago, Some(days_ago(0)), now), days_ago(0));
}

//! Who gets settings, when a pack came from use, what is full, and what a charge that ended comes to.

use super::*;

const NOW: Instant = Instant(1_800_000_000_000);

fn read_before(minutes: i64) -> OnRecord {
    OnRecord {
        state: State::Fit,
        is_charging: false,
        read: Some(NOW.plus_minutes(-minutes)),
        lent: None,
        used: None,
        logged: None,
        filled: None,
        on_round: None,
        at_event: None,
    }
}

#[test]
fn nickel_that_a_charge_has_filled_is_full_for_a_day_unless_it_was_used() {
    let at = |minutes: i64| Some(NOW.plus_minutes(-minutes));
    let filled_before = |minutes: i64| OnRecord {
        used: at(minutes),
        filled: at(minutes),
        ..read_before(10)
    };
    let told = |pack: &OnRecord| may_have_settings(pack, NOW);
    assert_eq!(told(&filled_before(60)), Err(NoSettings::Filled));
    assert_eq!(
        told(&filled_before(5)),
        Err(NoSettings::Filled),
        "volts would not help"
    );
    assert!(!NoSettings::Filled.wants_volts());
    assert_eq!(told(&filled_before(24 * 60 + 1)), Ok(()));
    let back = OnRecord {
        used: at(30),
        ..filled_before(60)
    };
    assert_eq!(told(&back), Ok(()), "it came back since");
    let out = OnRecord {
        lent: at(30),
        ..filled_before(60)
    };
    assert_eq!(told(&out), Ok(()));
    let worn = OnRecord {
        state: State::Quarantine,
        ..filled_before(60)
    };
    assert!(
        matches!(told(&worn), Err(NoSettings::State(_))),
        "danger first"
    );
}

#[test]
fn what_a_charge_has_filled_is_told_of_nickel_alone_and_not_once_it_reads_used_or_empty() {
    let build = |chemistry| Build {
        chemistry,
        cells_series: 6,
        groups_parallel: 1,
        capacity_mah: 2_000,
        sees_cells: false,
        label: crate::battery::limits::LabelVolts::default(),
    };
    let at = |minutes: i64| Some(NOW.plus_minutes(-minutes));
    let told = |minutes: i64, rested, mv: i64| {
        let latest = (at(minutes), rested, Some(&Volts::Pack(mv)));
        filled(&build(Chemistry::NiMh), at(60), latest)
    };
    assert_eq!(told(30, Rested::A_WHILE, 8_400), at(60));
    assert_eq!(
        told(60, Rested::JustUsed, 8_900),
        at(60),
        "read as it ended"
    );
    assert_eq!(told(90, Rested::JustUsed, 6_800), at(60), "read before it");
    assert_eq!(told(30, Rested::JustUsed, 8_400), None);
    assert_eq!(told(30, Rested::AN_HOUR, 7_199), None, "under 1.2 V a cell");
    let never = (None, Rested::JustUsed, None);
    assert_eq!(filled(&build(Chemistry::NiMh), at(60), never), at(60));
    assert_eq!(filled(&build(Chemistry::NiMh), None, never), None);
    // Their volts tell it.
    for chemistry in [Chemistry::LiPo, Chemistry::Pb] {
        assert_eq!(filled(&build(chemistry), at(60), never), None);
    }
}

#[test]
fn at_an_event_volts_count_for_an_hour_and_not_from_before_it_nor_after_its_end() {
    let told = |read: i64, (from, to): (i64, i64)| {
        let at_event = Some(AtEvent {
            from: NOW.plus_minutes(from),
            to: NOW.plus_minutes(to),
        });
        let pack = OnRecord {
            at_event,
            ..read_before(read)
        };
        may_have_settings(&pack, NOW)
    };
    assert_eq!(told(60, (-500, 500)), Ok(()));
    assert_eq!(told(61, (-500, 500)), Err(NoSettings::AtEvent));
    assert!(NoSettings::AtEvent.wants_volts());
    assert_eq!(
        told(30, (-20, 500)),
        Err(NoSettings::UsedSince),
        "from before"
    );
    assert_eq!(
        told(30, (-500, -20)),
        Err(NoSettings::UsedSince),
        "it is over"
    );
    assert_eq!(told(20, (-500, -20)), Ok(()), "read as it ended");
    assert_eq!(told(600, (20, 500)), Ok(()), "it has not begun");
}

#[test]
fn only_a_pack_that_is_fit_or_a_caution_gets_settings() {
    for state in State::ALL {
        let pack = OnRecord {
            state,
            ..read_before(10)
        };
        let may = matches!(state, State::Fit | State::Caution);
        assert_eq!(
            may_have_settings(&pack, NOW).is_ok(),
            may,
            "{}",
            state.label()
        );
    }
}

#[test]
fn volts_count_for_a_day_and_not_once_the_pack_was_used() {
    assert_eq!(may_have_settings(&read_before(24 * 60), NOW), Ok(()));
    assert_eq!(
        may_have_settings(&read_before(24 * 60 + 1), NOW),
        Err(NoSettings::ReadTooLongAgo)
    );
    let never = OnRecord {
        read: None,
        ..read_before(0)
    };
    assert_eq!(may_have_settings(&never, NOW), Err(NoSettings::NeverRead));
    let used = |minutes: i64| OnRecord {
        used: Some(NOW.plus_minutes(-minutes)),
        ..read_before(30)
    };
    assert_eq!(
        may_have_settings(&used(29), NOW),
        Err(NoSettings::UsedSince)
    );
    // Read as it came back.
    assert_eq!(may_have_settings(&used(30), NOW), Ok(()));
    let on_round = |minutes: i64| OnRecord {
        on_round: Some(NOW.plus_minutes(-minutes)),
        ..read_before(30)
    };
    assert_eq!(
        may_have_settings(&on_round(29), NOW),
        Err(NoSettings::UnreadOnRound)
    );
    assert!(NoSettings::UnreadOnRound.wants_volts());
    assert_eq!(may_have_settings(&on_round(30), NOW), Ok(()));
    let lent = |minutes: i64| OnRecord {
        lent: Some(NOW.plus_minutes(-minutes)),
        ..read_before(30)
    };
    // Read as it went out.
    assert_eq!(
        may_have_settings(&lent(30), NOW),
        Err(NoSettings::UsedSince)
    );
    assert_eq!(may_have_settings(&lent(31), NOW), Ok(()));
    let charging = OnRecord {
        is_charging: true,
        ..read_before(1)
    };
    assert_eq!(may_have_settings(&charging, NOW), Err(NoSettings::Charging));
}

#[test]
fn a_log_without_a_charge_on_record_makes_volts_from_before_it_stale() {
    let logged = |minutes: i64| OnRecord {
        logged: Some(NOW.plus_minutes(-minutes)),
        ..read_before(30)
    };
    assert_eq!(
        may_have_settings(&logged(29), NOW),
        Err(NoSettings::LoggedSince)
    );
    assert!(NoSettings::LoggedSince.wants_volts());
    assert_eq!(may_have_settings(&logged(30), NOW), Ok(()));
}

#[test]
fn a_current_moves_no_more_in_a_time_than_it_can_with_a_quarter_of_an_hour_and_a_quarter_more() {
    assert_eq!(too_much_for_time(2_750, 2_000, 51), None);
    let asked = too_much_for_time(2_751, 2_000, 51);
    assert_eq!(asked.map(|asked| asked.most_mah), Some(1_700));
    assert_eq!(too_much_for_time(1_000_000, i64::MAX, i64::MAX), None);
    assert!(too_much_for_time(626, 2_000, -3).is_some());
}

#[test]
fn a_pack_came_from_use_as_it_was_taken_back_or_read_just_used_and_had_not_lain_by_then() {
    let at = |minutes: i64| Some(NOW.plus_minutes(-minutes));
    let read = |minutes: i64, rested| Some((NOW.plus_minutes(-minutes), rested));
    assert_eq!(came_from_use(None, None, read(1, Rested::AN_HOUR)), None);
    assert_eq!(came_from_use(at(5), None, read(5, Rested::JustUsed)), at(5));
    assert_eq!(
        came_from_use(at(5), at(3), read(3, Rested::JustUsed)),
        at(3)
    );
    assert_eq!(came_from_use(None, at(3), read(3, Rested::JustUsed)), at(3));
    // Taken back, and read as having lain; what was read before it went out tells nothing.
    assert_eq!(came_from_use(at(5), None, read(5, Rested::A_WHILE)), None);
    assert_eq!(came_from_use(at(5), None, read(6, Rested::AN_HOUR)), at(5));
    assert_eq!(lies_until(at(5), NOW), Some(NOW.plus_minutes(10)));
    assert_eq!(lies_until(at(15), NOW), None);
    assert_eq!(lies_until(None, NOW), None);
}

#[test]
fn what_goes_in_beyond_what_was_expected_is_told_and_beyond_its_label_sets_it_aside() {
    let of = |moved_mah: i64, chemistry: Chemistry| {
        findings(&Moved {
            chemistry,
            is_charge: true,
            capacity_mah: 5_000,
            expected_most_mah: 3_000,
            moved_mah,
        })
        .map(|finding| finding.gravity)
    };
    assert_eq!(of(3_600, Chemistry::LiPo), None);
    assert_eq!(of(3_601, Chemistry::LiPo), Some(Gravity::Caution));
    assert_eq!(of(5_250, Chemistry::LiPo), Some(Gravity::Caution));
    assert_eq!(of(5_251, Chemistry::LiPo), Some(Gravity::ToMend));
    assert_eq!(of(6_000, Chemistry::NiMh), Some(Gravity::Caution));
    assert_eq!(
        stopped_wrong("it got warm").words,
        "A charge of it was stopped: it got warm."
    );
}

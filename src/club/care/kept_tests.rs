//! When the count of days above the band begins, goes on and ends.

use super::*;
use crate::club::care::scenes_tests::*;

fn kept(story: &Story) -> Kept {
    Kept::default().after(&lying(Chemistry::LiPo), story)
}

fn above(days: i64) -> Kept {
    Kept {
        above_since: Some(days_ago(days)),
        ..Kept::default()
    }
}

#[test]
fn one_cell_above_the_band_is_above_and_its_end_is_inside() {
    // 3.75 to 3.90 V: common practice, no source.
    assert_eq!(kept(&read(4, 3_900)), Kept::default());
    assert_eq!(kept(&read_cells(4, &[3_850, 3_901, 3_850])), above(4));
}

#[test]
fn under_the_band_by_as_much_as_meters_differ_is_put_to_storage_and_above_it_by_nothing_is() {
    let back = Kept {
        back_since: Some(days_ago(1)),
        is_due_when_read: true,
        ..Kept::default()
    };
    let lipo = lying(Chemistry::LiPo);
    for (low_mv, is_stored) in [(3_745, true), (3_730, true), (3_729, false)] {
        let read = read_cells(0, &[3_800, low_mv, 3_800]);
        let stands = back.after(&lipo, &read);
        assert_eq!(stands == Kept::default(), is_stored, "{low_mv}");
    }
    let above = back.after(&lipo, &read_cells(0, &[3_740, 3_901, 3_800]));
    assert_eq!(above.above_since, Some(days_ago(0)));
    // Lead that is not full sulphates: no meter makes it full.
    let lead = lying(Chemistry::Pb);
    let low_mv = lead.limits.storage_low_mv;
    assert_eq!(back.after(&lead, &read(0, low_mv)), Kept::default());
    let not_full = back.after(&lead, &read(0, low_mv - 5));
    assert_eq!(not_full.back_since, back.back_since);
}

#[test]
fn reading_a_full_pack_again_does_not_start_its_days_anew() {
    let lipo = lying(Chemistry::LiPo);
    let first = Kept::default().after(&lipo, &read(9, 4_180));
    assert_eq!(first.after(&lipo, &read(2, 4_170)), above(9));
    assert_eq!(above(9).after(&lipo, &read(2, 3_820)), Kept::default());
    let under = above(9).after(&lipo, &read(2, 3_500));
    assert_eq!(under.above_since, None, "under it, and not stored yet");
}

#[test]
fn charges_begin_and_end_it_and_nothing_else_ends_it() {
    let stored = read(9, 3_820);
    assert_eq!(kept(&stored.clone().then(5, done(Toward::Full))), above(5));
    let again = stored
        .clone()
        .then(5, done(Toward::Full))
        .then(2, done(Toward::Full));
    assert_eq!(kept(&again), above(5));
    let full = read(9, 4_180);
    for (what, kept_above) in [
        (done(Toward::Storage), false),
        (done(Toward::Empty), false),
        (stopped(Toward::Storage, Some(1_500)), true),
        (stopped(Toward::Storage, None), true),
        (What::Lent, true),
        (What::TakenToEvent, true),
        (What::CameBack, true),
    ] {
        let told = kept(&full.clone().then(1, what)).above_since;
        assert_eq!(told, kept_above.then_some(days_ago(9)), "{what:?}");
    }
}

#[test]
fn a_charge_that_nobody_finished_counts_by_its_mah_or_as_full() {
    let stored = read(9, 3_800);
    // A tenth of its capacity on top of 45 to 51 % (Linux kernel) stays in the band, a third does not.
    assert_eq!(
        kept(&stored.clone().then(1, stopped(Toward::Full, Some(220)))),
        Kept::default()
    );
    assert_eq!(
        kept(&stored.clone().then(1, stopped(Toward::Full, Some(733)))),
        above(1)
    );
    assert_eq!(
        kept(&stored.clone().then(1, stopped(Toward::Full, None))),
        above(1)
    );
}

#[test]
fn what_comes_back_is_to_be_stored_until_it_was() {
    let back = read(9, 3_820).then(5, What::Lent).then(2, What::CameBack);
    assert_eq!(kept(&back).back_since, Some(days_ago(2)));
    assert_eq!(kept(&back.clone().then(1, What::Lent)).back_since, None);
    assert_eq!(
        kept(&back.clone().then(1, done(Toward::Storage))).back_since,
        None
    );
    assert_eq!(
        kept(&back.clone().then(1, done(Toward::Full))).back_since,
        Some(days_ago(2))
    );
    let lipo = lying(Chemistry::LiPo);
    let after = |mv| kept(&back).after(&lipo, &read(1, mv)).back_since;
    assert_eq!(after(3_820), None);
    assert_eq!(after(3_700), Some(days_ago(2)));
    assert_eq!(after(4_100), Some(days_ago(2)));
}

#[test]
fn what_is_brought_too_far_down_is_still_to_be_stored_and_so_is_what_a_round_reads() {
    let lipo = lying(Chemistry::LiPo);
    let to_store = |days| Kept {
        back_since: Some(days_ago(days)),
        is_due_when_read: true,
        ..Kept::default()
    };
    assert_eq!(above(9).after(&lipo, &read(2, 3_680)), to_store(2));
    assert_eq!(to_store(2).after(&lipo, &read(1, 3_690)), to_store(2));
    assert_eq!(to_store(2).after(&lipo, &read(1, 3_800)), Kept::default());
    let on_round = read(9, 4_180).then(3, What::PutOnRound);
    let read_there = kept(&on_round).after(&lipo, &read(2, 3_680));
    assert_eq!(read_there, to_store(3));
    // Back from a loan it waits since then, and is due as what else is read on the round; and an event starts anew.
    let back = read(9, 3_820).then(5, What::Lent).then(4, What::CameBack);
    let on_round = kept(&back.clone().then(3, What::PutOnRound));
    assert_eq!(
        (on_round.back_since, on_round.is_due_when_read),
        (Some(days_ago(4)), true)
    );
    let from_event = back
        .then(3, What::TakenToEvent)
        .then(2, What::BackFromEvent);
    assert_eq!(kept(&from_event), to_store(2));
}

#[test]
fn nickel_and_lead_may_lie_full_and_are_stored_by_a_full_charge() {
    for (chemistry, full_mv) in [(Chemistry::Pb, 2_140), (Chemistry::NiMh, 1_450)] {
        let lying = lying(chemistry);
        let kept = |story: &Story| Kept::default().after(&lying, story);
        assert_eq!(kept(&read(90, full_mv)), Kept::default());
        let back = read(9, full_mv).then(2, What::CameBack);
        assert_eq!(kept(&back).back_since, Some(days_ago(2)));
        assert_eq!(kept(&back.then(1, done(Toward::Full))), Kept::default());
    }
}

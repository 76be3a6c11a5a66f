//! What is due, when it becomes so and in what words, each figure beside where it comes from; and in what order.

use super::*;
use crate::battery::chemistry::Chemistry;
use crate::club::care::scenes_tests::*;
use crate::club::care::story::{Toward, What};

#[test]
fn a_full_pack_is_due_after_three_days_presses_after_a_week_and_is_dangerous_after_two() {
    // 3 days: common practice; 7: 'harm possible after a week full', an RC vendor's storage note.
    let grave = |days| {
        due_now(&lipo(read(days, 4_180)))
            .first()
            .map(|due| due.grave)
    };
    assert_eq!(grave(2), None);
    assert_eq!(grave(3), Some(Grave::ThisWeek));
    assert_eq!(grave(6), Some(Grave::ThisWeek));
    assert_eq!(grave(7), Some(Grave::Today));
    assert_eq!(grave(13), Some(Grave::Today));
    assert_eq!(grave(14), Some(Grave::AtOnce));
    let due = only(&lipo(read(5, 4_180)));
    assert_eq!((due.reason, due.since), (Reason::AboveBand, days_ago(2)));
    assert_eq!(
        due.why,
        "Above its storage band for 5 days: 4.18 V in its fullest cell, 3.90 V is the most. So full (about 99 %) and at 20 °C it may lie 7 days, and is to be put to storage after 3."
    );
    assert_eq!(due.next, "Bring it to 3.82 V per cell, then log its volts.");
}

#[test]
fn just_above_its_band_a_pack_has_longer_than_full() {
    // 3.92 V is 70 %, 3.91 V less: Linux kernel's phone cells. The table's rows: common practice, no source.
    let since = |mv| due_now(&lipo(read(20, mv)))[0].since;
    assert_eq!(since(3_905), days_ago(13));
    assert_eq!(since(3_950), days_ago(15));
    assert_eq!(since(4_100), days_ago(17));
}

#[test]
fn the_warmer_it_lies_the_sooner_it_is_due_and_an_unmeasured_place_says_so() {
    let since = |celsius| {
        let pack = pack(lying_at(Chemistry::LiPo, celsius), read(20, 4_180));
        due_now(&pack)[0].since
    };
    assert_eq!(since(10), days_ago(15));
    assert_eq!(since(20), days_ago(17));
    assert_eq!(since(30), days_ago(18));
    assert_eq!(since(40), days_ago(19));
    let mut unknown = lying(Chemistry::LiPo);
    unknown.celsius = None;
    let due = only(&pack(unknown, read(5, 4_180)));
    assert_eq!(due.since, days_ago(2));
    assert!(
        due.why
            .contains("at 20 °C, which nobody measured, it may lie 7 days"),
        "{}",
        due.why
    );
}

#[test]
fn a_pack_that_is_out_counts_too_and_says_that_nobody_read_it_since() {
    let out = lipo(read(9, 4_180).then(8, What::Lent));
    let due = only(&out);
    assert_eq!((due.reason, due.grave), (Reason::AboveBand, Grave::Today));
    assert!(
        due.why.ends_with("It was out since and nobody read it."),
        "{}",
        due.why
    );
}

#[test]
fn a_nearly_empty_pack_is_due_a_month_before_it_may_be_at_its_minimum() {
    // 3.70 V is 14 to 18 % on the kernel's two tables, 8 % at the band's low end: that is 78 days at 3 % a month.
    let told = |days| {
        let all = due_now(&lipo(read(days, 3_700)));
        all.into_iter()
            .find(|due| due.reason == Reason::FallsToMinimum)
    };
    assert_eq!(told(0), None);
    let due = told(80).expect("due");
    assert_eq!(due.grave, Grave::Today);
    assert!(due.since < now() && due.since > days_ago(80));
    let (why, by) = (&due.why, ", by the loss published of its kind.");
    let low = "Its lowest cell was at 3.70 V 80 days ago; at 0.2 to 3.0 % lost a month it falls to 3.00 V ";
    assert!(why.starts_with(low) && why.ends_with(by), "{why}");
    assert_eq!(
        due.next,
        "Log its volts now. Under 3.00 V in a cell: don't charge it. Else: bring it to 3.82 V per cell, then log its volts."
    );
    let there = due_now(&lipo(read(1, 2_990)));
    assert_eq!(
        (there[0].reason, there[0].grave),
        (Reason::FallsToMinimum, Grave::AtOnce)
    );
    assert_eq!(there[0].since, days_ago(1));
}

#[test]
fn a_pack_charged_for_an_event_is_due_when_it_is_over() {
    let mut charged = lipo(read(5, 3_820).then(2, done(Toward::Full)));
    let event = |ends| {
        Some(Event {
            name: "Autumn Bouts".to_owned(),
            ends,
        })
    };
    charged.event = event(now().plus_days(1));
    assert_eq!(reasons(&charged), []);
    charged.event = event(days_ago(1));
    let due = only(&charged);
    assert_eq!(
        (due.reason, due.since, due.grave),
        (Reason::EventOver, days_ago(1), Grave::ThisWeek)
    );
    assert_eq!(
        due.why,
        "Autumn Bouts is over for 1 day, and it is above its storage band: 4.18 V in its fullest cell, 3.90 V is the most."
    );
    // Charged since, for something else.
    charged.event = event(days_ago(3));
    assert_eq!(reasons(&charged), []);
    // Later its days above the band ask for the same, and it is as late as it was.
    charged.event = event(days_ago(1));
    let later = &due_at(&charged, now().plus_days(2))[..];
    let [due] = later else { panic!("{later:?}") };
    assert_eq!((due.reason, due.since), (Reason::AboveBand, days_ago(1)));
    let since = " It is due since Autumn Bouts was over.";
    assert!(due.why.ends_with(since), "{}", due.why);
}

#[test]
fn what_came_back_is_due_after_a_day_until_it_was_put_to_storage() {
    let back = |days| {
        lipo(
            read(20, 3_820)
                .then(15, What::Lent)
                .then(days, What::CameBack),
        )
    };
    assert_eq!(reasons(&back(0)), []);
    let due = only(&back(1));
    assert_eq!(
        (due.reason, due.grave),
        (Reason::BackNotStored, Grave::ThisWeek)
    );
    assert_eq!(due.why, "Back for 1 day, and nobody read its volts.");
    assert_eq!(
        due.next,
        "Log its volts. Outside of its storage band: bring it to 3.82 V per cell, then log its volts."
    );
    // It may be full: a week.
    assert_eq!(only(&back(7)).grave, Grave::Today);
    let mut read_low = back(3);
    let kept = read_low.kept;
    read_low.story = read(2, 3_720);
    read_low.kept = kept.after(&read_low.lying, &read_low.story);
    assert_eq!(
        only(&read_low).why,
        "Not put to storage for 3 days: 3.72 V in its lowest cell, 3.75 V is the least."
    );
    read_low.story = read(2, 3_800);
    read_low.kept = kept.after(&read_low.lying, &read_low.story);
    assert_eq!(reasons(&read_low), []);
}

#[test]
fn lead_is_due_when_it_is_not_full_and_never_for_being_full() {
    let lead = |story| pack(lying(Chemistry::Pb), story);
    assert_eq!(reasons(&lead(read(60, 2_140))), []);
    // 2.10 V or it is topped up, every six months: a page reproducing BU-403. Recharge at 2.07 V: one reproducing BU-702.
    let low = only(&lead(read(1, 2_090)));
    assert_eq!(
        (low.reason, low.since, low.grave),
        (Reason::NotFull, days_ago(1), Grave::ThisWeek)
    );
    assert_eq!(low.next, "Charge it full, then log its volts.");
    assert_eq!(only(&lead(read(1, 2_060))).grave, Grave::Today);
    // From full to 2.10 V are 17 points on its curve; 5 % a month (the handbook's middle): three and a half months.
    let by_loss = due_now(&lead(read(150, 2_140)));
    let due = by_loss
        .iter()
        .find(|due| due.reason == Reason::NotFull)
        .expect("due");
    let after = due.since.days_since(days_ago(150));
    assert!((95..=110).contains(&after), "{after}");
    // In the cold its loss is slower, and time alone asks for it.
    let cold = pack(lying_at(Chemistry::Pb, 0), read(200, 2_140));
    let cold = due_now(&cold);
    let due = cold
        .iter()
        .find(|due| due.reason == Reason::NotFull)
        .expect("due");
    assert_eq!(due.since, days_ago(20));
    // 87 % at 2.11 V: 4 points and 26 days; 220 of 2,200 mAh are ten points and two months more.
    let since = |pack| {
        let all = due_now(&pack);
        let due = all.iter().find(|due| due.reason == Reason::NotFull);
        due.map(|due| due.since.days_since(days_ago(100)))
    };
    assert_eq!(since(lead(read(100, 2_110))), Some(26));
    let topped_up = read(100, 2_110).then(99, stopped(Toward::Full, Some(220)));
    assert_eq!(since(lead(topped_up)), Some(86));
    let charged = lead(read(200, 2_050).then(1, done(Toward::Full)));
    assert!(!reasons(&charged).contains(&Reason::NotFull));
}

#[test]
fn nickel_lies_at_any_charge_but_nearly_empty() {
    // 1.2 V or more, 0.9 V the pack's average at which a cell may reverse: from memory of cell handbooks.
    let nickel = |story| pack(lying(Chemistry::NiMh), story);
    assert_eq!(reasons(&nickel(read(60, 1_450))), []);
    assert_eq!(reasons(&nickel(read(60, 1_200))), []);
    let low = only(&nickel(read(2, 1_190)));
    assert_eq!(
        (low.reason, low.since, low.grave),
        (Reason::NickelLow, days_ago(2), Grave::ThisWeek)
    );
    assert_eq!(only(&nickel(read(2, 890))).grave, Grave::Today);
    // 15 % on its first day and 30 % a month: empty after 86 days, told a month before.
    let charged = nickel(Story::default().then(57, done(Toward::Full)));
    assert!(reasons(&charged).contains(&Reason::FallsToMinimum));
    let charged = nickel(Story::default().then(55, done(Toward::Full)));
    assert!(!reasons(&charged).contains(&Reason::FallsToMinimum));
}

#[test]
fn a_pack_is_looked_at_every_ninety_days_and_it_presses_after_a_hundred_and_twenty() {
    // Every 3 months: a battery maker's storage note.
    let told = |days| {
        due_now(&lipo(read(days, 3_850)))
            .first()
            .map(|due| (due.reason, due.grave))
    };
    assert_eq!(told(89), None);
    assert_eq!(told(90), Some((Reason::NotLookedAt, Grave::WhenConvenient)));
    assert_eq!(
        told(119),
        Some((Reason::NotLookedAt, Grave::WhenConvenient))
    );
    assert_eq!(told(120), Some((Reason::NotLookedAt, Grave::ThisWeek)));
    assert_eq!(
        only(&lipo(read(90, 3_850))).why,
        "Last read 90 days ago; the club reads a pack every 90."
    );
    let never = only(&lipo(Story::default()));
    assert_eq!(
        never.why,
        "Never read; on record 1000 days ago; the club reads a pack every 90."
    );
}

#[test]
fn a_new_pack_has_its_first_check_and_a_hasty_charge_owes_its_balance() {
    let mut new = lipo(Story::default());
    new.is_first_check_done = false;
    let due = only(&new);
    assert_eq!(
        (due.reason, due.since, due.grave),
        (Reason::FirstCheck, days_ago(1_000), Grave::ThisWeek)
    );
    let mut hasty = lipo(read(1, 3_820));
    hasty.balance_owed_since = Some(days_ago(4));
    let due = only(&hasty);
    assert_eq!(
        (due.reason, due.since, due.grave),
        (Reason::BalanceOwed, days_ago(4), Grave::WhenConvenient)
    );
    assert_eq!(
        due.why,
        "Charged in haste 4 days ago; its cells were not balanced since."
    );
}

#[test]
fn what_is_told_by_another_reason_stays_as_urgent() {
    // Warm, back for four days, and full since yesterday: told as above its band, as urgent as what came back and was not stored.
    let back = read(5, 2_900).then(5, What::CameBack);
    let full = back.then(2, done(Toward::Full));
    let due = due_now(&pack(lying_at(Chemistry::LiPo, 36), full));
    let above = due.iter().find(|due| due.reason == Reason::AboveBand);
    assert_eq!(above.map(|due| due.grave), Some(Grave::Today), "{due:?}");
    assert!(due.iter().all(|due| due.reason != Reason::BackNotStored));
}

#[test]
fn what_is_read_outside_of_its_band_after_an_event_is_due_since_the_event_was_over() {
    let after = |kept_before: Kept, mv| {
        let story = read(0, mv);
        let kept = kept_before.after(&lying(Chemistry::LiPo), &story);
        OnRecord {
            kept,
            ..lipo(story)
        }
    };
    let event = read(9, 3_820).then(2, What::TakenToEvent);
    let over = event.clone().then(0, What::BackFromEvent);
    let kept = Kept::default().after(&lying(Chemistry::LiPo), &over);
    for (mv, figures) in [
        (3_680, "3.68 V in its lowest cell, 3.75 V is the least"),
        (4_180, "4.18 V in its fullest cell, 3.90 V is the most"),
    ] {
        let due = only(&after(kept, mv));
        assert_eq!((due.reason, due.since), (Reason::BackNotStored, now()));
        assert_eq!(due.why, format!("Not put to storage yet: {figures}."));
    }
    assert_eq!(due_now(&after(kept, 3_820)), []);
    // Nobody read it: after the club's days, since the event all the same.
    assert_eq!(due_now(&lipo(over)), []);
    let unread = lipo(event.then(1, What::BackFromEvent));
    assert_eq!(only(&unread).since, days_ago(1));
    // From a loan it has the club's days, and who has it is still using it.
    let loan = read(9, 4_180).then(2, What::Lent);
    let kept = |story: &Story| Kept::default().after(&lying(Chemistry::LiPo), story);
    let back = kept(&loan.clone().then(0, What::CameBack));
    assert_eq!(due_now(&after(back, 3_680)), []);
    let out = OnRecord {
        is_out: true,
        ..after(kept(&loan), 3_680)
    };
    assert_eq!(due_now(&out), []);
}

#[test]
fn nobody_is_told_to_connect_a_pack_that_is_set_aside_or_not_known() {
    for state in [State::SetAside, State::NotKnown] {
        let full = OnRecord {
            state,
            state_next: "Don't connect it until a quartermaster has mended it.".to_owned(),
            ..lipo(read(12, 4_180))
        };
        let due = only(&full);
        assert_eq!((due.reason, due.grave), (Reason::AboveBand, Grave::Today));
        assert!(due.why.starts_with("Above its storage band for 12 days"));
        assert_eq!(due.next, full.state_next);
    }
    let without_words = OnRecord {
        state: State::SetAside,
        ..lipo(read(12, 4_180))
    };
    assert_eq!(
        only(&without_words).next,
        "Don't connect it. Ask a quartermaster."
    );
}

#[test]
fn nobody_is_sent_to_a_pack_in_quarantine_retired_or_gone() {
    for state in State::ALL {
        let full = OnRecord {
            state,
            ..lipo(read(30, 4_180))
        };
        assert_eq!(
            due_now(&full).is_empty(),
            state.goes_to_nobody(),
            "{state:?}"
        );
    }
}

#[test]
fn the_gravest_comes_first_then_what_has_been_due_longest() {
    let line = |number: &str, days, mv| ToSeeTo {
        number: number.to_owned(),
        due: due_now(&lipo(read(days, mv))).remove(0),
    };
    let mut lines = [
        line("P-5", 90, 3_850),
        line("P-4", 4, 4_180),
        line("P-3", 5, 4_180),
        line("P-2", 8, 4_180),
        line("P-1", 14, 4_180),
        line("P-0", 14, 4_180),
    ];
    lines.sort();
    let numbers: Vec<&str> = lines.iter().map(|line| line.number.as_str()).collect();
    assert_eq!(numbers, ["P-0", "P-1", "P-2", "P-3", "P-4", "P-5"]);
}

#[test]
fn every_reason_is_found_again_by_its_code() {
    for reason in Reason::ALL {
        assert_eq!(Reason::from_code(reason.code()), Some(reason));
        assert!(!reason.label().is_empty());
    }
    assert_eq!(Reason::from_code("none"), None);
    let by_conduct = Reason::ALL
        .into_iter()
        .filter(|reason| !reason.is_storage_care());
    let others: Vec<Reason> = by_conduct.collect();
    assert_eq!(
        others,
        [Reason::FirstCheck, Reason::NotLookedAt, Reason::BalanceOwed]
    );
}

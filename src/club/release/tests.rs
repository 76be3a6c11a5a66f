//! Sentences about the trade, proven; leaves nothing to others.

use super::*;
use crate::club::seen::Seen;
use proptest::prelude::*;

const SINCE: Instant = Instant(1_000_000);
const LATER: Instant = Instant(1_000_001);
const REASON: &str = "Watched for a day, volts steady";

const SECOND_PERSON: Releaser = Releaser {
    is_quartermaster: true,
    is_organiser: false,
    is_reporter: false,
    is_last_holder: false,
};

const HELD: Quarantined<'static> = Quarantined {
    open: &[Gravity::Danger, Gravity::Caution],
    since: SINCE,
    last_reading: Some((LATER, Inside::Yes)),
    quartermasters_in_club: 2,
    is_on_loan: false,
};

#[test]
fn a_second_quartermaster_releases_a_pack_whose_volts_were_logged_since_with_a_reason() {
    assert_eq!(may_release(&HELD, SECOND_PERSON, REASON), Ok(()));
    for nothing in ["", "  ", " ok "] {
        assert_eq!(
            may_release(&HELD, SECOND_PERSON, nothing),
            Err(ReleaseRefusal::NoReason)
        );
    }
}

#[test]
fn what_is_out_is_taken_back_before_anybody_releases_it() {
    let out = Quarantined {
        is_on_loan: true,
        ..HELD
    };
    assert_eq!(
        may_release(&out, SECOND_PERSON, REASON),
        Err(ReleaseRefusal::OnLoan)
    );
}

#[test]
fn a_swollen_pack_is_quarantined_and_never_comes_back() {
    let swollen = [Gravity::Danger, Seen::Swollen.gravity()];
    let held = Quarantined {
        open: &swollen,
        ..HELD
    };
    let anyone = Releaser {
        is_organiser: true,
        ..SECOND_PERSON
    };
    assert_eq!(
        may_release(&held, anyone, REASON),
        Err(ReleaseRefusal::FinalDanger)
    );
    let closed = may_mend(
        (Rule::Seen(Seen::Swollen), false),
        Gravity::FinalDanger,
        true,
        REASON,
    );
    assert_eq!(closed, Err(MendRefusal::Quarantine));
}

#[test]
fn neither_the_reporter_nor_the_last_holder_releases() {
    let reporter = Releaser {
        is_reporter: true,
        ..SECOND_PERSON
    };
    let holder = Releaser {
        is_last_holder: true,
        ..SECOND_PERSON
    };
    assert_eq!(
        may_release(&HELD, reporter, REASON),
        Err(ReleaseRefusal::Reporter)
    );
    assert_eq!(
        may_release(&HELD, holder, REASON),
        Err(ReleaseRefusal::LastHolder)
    );
}

#[test]
fn an_organiser_stands_in_only_where_the_club_has_one_quartermaster() {
    let organiser = Releaser {
        is_quartermaster: false,
        is_organiser: true,
        ..SECOND_PERSON
    };
    let member = Releaser {
        is_quartermaster: false,
        ..SECOND_PERSON
    };
    let alone = Quarantined {
        quartermasters_in_club: 1,
        ..HELD
    };
    assert_eq!(may_release(&alone, organiser, REASON), Ok(()));
    let not_one = Err(ReleaseRefusal::NotAQuartermaster);
    assert_eq!(may_release(&HELD, organiser, REASON), not_one);
    assert_eq!(may_release(&alone, member, REASON), not_one);
    let who_reported = Releaser {
        is_reporter: true,
        ..organiser
    };
    assert_eq!(
        may_release(&alone, who_reported, REASON),
        Err(ReleaseRefusal::Reporter)
    );
}

#[test]
fn volts_must_be_inside_limits_and_newer_than_the_quarantine() {
    let with = |last_reading| {
        may_release(
            &Quarantined {
                last_reading,
                ..HELD
            },
            SECOND_PERSON,
            REASON,
        )
    };
    assert_eq!(with(None), Err(ReleaseRefusal::NoReadingSince));
    assert_eq!(
        with(Some((SINCE, Inside::Yes))),
        Err(ReleaseRefusal::NoReadingSince)
    );
    assert_eq!(
        with(Some((LATER, Inside::No))),
        Err(ReleaseRefusal::OutsideLimits)
    );
    assert_eq!(
        with(Some((LATER, Inside::SpreadNotJudged))),
        Err(ReleaseRefusal::NotRested)
    );
}

#[test]
fn a_pack_that_is_not_in_quarantine_is_not_released() {
    let mending = Quarantined {
        open: &[Gravity::ToMend],
        ..HELD
    };
    let refused = Err(ReleaseRefusal::NotQuarantined);
    assert_eq!(may_release(&mending, SECOND_PERSON, REASON), refused);
    assert_eq!(
        may_release(&Quarantined { open: &[], ..HELD }, SECOND_PERSON, REASON),
        refused
    );
}

#[test]
fn a_quartermaster_closes_what_was_mended_and_only_a_reading_closes_what_hangs_on_volts() {
    let torn = Rule::Seen(Seen::WrapTorn);
    assert_eq!(
        may_mend((torn, false), Gravity::ToMend, true, "New wrap"),
        Ok(())
    );
    assert_eq!(
        may_mend((torn, false), Gravity::ToMend, true, "x"),
        Err(MendRefusal::NoReason)
    );
    assert_eq!(
        may_mend((torn, false), Gravity::ToMend, false, "x"),
        Err(MendRefusal::NotAQuartermaster)
    );
    assert_eq!(
        may_mend(
            (Rule::BatchSister, false),
            Gravity::Caution,
            true,
            "Looked at"
        ),
        Ok(())
    );
    assert_eq!(
        may_mend(
            (Rule::ReportedUnlooked, false),
            Gravity::ToMend,
            true,
            "Looked at"
        ),
        Ok(())
    );
    let told = (Rule::ReportedUnlooked, true);
    assert_eq!(
        may_mend(told, Gravity::ToMend, true, "Looked at"),
        Err(MendRefusal::NotLookedAt)
    );
    // No reading brings back what is out of service: somebody says so.
    let out = (Rule::SpreadOut, false);
    assert_eq!(may_mend(out, Gravity::ToMend, true, "New cells"), Ok(()));
    for rule in [
        Rule::SpreadWide,
        Rule::Implausible,
        Rule::NeverRead,
        Rule::CouldNotRead,
    ] {
        let refused = may_mend((rule, false), Gravity::ToMend, true, "x");
        assert_eq!(refused, Err(MendRefusal::NeedsReading), "{rule:?}");
    }
    let wet = may_mend(
        (Rule::Seen(Seen::Wet), false),
        Gravity::Danger,
        true,
        "Dried",
    );
    assert_eq!(wet, Err(MendRefusal::Quarantine));
}

const fn leaving(life: Life) -> WayOut<'static> {
    WayOut {
        life,
        is_on_loan: false,
        is_quartermaster: true,
        awaits_a_look: false,
        reason: "Old",
    }
}

#[test]
fn a_person_retires_a_pack_that_is_in_hand_with_a_reason() {
    assert_eq!(may_retire(&leaving(Life::InUse)), Ok(()));
    let refused = |way| may_retire(&way).expect_err("a refusal");
    let pack = leaving(Life::InUse);
    assert_eq!(
        refused(WayOut {
            is_on_loan: true,
            ..pack
        }),
        WayOutRefusal::OnLoan
    );
    assert_eq!(
        refused(WayOut {
            is_quartermaster: false,
            ..pack
        }),
        WayOutRefusal::NotAQuartermaster
    );
    assert_eq!(
        refused(WayOut {
            reason: " x ",
            ..pack
        }),
        WayOutRefusal::NoReason
    );
    assert_eq!(
        refused(leaving(Life::Retired)),
        WayOutRefusal::AlreadyRetired
    );
    assert_eq!(refused(leaving(Life::Lost)), WayOutRefusal::Lost);
    assert_eq!(refused(leaving(Life::GivenAway)), WayOutRefusal::Gone);
}

#[test]
fn a_lent_pack_may_be_lost_and_only_a_lost_one_is_found() {
    let lent = WayOut {
        is_on_loan: true,
        ..leaving(Life::InUse)
    };
    assert_eq!(may_lose(&lent), Ok(()));
    assert_eq!(may_lose(&leaving(Life::Lost)), Err(WayOutRefusal::Lost));
    assert_eq!(may_find(&leaving(Life::Lost)), Ok(()));
    assert_eq!(may_find(&leaving(Life::InUse)), Err(WayOutRefusal::NotLost));
    assert_eq!(
        may_find(&leaving(Life::Withdrawn)),
        Err(WayOutRefusal::Gone)
    );
}

#[test]
fn a_dangerous_pack_is_given_to_nobody_also_when_retired() {
    for life in [Life::InUse, Life::Retired] {
        assert_eq!(may_give_away(&leaving(life), &[Gravity::Caution]), Ok(()));
        let refused = may_give_away(&leaving(life), &[Gravity::FinalDanger]);
        assert_eq!(refused, Err(WayOutRefusal::Dangerous));
        assert_eq!(may_withdraw(&leaving(life), &[Gravity::ToMend]), Ok(()));
        let refused = may_withdraw(&leaving(life), &[Gravity::Danger]);
        assert_eq!(refused, Err(WayOutRefusal::Dangerous));
        let told = WayOut {
            awaits_a_look: true,
            ..leaving(life)
        };
        let both = [may_give_away(&told, &[]), may_withdraw(&told, &[])];
        assert_eq!(both, [Err(WayOutRefusal::NotLookedAt); 2]);
        assert_eq!(
            (may_retire(&told).is_err(), may_lose(&told)),
            (life == Life::Retired, Ok(()))
        );
    }
    assert_eq!(
        may_withdraw(&leaving(Life::Withdrawn), &[]),
        Err(WayOutRefusal::Gone)
    );
}

proptest! {
    #[test]
    fn nobody_releases_final_danger_and_no_release_lacks_a_second_person_or_a_reading(
        open in prop::collection::vec(prop::sample::select(Gravity::ALL.to_vec()), 0..5),
        people in any::<(bool, bool, bool, bool)>(), is_on_loan: bool, quartermasters in 0_i64..4,
        read in prop::option::of((0_i64..2_000_000, prop::sample::select(vec![Inside::Yes, Inside::No, Inside::SpreadNotJudged]))), reason in "[a-z ]{0,6}",
    ) {
        let (is_quartermaster, is_organiser, is_reporter, is_last_holder) = people;
        let by = Releaser { is_quartermaster, is_organiser, is_reporter, is_last_holder };
        let last_reading = read.map(|(at, is_inside)| (Instant(at), is_inside));
        let pack = Quarantined { open: &open, since: SINCE, last_reading, quartermasters_in_club: quartermasters, is_on_loan };
        if may_release(&pack, by, &reason).is_ok() {
            prop_assert!(!open.contains(&Gravity::FinalDanger));
            prop_assert!(is_quartermaster || (is_organiser && quartermasters <= 1));
            prop_assert!(!is_reporter && !is_last_holder);
            prop_assert!(last_reading.is_some_and(|(at, is_inside)| at > SINCE && is_inside == Inside::Yes));
            prop_assert!(!reason.trim().is_empty() && !is_on_loan);
        }
    }
}

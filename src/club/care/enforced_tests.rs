//! What goes out and who borrows while storage care is overdue.

use super::*;
use crate::battery::chemistry::Chemistry;
use crate::club::calendar::Zone;
use crate::club::care::due::due;
use crate::club::care::kept::Kept;
use crate::club::care::scenes_tests::*;
use crate::club::care::story::{Dated, What};
use crate::club::people::Roles;
use uuid::Uuid;

fn goes(pack: &OnRecord) -> Result<Option<String>, CareRefusal> {
    goes_out("P-014", pack, &CareRules::default(), now())
}

/// Above its band for so long, and read once more so many minutes ago.
fn read_again(days: i64, minutes: i64) -> OnRecord {
    let full = read(days, 4_180);
    let kept = Kept::default().after(&lying(Chemistry::LiPo), &full);
    let mut again = lipo(full);
    again.story.read.as_mut().expect("a reading").at = now().plus_minutes(-minutes);
    again.kept = kept.after(&again.lying, &again.story);
    again
}

#[test]
fn a_pack_past_its_limit_goes_out_only_after_its_volts_are_logged_now() {
    assert_eq!(goes(&lipo(read(6, 4_180))), Ok(None));
    let refusal = goes(&lipo(read(7, 4_180))).expect_err("past its limit");
    assert_eq!(
        refusal.to_string(),
        "P-014 is above its storage band for 7 days and past the club's limit of 7 days. Log its volts now, then hand it out."
    );
    let words = goes(&read_again(7, 5)).expect("it goes");
    assert_eq!(
        words.as_deref(),
        Some(
            "P-014 is above its storage band for 7 days. Use it, or put it to storage as it comes back."
        )
    );
}

#[test]
fn only_a_reading_of_now_with_nothing_after_it_and_a_lendable_state_helps() {
    assert!(goes(&read_again(9, NOW_MINUTES)).is_ok());
    assert!(goes(&read_again(9, NOW_MINUTES + 1)).is_err());
    assert!(goes(&read_again(9, -1)).is_err());
    for state in State::ALL {
        let pack = OnRecord {
            state,
            ..read_again(9, 1)
        };
        assert_eq!(goes(&pack).is_ok(), state.is_lendable(), "{state:?}");
    }
    let mut used = read_again(9, 5);
    used.story = used.story.then(0, What::CameBack);
    assert!(goes(&used).is_err());
}

#[test]
fn a_pack_in_its_band_goes_out_however_long_it_lay() {
    assert_eq!(goes(&lipo(read(400, 3_820))), Ok(None));
    assert_eq!(
        past_limit_since(&lipo(read(9, 4_180)), &CareRules::default(), now()),
        Some(days_ago(2))
    );
}

#[test]
fn a_pack_on_a_storage_round_goes_out_once_it_was_read_there() {
    let with = |steps: &[(i64, What)]| {
        let mut pack = lipo(read(2, 3_820));
        let dated = |(minutes, what): &(i64, What)| Dated {
            at: now().plus_minutes(-minutes),
            what: *what,
        };
        pack.story.since = steps.iter().map(dated).collect();
        pack
    };
    let looked_at = |pack: &OnRecord| is_looked_at("P-014", pack);
    let refusal = looked_at(&with(&[(90, What::TakenToEvent), (60, What::PutOnRound)]));
    assert_eq!(
        refusal.expect_err("nobody looked").to_string(),
        "P-014 is on a storage round as back, and nobody looked at it since. Log its volts now, then hand it out."
    );
    assert_eq!(looked_at(&with(&[])), Ok(()));
    let looked_at_since = [
        (90, What::PutOnRound),
        (60, What::Lent),
        (30, What::CameBack),
    ];
    assert_eq!(
        looked_at(&with(&looked_at_since)),
        Ok(()),
        "its loan says how it came back"
    );
}

fn held(number: &str, days: i64) -> Vec<Held> {
    theirs_for(days, number, days)
}

/// Read above its band so many days ago, and theirs for fewer.
fn theirs_for(days_theirs: i64, number: &str, days: i64) -> Vec<Held> {
    let all = due(
        &lipo(read(days, 4_180)),
        &CareRules::default(),
        now(),
        &Zone::utc(),
    );
    let line = |due| Held {
        number: number.to_owned(),
        due,
        theirs_from: days_ago(days_theirs),
    };
    all.into_iter().map(line).collect()
}

fn asks(
    held: &[Held],
    own_care: OwnCare,
    wanted: Option<Override>,
) -> Result<MayBorrow, CareRefusal> {
    let rules = CareRules {
        own_care,
        ..CareRules::default()
    };
    may_borrow("Ada", held, &rules, now(), wanted)
}

fn wants(is_quartermaster: bool, is_own: bool, reason: &str) -> Option<Override<'_>> {
    let roles = Roles {
        is_quartermaster,
        ..Roles::default()
    };
    let actor = Actor {
        id: Uuid::from_u128(1),
        roles,
    };
    Some(Override {
        actor,
        is_own,
        reason,
    })
}

#[test]
fn who_is_a_week_overdue_with_own_storage_care_borrows_nothing_more() {
    // Due after three days above the band.
    assert_eq!(
        asks(&held("P-014", 9), OwnCare::Refuse, None),
        Ok(MayBorrow::Freely)
    );
    let mut all = held("P-014", 10);
    all.extend(held("P-003", 12));
    assert_eq!(
        asks(&all, OwnCare::Refuse, None)
            .expect_err("overdue")
            .to_string(),
        "Ada has P-003, P-014 to put to storage, due for 9 days. Nothing more is lent to them until that is done."
    );
    assert_eq!(
        asks(&all, OwnCare::Warn, None),
        Ok(MayBorrow::Warned(
            "Ada has P-003, P-014 to put to storage, due for 9 days.".to_owned()
        ))
    );
    assert_eq!(asks(&all, OwnCare::Off, None), Ok(MayBorrow::Freely));
    assert_eq!(CareRules::default().own_care, OwnCare::Refuse);
}

#[test]
fn the_week_counts_from_when_they_got_it_or_the_agreed_day() {
    for (days_theirs, is_refused) in [(0, false), (6, false), (7, true), (12, true), (-3, false)] {
        let asked = asks(&theirs_for(days_theirs, "P-014", 15), OwnCare::Refuse, None);
        assert_eq!(asked.is_err(), is_refused, "theirs for {days_theirs} days");
    }
}

#[test]
fn a_pack_not_looked_at_is_no_storage_care_of_whoever_has_it() {
    let old = lipo(read(200, 3_850));
    let all = due(&old, &CareRules::default(), now(), &Zone::utc());
    let held: Vec<Held> = all
        .into_iter()
        .map(|due| Held {
            number: "P-001".to_owned(),
            due,
            theirs_from: days_ago(200),
        })
        .collect();
    assert!(!held.is_empty());
    assert_eq!(asks(&held, OwnCare::Refuse, None), Ok(MayBorrow::Freely));
}

#[test]
fn a_quartermaster_overrides_with_a_reason_and_never_for_an_own_loan() {
    let overdue = held("P-014", 20);
    let with = |wanted| asks(&overdue, OwnCare::Refuse, wanted);
    assert_eq!(
        with(wants(true, false, " charger broke ")),
        Ok(MayBorrow::Overridden(
            "own storage care overdue, overridden: charger broke".to_owned()
        ))
    );
    assert_eq!(with(wants(true, false, "  ")), Err(CareRefusal::NoReason));
    assert_eq!(with(wants(true, false, " x ")), Err(CareRefusal::NoReason));
    assert_eq!(
        with(wants(false, false, "why not")),
        Err(CareRefusal::NotAQuartermaster)
    );
    assert_eq!(
        with(wants(true, true, "my own")),
        Err(CareRefusal::OwnOverride)
    );
    assert_eq!(CareRefusal::NotAQuartermaster.against(), Against::Right);
    assert_eq!(CareRefusal::NoReason.against(), Against::Rule);
}

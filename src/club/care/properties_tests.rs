//! What holds of any pack and story: nothing is kinder when fuller, warmer or longer; bands only widen; what was read in its band
//! is never due for storage; the order is one.

use super::belief::Belief;
use super::chased::{Holder, chased};
use super::due::{Due, Grave, OnRecord, Reason, ToSeeTo};
use super::enforced::past_limit_since;
use super::forecast::Forecast;
use super::kept::Kept;
use super::rules::CareRules;
use super::scenes_tests::*;
use super::story::{Lying, Story, Toward, What};
use crate::battery::chemistry::Chemistry;
use crate::club::calendar::Instant;
use crate::club::states::State;
use proptest::prelude::*;
use uuid::Uuid;

fn chemistries() -> impl Strategy<Value = Chemistry> {
    prop::sample::select(Chemistry::ALL.to_vec())
}

fn lithium() -> impl Strategy<Value = Chemistry> {
    prop::sample::select(vec![
        Chemistry::LiPo,
        Chemistry::LiHv,
        Chemistry::LiIon,
        Chemistry::LiFePo4,
    ])
}

fn whats() -> impl Strategy<Value = What> {
    let toward = prop::sample::select(vec![Toward::Full, Toward::Storage, Toward::Empty]);
    prop_oneof![
        Just(What::Lent),
        Just(What::TakenToEvent),
        Just(What::CameBack),
        Just(What::BackFromEvent),
        Just(What::PutOnRound),
        toward.clone().prop_map(done),
        (toward, prop::option::of(0_i64..3_000)).prop_map(|(toward, mah)| stopped(toward, mah)),
    ]
}

/// Read up to 200 days ago, and up to four things since.
fn stories(chemistry: Chemistry) -> impl Strategy<Value = Story> {
    let limits = chemistry.limits();
    let cells = prop::collection::vec(limits.minimum_mv - 100..limits.full_mv + 20, 3);
    (
        0_i64..200,
        cells,
        prop::collection::vec((0_i64..200, whats()), 0..5),
    )
        .prop_map(|(days, cells, mut since)| {
            since.sort_by_key(|(days, _)| -days);
            since
                .into_iter()
                .fold(read_cells(days, &cells), |story, (after, what)| {
                    story.then(after.min(days), what)
                })
        })
}

fn packs() -> impl Strategy<Value = OnRecord> {
    chemistries().prop_flat_map(|chemistry| {
        (stories(chemistry), -5_i64..45, prop::option::of(0_i64..50)).prop_map(
            move |(story, celsius, event)| OnRecord {
                event: event.map(|days| super::due::Event {
                    name: "Autumn Bouts".to_owned(),
                    ends: days_ago(days),
                }),
                ..pack(lying_at(chemistry, celsius), story)
            },
        )
    })
}

fn storage(all: &[Due]) -> Option<Grave> {
    let storage = all.iter().filter(|due| due.reason.is_storage_care());
    storage.map(|due| due.grave).max()
}

fn not_later(one: Option<Instant>, other: Option<Instant>) -> bool {
    match (one, other) {
        (_, None) => true,
        (None, Some(_)) => false,
        (Some(one), Some(other)) => one <= other,
    }
}

fn earliest(lying: &Lying, story: &Story) -> Option<Instant> {
    match Forecast::of(lying, story) {
        Forecast::Falls(falls) => Some(falls.earliest),
        _ => None,
    }
}

/// Read at these volts so long ago, warm and long enough for anything to be due.
fn above_since(chemistry: Chemistry, mv: i64, days: i64, celsius: i64) -> OnRecord {
    pack(lying_at(chemistry, celsius), read(days, mv))
}

#[test]
fn an_old_low_reading_asks_for_volts_before_a_charger() {
    let all = due_at(&lipo(read(120, 3_100)), now());
    let found: Vec<Reason> = all.iter().map(|due| due.reason).collect();
    assert!(
        found.contains(&Reason::FallsToMinimum) && found.len() > 1,
        "{found:?}"
    );
    let first = "Log its volts now. Under 3.00 V in a cell: don't charge it.";
    assert!(all.iter().all(|due| due.next.starts_with(first)), "{all:?}");
}

proptest! {
    #[test]
    fn what_may_be_at_its_minimum_is_measured_first_whatever_else_it_is_due_for(pack in packs(), days in 0_i64..400) {
        let all = due_at(&OnRecord { state: State::Fit, ..pack }, now().plus_days(days));
        let falls = all.iter().find(|due| due.reason == Reason::FallsToMinimum);
        for due in falls.map_or(&[][..], |_| &all) {
            prop_assert!(due.next.starts_with("Log its volts now."), "{due:?}");
        }
    }

    #[test]
    fn waiting_makes_nothing_kinder(pack in packs(), days in 0_i64..400) {
        let (soon, late) = (due_now(&pack), due_at(&pack, now().plus_days(days)));
        prop_assert!(storage(&late) >= storage(&soon), "{soon:?} {late:?}");
        let gravest = |all: &[Due]| all.iter().map(|due| due.grave).max();
        prop_assert!(gravest(&late) >= gravest(&soon));
        let rules = CareRules::default();
        let past = |at| past_limit_since(&pack, &rules, at);
        prop_assert!(past(now()).is_none() || past(now().plus_days(days)) == past(now()));
        for due in &soon {
            prop_assert!(due.since <= now());
            let again = late.iter().find(|again| again.reason == due.reason);
            let replaced = matches!(due.reason, Reason::EventOver | Reason::BackNotStored);
            prop_assert!(again.map_or(replaced, |again| again.since == due.since && again.grave >= due.grave));
        }
    }

    #[test]
    fn the_fuller_pack_is_due_no_later_and_no_milder(
        chemistry in lithium(), part in 0.0_f64..1.0, more in 0.0_f64..1.0, days in 0_i64..80, celsius in -5_i64..45,
    ) {
        let limits = chemistry.limits();
        let room = (limits.full_mv - limits.storage_high_mv) as f64;
        let mv = limits.storage_high_mv + (room * part) as i64;
        let fuller_mv = mv + ((limits.full_mv - mv) as f64 * more) as i64;
        let of = |mv| above_since(chemistry, mv, days, celsius);
        let of_band = |mv| {
            let all = due_now(&of(mv));
            let above = all.into_iter().find(|due| due.reason == Reason::AboveBand);
            (above.as_ref().map(|due| due.grave), above.map(|due| due.since))
        };
        let (one, fuller) = (of_band(mv), of_band(fuller_mv));
        prop_assert!(fuller.0 >= one.0 && not_later(fuller.1, one.1));
        let rules = CareRules::default();
        let past = |mv| past_limit_since(&of(mv), &rules, now());
        prop_assert!(not_later(past(fuller_mv), past(mv)));
    }

    #[test]
    fn the_warmer_pack_is_due_no_later_and_no_milder(pack in packs(), warmer in 0_i64..30) {
        let warm = OnRecord {
            lying: Lying { celsius: Some(pack.lying.celsius() + warmer), ..pack.lying },
            ..pack.clone()
        };
        let (cool, warm_due) = (due_now(&pack), due_now(&warm));
        prop_assert!(storage(&warm_due) >= storage(&cool), "{cool:?} {warm_due:?}");
        for due in &cool {
            let again = warm_due.iter().find(|again| again.reason == due.reason);
            let replaced = matches!(due.reason, Reason::EventOver | Reason::BackNotStored);
            prop_assert!(again.map_or(replaced, |again| again.since <= due.since && again.grave >= due.grave));
        }
        prop_assert!(not_later(earliest(&warm.lying, &warm.story), earliest(&pack.lying, &pack.story)));
    }

    #[test]
    fn a_band_only_widens_until_its_low_end_is_at_nothing(pack in packs(), days in 0_i64..200, more in 1_i64..200) {
        let at = |days| Belief::of(&pack.lying, &pack.story, now().plus_days(days));
        let (Some(one), Some(later)) = (at(days), at(days + more)) else {
            return Err(TestCaseError::fail("read, so believed"));
        };
        let (held, held_later) = (one.charge_percent(), later.charge_percent());
        prop_assert!(held.least <= held.likely && held.likely <= held.most);
        prop_assert!(held.least >= 0.0 && held.most <= 100.0);
        prop_assert!(held_later.most <= held.most + 1e-9 && held_later.least <= held.least + 1e-9);
        if held_later.least > 0.0 {
            let width = |range: crate::battery::range::Range| range.most - range.least;
            prop_assert!(width(held_later) >= width(held) - 1e-9, "{held:?} {held_later:?}");
        }
        prop_assert!(later.sure() <= one.sure());
        if let (Some(low), Some(low_later)) = (one.lowest_mv(), later.lowest_mv()) {
            prop_assert!(low.least <= low.likely && low.likely <= low.most);
            prop_assert!(low_later.least <= low.least + 1e-9 && low_later.most <= low.most + 1e-9);
        }
    }

    #[test]
    fn a_pack_read_in_its_band_is_never_due_for_storage_by_lying(
        chemistry in lithium(), parts in prop::collection::vec(0.0_f64..=1.0, 3), days in 0_i64..2_000, celsius in -5_i64..60,
        before in prop::option::of(0_i64..50),
    ) {
        let limits = chemistry.limits();
        let wide = (limits.storage_high_mv - limits.storage_low_mv) as f64;
        let cells: Vec<i64> = parts.iter().map(|part| limits.storage_low_mv + (wide * part) as i64).collect();
        let lying = lying_at(chemistry, celsius);
        let story = read_cells(days, &cells);
        let earlier = before.map(|before| days_ago(days + before));
        let kept = Kept { above_since: earlier, back_since: earlier, is_due_when_read: days % 2 == 0 }.after(&lying, &story);
        let lain = OnRecord {
            kept,
            event: Some(super::due::Event { name: "Autumn Bouts".to_owned(), ends: days_ago(days / 2) }),
            ..pack(lying, story)
        };
        for reason in [Reason::AboveBand, Reason::EventOver, Reason::BackNotStored] {
            prop_assert!(!reasons(&lain).contains(&reason));
        }
        prop_assert_eq!(past_limit_since(&lain, &CareRules::default(), now()), None);
    }

    #[test]
    fn a_forecast_is_in_order_and_begins_when_it_was_told(pack in packs()) {
        if let Forecast::Falls(falls) = Forecast::of(&pack.lying, &pack.story) {
            let at = pack.story.read.as_ref().expect("a reading").at;
            prop_assert!(falls.earliest >= at);
            prop_assert!(not_later(Some(falls.earliest), falls.likely));
            prop_assert!(not_later(falls.likely, falls.latest));
        }
    }

    #[test]
    fn the_order_is_one_and_the_graver_never_stands_below(packs in prop::collection::vec((packs(), 0_u8..4), 1..6)) {
        let mut lines: Vec<ToSeeTo> = Vec::new();
        for (pack, number) in &packs {
            let number = format!("P-{number}");
            lines.extend(due_now(pack).into_iter().map(|due| ToSeeTo { number: number.clone(), due }));
        }
        for one in &lines {
            for other in &lines {
                prop_assert_eq!(one.cmp(other), other.cmp(one).reverse());
                prop_assert_eq!(one.cmp(other).is_eq(), one == other);
            }
        }
        let mut turned: Vec<ToSeeTo> = lines.iter().rev().cloned().collect();
        lines.sort();
        turned.sort();
        prop_assert_eq!(&lines, &turned);
        prop_assert!(lines.windows(2).all(|two| two[0].due.grave >= two[1].due.grave));
    }

    #[test]
    fn whoever_is_chased_stays_chased(pack in packs(), days in 0_i64..60, is_held in any::<bool>()) {
        let holder = is_held.then_some(Holder { person: Uuid::from_u128(7), answers: None });
        let rules = CareRules::default();
        for due in due_now(&pack) {
            let soon = chased(holder, &due, &rules, now());
            let late = chased(holder, &due, &rules, now().plus_days(days));
            prop_assert!(!soon.is_empty() && soon.iter().all(|who| late.contains(who)));
        }
    }
}

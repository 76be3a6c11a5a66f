//! Reports: what a stranger's does, their ranks, and which doubles may be merged.

use super::*;
use crate::club::seen::findings;
use proptest::prelude::*;

#[test]
fn every_word_that_is_stored_is_found_again() {
    for each in About::ALL {
        assert_eq!(About::from_code(each.code()), Some(each));
    }
    for each in Thing::ALL {
        assert_eq!(Thing::from_code(each.code()), Some(each));
    }
    for each in IsNow::ALL {
        assert_eq!(IsNow::from_code(each.code()), each);
    }
    assert_eq!(seen_of(&seen_codes(&Seen::ALL)), Seen::ALL);
    assert_eq!(IsNow::from_code("x"), IsNow::NotSaid);
}

#[test]
fn the_first_danger_of_a_stranger_quarantines_and_the_next_sets_aside() {
    let swollen = findings(&[Seen::Swollen], None, "");
    let first = unverified(&swollen, "Swollen or puffed", false).expect("a finding");
    assert_eq!(
        first.gravity,
        Gravity::Danger,
        "not final before a person looked"
    );
    assert!(first.words.contains("Swollen or puffed") && first.next.contains("get away"));
    let next = unverified(&swollen, "Swollen or puffed", true).expect("a finding");
    assert_eq!(next.gravity, Gravity::ToMend);
    assert!(next.next.contains("get away"));
    assert_eq!(unverified(&[], "", false), None);
}

#[test]
fn danger_that_happens_now_stands_above_all_else() {
    let mut ranks: Vec<i64> = Gravity::ALL
        .iter()
        .flat_map(|gravity| [rank(*gravity, IsNow::Yes), rank(*gravity, IsNow::No)])
        .collect();
    assert_eq!(rank(Gravity::Note, IsNow::NotSaid), 0);
    assert!(ranks.is_sorted_by(|graver, milder| graver > milder));
    ranks.dedup();
    assert_eq!(ranks.len(), 12);
}

const ONE: Double<'_> = Double {
    id: 1,
    of: ("", "", Some(7)),
    gravity: Gravity::Danger,
    is_merged: false,
    is_looked_at: false,
};

#[test]
fn a_double_goes_into_one_that_is_as_grave_and_that_somebody_will_still_look_at() {
    let other = Double { id: 2, ..ONE };
    assert_eq!(may_merge(&other, &ONE), Ok(()));
    assert_eq!(may_merge(&ONE, &ONE), Err(MergeRefusal::Itself));
    let milder = Double {
        gravity: Gravity::ToMend,
        ..ONE
    };
    assert_eq!(may_merge(&other, &milder), Err(MergeRefusal::Graver));
    assert_eq!(may_merge(&Double { id: 2, ..milder }, &ONE), Ok(()));
    let looked = Double {
        is_looked_at: true,
        ..ONE
    };
    assert_eq!(may_merge(&other, &looked), Err(MergeRefusal::CameAfter));
    let elsewhere = Double {
        of: ("", "", Some(8)),
        ..ONE
    };
    assert_eq!(may_merge(&other, &elsewhere), Err(MergeRefusal::OtherThing));
    let of = |about| Double {
        of: (about, "", None),
        ..ONE
    };
    let letter = Double {
        id: 2,
        ..of("message")
    };
    assert_eq!(
        may_merge(&of("near_miss"), &letter),
        Err(MergeRefusal::OtherThing),
        "a stranger's letter is no near miss"
    );
    assert_eq!(may_merge(&of("message"), &letter), Ok(()));
    let merged = Double {
        is_merged: true,
        ..ONE
    };
    assert_eq!(may_merge(&other, &merged), Err(MergeRefusal::IsMerged));
}

proptest! {
    #[test]
    fn a_stranger_makes_no_pack_final_and_leaves_none_that_has_something_to_see(
        seen in prop::collection::vec(prop::sample::select(Seen::ALL.to_vec()), 1..5), before in any::<bool>(),
    ) {
        let all = findings(&seen, None, "x");
        let found = unverified(&all, "x", before);
        prop_assert_eq!(found.is_some(), !all.is_empty());
        if let Some(found) = found {
            prop_assert!(found.gravity >= Gravity::ToMend && found.gravity <= Gravity::Danger);
            prop_assert!(!before || found.gravity == Gravity::ToMend);
        }
    }
}

//! Who takes a charge over: common practice, no source; that it is never left alone is the rule behind each.

use super::*;
use crate::club::calendar::Day;

const ADA: Uuid = Uuid::from_u128(1);
const BEN: Uuid = Uuid::from_u128(2);

fn roles(is_member: bool, is_quartermaster: bool, is_organiser: bool) -> Roles {
    Roles {
        is_member,
        is_quartermaster,
        is_organiser,
    }
}

fn ben() -> Watcher {
    Watcher {
        id: BEN,
        name: "Ben".to_owned(),
        roles: roles(true, false, false),
        is_active: true,
        induction: Induction::Valid { until: None },
    }
}

fn with_ada() -> Stands {
    Stands {
        watched_by: ADA,
        handed: 3,
        seen_handed: Some(3),
    }
}

fn by(id: Uuid, is_quartermaster: bool) -> Actor {
    Actor {
        id,
        roles: roles(true, is_quartermaster, false),
    }
}

#[test]
fn whoever_takes_it_on_says_so_and_a_quartermaster_says_it_for_them() {
    assert_eq!(refusal(by(BEN, false), with_ada(), &ben()), None);
    assert_eq!(refusal(by(ADA, true), with_ada(), &ben()), None);
    let given_away = refusal(by(ADA, false), with_ada(), &ben());
    assert_eq!(given_away, Some(HandOverRefusal::NotYours));
}

#[test]
fn it_goes_to_another_person_and_only_as_it_was_seen() {
    let own = Stands {
        watched_by: BEN,
        ..with_ada()
    };
    assert_eq!(
        refusal(by(BEN, false), own, &ben()),
        Some(HandOverRefusal::Yourself)
    );
    assert_eq!(
        refusal(by(ADA, true), own, &ben()),
        Some(HandOverRefusal::SamePerson("Ben".to_owned()))
    );
    for seen_handed in [Some(2), Some(4), None] {
        let stands = Stands {
            seen_handed,
            ..with_ada()
        };
        let told = refusal(by(ADA, true), stands, &ben());
        assert_eq!(told, Some(HandOverRefusal::Meanwhile), "{seen_handed:?}");
    }
}

#[test]
fn nobody_watches_who_may_not() {
    let on = Day::parse("2026-11-01").expect("a day");
    let name = || "Ben".to_owned();
    let all = [
        (
            Watcher {
                is_active: false,
                ..ben()
            },
            HandOverRefusal::NotActive(name()),
        ),
        (
            Watcher {
                roles: roles(false, false, true),
                ..ben()
            },
            HandOverRefusal::MayNot(name()),
        ),
        (
            Watcher {
                roles: roles(false, false, false),
                ..ben()
            },
            HandOverRefusal::MayNot(name()),
        ),
        (
            Watcher {
                induction: Induction::Never,
                ..ben()
            },
            HandOverRefusal::NoInduction(name()),
        ),
        (
            Watcher {
                induction: Induction::RanOut { on },
                ..ben()
            },
            HandOverRefusal::InductionRanOut {
                name: name(),
                on: day_words(on),
            },
        ),
    ];
    for (watcher, told) in all {
        assert_eq!(
            refusal(by(ADA, true), with_ada(), &watcher).as_ref(),
            Some(&told)
        );
        assert_eq!(
            refusal(by(BEN, true), with_ada(), &watcher),
            Some(told),
            "nor oneself"
        );
    }
}

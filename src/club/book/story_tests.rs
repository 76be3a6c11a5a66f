//! What became of an incident as its entries tell it: causes, lessons, corrections, actions and their days.

use super::asked::{problems, too_early};
use super::digest::Digest;
use super::incident::{Damage, Harm, Kind};
use super::severity::InjuriesKept;
use super::story::ActionStands;
use super::telling::Telling;
use super::telling_tests::{Told, action, close, open, opened, words};
use serde_json::json;

/// It could not have been grave.
fn mild() -> Telling {
    let mut mild = opened();
    mild.severity.harm_could = Harm::FirstAid;
    mild.severity.damage = Damage::ItselfOnly;
    mild.severity.damage_could = Damage::ItselfOnly;
    Telling::Opened(Box::new(mild))
}

#[test]
fn causes_and_lessons_may_be_entries_of_their_own_and_are_then_not_asked_for_again() {
    let mut told_so_far = Told::of(&[mild()]);
    let bare = Telling::Closed {
        causes: vec![],
        lessons: String::new(),
    };
    assert_eq!(told_so_far.refused(&bare), ["causes", "lessons"]);
    assert_eq!(told_so_far.refused(&Telling::Cause(words(" "))), ["words"]);
    told_so_far.tell(&Telling::Cause(words(
        "The charger had forgotten its setting.",
    )));
    assert_eq!(told_so_far.refused(&bare), ["lessons"]);
    told_so_far.tell(&Telling::Lesson(words(
        "Read it back after each power cut.",
    )));
    told_so_far.tell(&bare);
    assert!(told_so_far.story().is_closed);
}

#[test]
fn what_was_put_right_is_told_in_place_of_what_it_corrects_and_the_latest_counts() {
    let mut told_so_far = Told::of(&[open()]);
    let correct = |hash, instead: &str| Telling::Corrected {
        seq: 1,
        hash,
        field: "place".to_owned(),
        instead: words(instead),
        held: None,
        why: "The photo shows it".to_owned(),
    };
    let hash = told_so_far.entries[0].hash;
    assert_eq!(told_so_far.story().instead_of(1, "place"), None);
    told_so_far.tell(&correct(hash, "Table 3"));
    told_so_far.tell(&correct(hash, "Table 4"));
    let story = told_so_far.story();
    let place = story.instead_of(1, "place").expect("put right");
    assert_eq!((place.by, place.instead.as_deref()), (3, Some("Table 4")));
    assert_eq!(story.instead_of(1, "damage"), None);
    assert_eq!(story.held_by, Some(1));
}

#[test]
fn a_correction_that_makes_a_closed_incident_grave_is_told_since_no_action_was_set() {
    let mut told_so_far = Told::of(&[mild(), close()]);
    assert!(!told_so_far.story().is_closed_too_early());
    let hash = told_so_far.entries[0].hash;
    told_so_far.tell(&Telling::Corrected {
        seq: 1,
        hash,
        field: "held".to_owned(),
        instead: words("It could have spread."),
        held: Some((Kind::Fire, opened().severity)),
        why: "The shelf above was charred".to_owned(),
    });
    assert!(told_so_far.story().is_closed_too_early());
}

#[test]
fn a_pack_may_have_burnt_in_the_smoke_or_fire_that_it_was_part_of() {
    let mut told_so_far = Told::of(&[open()]);
    let story = told_so_far.story();
    assert!(story.may_have_burnt("P-007") && !story.may_have_burnt("P-070"));
    let hash = told_so_far.entries[0].hash;
    told_so_far.tell(&Telling::Corrected {
        seq: 1,
        hash,
        field: "held".to_owned(),
        instead: words("The charger alone burnt."),
        held: Some((Kind::ChargerOrWiring, opened().severity)),
        why: "The pack was never plugged in".to_owned(),
    });
    assert!(!told_so_far.story().may_have_burnt("P-007"));
}

#[test]
fn what_is_put_right_as_no_part_of_it_did_not_burn_in_it() {
    let mut told_so_far = Told::of(&[open()]);
    let hash = told_so_far.entries[0].hash;
    told_so_far.tell(&Telling::Corrected {
        seq: 1,
        hash,
        field: "items".to_owned(),
        instead: words("none"),
        held: None,
        why: "It lay in the other room".to_owned(),
    });
    assert!(!told_so_far.story().may_have_burnt("P-007"));
}

#[test]
fn what_is_to_happen_by_which_day_goes_by_how_the_action_stands() {
    let mut told_so_far = Told::of(&[open(), Telling::ActionSet(action())]);
    let by = |told: &Told| {
        let story = told.story();
        let stands = story.stands(2).expect("an action");
        story.actions[&2].by(stands).map(|day| day.to_string())
    };
    assert_eq!(by(&told_so_far).as_deref(), Some("2026-12-01"));
    let said = words("Tiles laid");
    told_so_far.tell(&Telling::ActionDone {
        seq: 2,
        words: said,
    });
    assert_eq!(by(&told_so_far).as_deref(), Some("2027-01-10"));
    for each in ["to_do", "to_look_at", "worked", "did_not_work", "replaced"] {
        assert_eq!(
            ActionStands::from_code(each).map(ActionStands::code),
            Some(each)
        );
    }
}

#[test]
fn words_in_which_somebody_of_the_club_is_named_are_kept_so_that_they_can_be_erased() {
    let mut telling = Telling::Cause(words("Ada set 4S."));
    telling.keep_apart(|text| text.contains("Ada"));
    let told_so_far = Told::of(&[open(), telling]);
    assert_eq!(told_so_far.entries[1].entry.body["words"], json!(null));
    let mut other = Telling::Lesson(words("Read it back."));
    other.keep_apart(|text| text.contains("Ada"));
    assert_eq!(other, Telling::Lesson(words("Read it back.")));
}

#[test]
fn a_correction_of_what_is_about_people_is_a_part_and_injuries_only_where_words_are_kept() {
    let told_so_far = Told::of(&[open()]);
    let mut correction = Telling::Corrected {
        seq: 1,
        hash: told_so_far.entries[0].hash,
        field: "injuries".to_owned(),
        instead: words("It was the thumb."),
        held: None,
        why: "They said so".to_owned(),
    };
    correction.keep_apart(|_| false);
    let found = problems(&correction, &told_so_far.story(), InjuriesKept::HowGrave);
    assert_eq!(found.len(), 1);
    assert_eq!(found[0].field, "instead");
    let told_so_far = Told::of(&[open(), correction]);
    assert_eq!(told_so_far.entries[1].entry.body["instead"], json!(null));
}

#[test]
fn an_action_that_does_not_work_after_all_waits_again_and_opens_its_incident() {
    let said = || words("as it says");
    let mut told_so_far = Told::of(&[
        open(),
        Telling::ActionSet(action()),
        Telling::ActionDone {
            seq: 2,
            words: said(),
        },
        Telling::ActionLookedAt {
            seq: 2,
            worked: true,
            words: said(),
        },
        close(),
    ]);
    let right = |told: &Told, seq: i64, instead: &str| Telling::Corrected {
        seq,
        hash: told.entries[usize::try_from(seq - 1).expect("a place")].hash,
        field: "worked".to_owned(),
        instead: words(instead),
        held: None,
        why: "The lamp was never wired".to_owned(),
    };
    assert_eq!(
        told_so_far.refused(&right(&told_so_far, 4, "maybe")),
        ["instead"]
    );
    assert_eq!(
        told_so_far.refused(&right(&told_so_far, 3, "no")),
        ["corrects"]
    );
    let no = right(&told_so_far, 4, "No");
    told_so_far.tell(&no);
    let story = told_so_far.story();
    assert_eq!(story.stands(2), Some(ActionStands::DidNotWork));
    assert!(!story.is_closed);
    assert_eq!(told_so_far.refused(&close()), ["actions"]);
    let yes = right(&told_so_far, 4, "yes");
    told_so_far.tell(&yes);
    assert_eq!(told_so_far.story().stands(2), Some(ActionStands::Worked));
    told_so_far.tell(&close());
    told_so_far.tell(&no);
    told_so_far.tell(&Telling::ActionSet(action()));
    assert_eq!(told_so_far.story().stands(2), Some(ActionStands::Replaced));
}

#[test]
fn that_an_action_works_is_told_on_its_day_and_that_it_does_not_at_once() {
    let mut told_so_far = Told::of(&[open()]);
    told_so_far.tell(&Telling::ActionSet(action()));
    told_so_far.tell(&Telling::ActionDone {
        seq: 2,
        words: words("Tiles laid"),
    });
    let looked = |worked| Telling::ActionLookedAt {
        seq: 2,
        worked,
        words: words("Looked at the table"),
    };
    let day = action().look_on;
    let early = |told_so_far: &Told, telling: &Telling, today| {
        let found = too_early(telling, &told_so_far.story(), today);
        let fields = found.iter().map(|problem| problem.field);
        fields.collect::<Vec<_>>()
    };
    assert_eq!(
        early(&told_so_far, &looked(true), day.plus_days(-1)),
        ["worked"]
    );
    assert_eq!(early(&told_so_far, &looked(true), day), [""; 0]);
    assert_eq!(
        early(&told_so_far, &looked(false), day.plus_days(-1)),
        [""; 0]
    );
    told_so_far.tell(&looked(false));
    let instead = |text| Telling::Corrected {
        seq: 4,
        hash: Digest::NONE_BEFORE,
        field: "worked".to_owned(),
        instead: words(text),
        held: None,
        why: "looked again".to_owned(),
    };
    assert_eq!(
        early(&told_so_far, &instead("yes"), day.plus_days(-1)),
        ["instead"]
    );
    assert_eq!(early(&told_so_far, &instead("yes"), day), [""; 0]);
    assert_eq!(
        early(&told_so_far, &instead("no"), day.plus_days(-1)),
        [""; 0]
    );
}

//! Who is chased, day by day.

use super::*;
use crate::club::care::due::Reason;
use crate::club::care::scenes_tests::*;

fn due(days: i64, grave: Grave) -> Due {
    Due {
        reason: Reason::AboveBand,
        since: days_ago(days),
        why: String::new(),
        next: String::new(),
        grave,
    }
}

fn who(holder: Option<Holder>, days: i64, grave: Grave) -> Vec<&'static str> {
    let all = chased(holder, &due(days, grave), &CareRules::default(), now());
    all.into_iter().map(Chased::code).collect()
}

fn holder() -> Option<Holder> {
    Some(Holder {
        person: Uuid::from_u128(1),
        answers: None,
    })
}

#[test]
fn first_the_holder_then_a_quartermaster_too_then_an_organiser_too() {
    assert_eq!(who(holder(), 0, Grave::ThisWeek), ["holder"]);
    assert_eq!(who(holder(), 2, Grave::Today), ["holder"]);
    assert_eq!(
        who(holder(), 3, Grave::ThisWeek),
        ["holder", "quartermasters"]
    );
    assert_eq!(
        who(holder(), 6, Grave::ThisWeek),
        ["holder", "quartermasters"]
    );
    assert_eq!(
        who(holder(), 7, Grave::ThisWeek),
        ["holder", "quartermasters", "organisers"]
    );
}

#[test]
fn what_nobody_has_and_what_is_dangerous_is_a_quartermasters_from_the_first_day() {
    assert_eq!(who(None, 0, Grave::WhenConvenient), ["quartermasters"]);
    assert_eq!(
        who(None, 7, Grave::WhenConvenient),
        ["quartermasters", "organisers"]
    );
    assert_eq!(
        who(holder(), 0, Grave::AtOnce),
        ["holder", "quartermasters"]
    );
}

#[test]
fn for_a_guest_or_junior_whoever_answers_is_chased_beside_them() {
    let (person, answers) = (Uuid::from_u128(1), Uuid::from_u128(2));
    let junior = Some(Holder {
        person,
        answers: Some(answers),
    });
    let all = chased(
        junior,
        &due(0, Grave::ThisWeek),
        &CareRules::default(),
        now(),
    );
    assert_eq!(all, [Chased::Holder(person), Chased::WhoAnswers(answers)]);
}

#[test]
fn a_club_sets_the_days_and_no_organiser_is_asked_before_a_quartermaster() {
    let rules = CareRules {
        quartermaster_days: 5,
        organiser_days: 1,
        ..CareRules::default()
    };
    let at = |days| chased(holder(), &due(days, Grave::ThisWeek), &rules, now()).len();
    assert_eq!((at(4), at(5)), (1, 3));
}

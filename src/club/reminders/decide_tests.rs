//! Who is reminded of what, day by day.

use super::Kind;
use super::decide::*;
use super::facts::{ActionDue, CheckDue, Facts, LoanOut, PackDue, Person, Unread, Whereabouts};
use super::rules::ReminderRules;
use crate::club::book::chain::Head;
use crate::club::calendar::{Day, Instant, Zone};
use crate::club::care::chased::Holder;
use crate::club::care::due::{Due, Grave, Reason};
use crate::club::care::rules::CareRules;
use crate::club::people::Roles;
use crate::club::place_checks::Check;
use uuid::Uuid;

const ADA: Uuid = Uuid::from_u128(1);
const QUINN: Uuid = Uuid::from_u128(2);
const OLIVE: Uuid = Uuid::from_u128(3);
const JUN: Uuid = Uuid::from_u128(4);

fn london() -> Zone {
    Zone::named("Europe/London").expect("a zone")
}

fn day(text: &str) -> Day {
    Day::parse(text).expect("a day")
}

/// Eight in the morning in the hall. 26 Nov 2026 is a Thursday.
fn morning(text: &str) -> Instant {
    london().at(day(text), "08:00").expect("a time")
}

fn person(id: Uuid, is_quartermaster: bool, is_organiser: bool) -> Person {
    Person {
        id,
        roles: Roles {
            is_member: !is_quartermaster && !is_organiser,
            is_quartermaster,
            is_organiser,
        },
        is_active: true,
        answers: None,
        ends: None,
    }
}

/// Ada, a member; Quinn, quartermaster; Olive, organiser; Jun, a junior for whom Ada answers.
fn club() -> Facts {
    let junior = Person {
        roles: Roles::default(),
        answers: Some(ADA),
        ..person(JUN, false, false)
    };
    Facts {
        people: vec![
            person(ADA, false, false),
            person(QUINN, true, false),
            person(OLIVE, false, true),
            junior,
        ],
        packs: Vec::new(),
        loans: Vec::new(),
        checks: Vec::new(),
        actions: Vec::new(),
        reports: Vec::new(),
        book: Head::EMPTY,
        last: Some(day("2026-11-25")),
    }
}

fn above(holder: Option<Uuid>, since: &str) -> PackDue {
    PackDue {
        number: "P-001".to_owned(),
        whereabouts: Whereabouts::Here,
        holder: holder.map(|person| Holder {
            person,
            answers: (person == JUN).then_some(ADA),
        }),
        due: vec![Due {
            reason: Reason::AboveBand,
            since: london().start_of(day(since)),
            why: "why".to_owned(),
            next: "next".to_owned(),
            grave: Grave::ThisWeek,
        }],
    }
}

fn loan(borrower: Uuid, due_on: &str) -> LoanOut {
    LoanOut {
        id: Uuid::from_u128(9),
        borrower,
        due_on: day(due_on),
        things: vec!["P-001".to_owned()],
    }
}

fn on(facts: &Facts, text: &str) -> Vec<(Uuid, Kind, bool)> {
    let (rules, care, zone) = (ReminderRules::default(), CareRules::default(), london());
    let at = At {
        rules: &rules,
        care: &care,
        now: morning(text),
        zone: &zone,
    };
    let all = decide(facts, &at);
    all.into_iter()
        .map(|one| (one.person, one.kind, one.is_must))
        .collect()
}

#[test]
fn who_has_a_pack_must_put_it_right_and_others_are_told_after_their_days() {
    let facts = Facts {
        packs: vec![above(Some(ADA), "2026-11-20")],
        ..club()
    };
    let (ada, quinn, olive) = (
        (ADA, Kind::StorageOverdue, true),
        (QUINN, Kind::StorageOverdue, false),
        (OLIVE, Kind::StorageOverdue, false),
    );
    assert_eq!(on(&facts, "2026-11-22"), [ada]);
    assert_eq!(on(&facts, "2026-11-23"), [ada, quinn]);
    assert_eq!(on(&facts, "2026-11-27"), [ada, quinn, olive]);
}

#[test]
fn where_a_pack_is_that_somebody_has_is_told_without_a_name() {
    let by = day("2026-11-29");
    for (whereabouts, words) in [
        (Whereabouts::Here, "why"),
        (
            Whereabouts::AtHome(by),
            "It is at home, to be done by Sun 29 Nov 2026. why",
        ),
        (
            Whereabouts::AtHome(day("2026-11-22")),
            "It is at home, and was to be done by Sun 22 Nov 2026. why",
        ),
        (
            Whereabouts::StillAtHome,
            "It is still at home, and is to be brought back. why",
        ),
        (
            Whereabouts::OnLoan(by),
            "It is on loan until Sun 29 Nov 2026. why",
        ),
    ] {
        let pack = PackDue {
            whereabouts,
            ..above(Some(ADA), "2026-11-20")
        };
        let facts = Facts {
            packs: vec![pack],
            ..club()
        };
        let (rules, care, zone) = (ReminderRules::default(), CareRules::default(), london());
        let at = At {
            rules: &rules,
            care: &care,
            now: morning("2026-11-24"),
            zone: &zone,
        };
        let all = decide(&facts, &at);
        assert!(!all.is_empty() && all.iter().all(|one| one.why == words));
    }
}

#[test]
fn a_quartermaster_who_has_it_is_told_once_as_who_must_put_it_right() {
    let facts = Facts {
        packs: vec![above(Some(QUINN), "2026-11-20")],
        ..club()
    };
    assert_eq!(
        on(&facts, "2026-11-24"),
        [(QUINN, Kind::StorageOverdue, true)]
    );
}

#[test]
fn who_answers_for_a_junior_is_told_for_them_and_who_left_is_as_nobody() {
    let facts = Facts {
        packs: vec![above(Some(JUN), "2026-11-24")],
        loans: vec![loan(JUN, "2026-11-23")],
        ..club()
    };
    let (storage, overdue) = (
        (ADA, Kind::StorageOverdue, true),
        (ADA, Kind::LoanOverdue, true),
    );
    assert_eq!(on(&facts, "2026-11-24"), [storage, overdue]);
    let mut gone = club();
    gone.people[0].is_active = false;
    gone.packs = vec![above(Some(ADA), "2026-11-24")];
    gone.loans = vec![loan(ADA, "2026-11-23")];
    let told = on(&gone, "2026-11-24");
    assert_eq!(
        told,
        [
            (QUINN, Kind::StorageOverdue, false),
            (QUINN, Kind::LoanOverdue, false)
        ]
    );
}

#[test]
fn a_loan_is_told_the_day_before_and_its_last_day_still_counts() {
    let facts = Facts {
        loans: vec![loan(ADA, "2026-11-26")],
        ..club()
    };
    let kinds = |text| on(&facts, text);
    assert_eq!(kinds("2026-11-24"), []);
    assert_eq!(kinds("2026-11-25"), [(ADA, Kind::LoanDueSoon, false)]);
    assert_eq!(kinds("2026-11-26"), [(ADA, Kind::LoanDueSoon, false)]);
    assert_eq!(kinds("2026-11-27"), [(ADA, Kind::LoanOverdue, true)]);
    assert_eq!(kinds("2026-11-29").len(), 1);
    // Overdue since the end of the 26th: three days and eight hours.
    assert_eq!(
        kinds("2026-11-30").len(),
        2 + 2,
        "and the summaries of a Monday"
    );
}

#[test]
fn an_induction_is_told_two_weeks_before_its_last_day_and_a_check_of_a_place_to_who_run_the_club() {
    let mut facts = club();
    facts.people[0].ends = Some(day("2026-12-10"));
    facts.people[3].ends = Some(day("2026-12-10"));
    assert_eq!(on(&facts, "2026-11-25"), []);
    let twice = [(ADA, Kind::Induction, false), (ADA, Kind::Induction, false)];
    assert_eq!(on(&facts, "2026-11-26"), twice, "her own and the junior's");
    let facts = Facts {
        checks: vec![CheckDue {
            place: Uuid::from_u128(7),
            called: "Hall".to_owned(),
            check: Check::Detector,
            due_on: day("2026-12-10"),
        }],
        ..club()
    };
    assert_eq!(on(&facts, "2026-11-25"), []);
    let both = [(QUINN, Kind::Check, false), (OLIVE, Kind::Check, false)];
    assert_eq!(on(&facts, "2026-11-26"), both);
    let facts = Facts {
        last: Some(day("2027-01-20")),
        ..facts
    };
    // Nobody noted the next day: it stays due.
    assert_eq!(on(&facts, "2027-01-21"), both);
}

#[test]
fn a_check_is_told_again_on_its_day_and_to_organisers_when_it_stays_undone_and_the_week_counts_it()
{
    let facts = Facts {
        checks: vec![CheckDue {
            place: Uuid::from_u128(7),
            called: "Hall".to_owned(),
            check: Check::Extinguisher,
            due_on: day("2026-12-10"),
        }],
        ..club()
    };
    let all = |text: &str| {
        let (rules, care, zone) = (ReminderRules::default(), CareRules::default(), london());
        let at = At {
            rules: &rules,
            care: &care,
            now: morning(text),
            zone: &zone,
        };
        decide(&facts, &at)
    };
    let told = |text: &str| -> Vec<(Uuid, &str, String)> {
        let mut all = all(text);
        all.retain(|one| one.kind == Kind::Check);
        let each = all.into_iter();
        each.map(|one| (one.person, one.reason, one.title))
            .collect()
    };
    let of = |who, reason, is: &str| (who, reason, format!("Extinguisher check {is}: Hall"));
    let (ahead, overdue) = ("extinguisher_check", "extinguisher_overdue");
    let before = [of(QUINN, ahead, "due"), of(OLIVE, ahead, "due")];
    assert_eq!(told("2026-12-09"), before);
    assert_eq!(told("2026-12-10"), [of(QUINN, overdue, "due today")]);
    assert_eq!(told("2026-12-16"), [of(QUINN, overdue, "overdue")]);
    let late = [of(QUINN, overdue, "overdue"), of(OLIVE, overdue, "overdue")];
    assert_eq!(told("2026-12-17"), late);
    let counts = |text, words| all(text).iter().any(|one| one.why.contains(words));
    assert!(counts(
        "2026-12-07",
        "Checks of extinguishers and detectors overdue: 0."
    ));
    assert!(counts(
        "2026-12-14",
        "Checks of extinguishers and detectors overdue: 1."
    ));
}

#[test]
fn the_week_is_told_to_who_run_the_pool_and_organisers_get_the_books_end() {
    let facts = Facts {
        book: Head {
            count: 12,
            at_ms: morning("2026-11-20").ms(),
            ..Head::EMPTY
        },
        last: Some(day("2026-11-29")),
        packs: vec![above(None, "2026-11-29")],
        ..club()
    };
    let (rules, care, zone) = (ReminderRules::default(), CareRules::default(), london());
    let at = At {
        rules: &rules,
        care: &care,
        now: morning("2026-11-30"),
        zone: &zone,
    };
    let weeks: Vec<Reminder> = decide(&facts, &at)
        .into_iter()
        .filter(|one| one.kind == Kind::Summary)
        .collect();
    assert_eq!(weeks.len(), 2);
    assert!(weeks[0].person == QUINN && !weeks[0].why.contains("incident book"));
    assert!(
        weeks[0]
            .why
            .starts_with("Packs with storage overdue: 1. Low: 0.")
    );
    assert!(weeks[1].person == OLIVE);
    assert!(
        weeks[1].why.contains(
            "End of the incident book: 12 entries, the last on Fri 20 Nov 2026 at 08:00 (2026-11-20T08:00:00Z), its seal"
        ),
        "{}",
        weeks[1].why
    );
}

#[test]
fn an_unread_report_is_told_to_quartermasters_with_the_day_it_came() {
    let facts = Facts {
        reports: vec![Unread {
            id: Uuid::from_u128(5),
            reference: "R-7".to_owned(),
            came: morning("2026-11-24"),
        }],
        ..club()
    };
    assert_eq!(on(&facts, "2026-11-25"), [(QUINN, Kind::Report, false)]);
}

#[test]
fn of_what_is_to_be_done_after_an_incident_its_owner_is_told_first_and_all_who_run_the_club_when_it_is_late()
 {
    let action = |owner, is_done| Facts {
        actions: vec![ActionDue {
            seq: 2,
            incident: "I-001".to_owned(),
            owner,
            is_done,
            by: day("2026-12-03"),
        }],
        ..club()
    };
    let (ada, quinn, olive) = (
        (ADA, Kind::Action, false),
        (QUINN, Kind::Action, false),
        (OLIVE, Kind::Action, false),
    );
    let told = |facts: &Facts, text: &str| {
        let mut all = on(facts, text);
        all.retain(|(_, kind, _)| *kind == Kind::Action);
        all
    };
    let hers = action(Some(ADA), false);
    assert_eq!(told(&hers, "2026-12-01"), []);
    assert_eq!(told(&hers, "2026-12-02"), [ada]);
    assert_eq!(told(&hers, "2026-12-03"), [ada]);
    assert_eq!(told(&hers, "2026-12-04"), [ada, quinn, olive]);
    assert_eq!(
        told(&action(Some(QUINN), false), "2026-12-04"),
        [quinn, olive]
    );
    assert_eq!(told(&action(None, false), "2026-12-03"), []);
    assert_eq!(told(&action(None, false), "2026-12-04"), [quinn, olive]);
    assert_eq!(
        told(&action(Some(ADA), true), "2026-12-02"),
        [],
        "it is done"
    );
    assert_eq!(told(&action(Some(ADA), true), "2026-12-03"), [quinn, olive]);
}

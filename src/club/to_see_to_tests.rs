//! What to see to stands in its order, and what a pack at home is told with.

use super::*;

fn due(reason: Reason, grave: Grave) -> Due {
    Due {
        reason,
        since: Instant(5),
        why: "why".to_owned(),
        next: "next".to_owned(),
        grave,
    }
}

fn stands(state: State) -> Stands<'static> {
    Stands {
        number: "P-001",
        state,
        since: Instant(1),
        why: "swollen",
        next: "outdoors",
        was_read: true,
        is_by_age: false,
        is_danger_told: false,
        danger: Dangerous::default(),
    }
}

#[test]
fn a_pack_whose_reading_grew_old_is_told_without_another_reading_and_told_once() {
    let by_age = Stands {
        is_by_age: true,
        ..stands(State::NotKnown)
    };
    let line = of_pack(&by_age, Vec::new()).expect("a line");
    assert_eq!(
        (line.matter, line.grave),
        (Matter::NotKnown, Grave::ThisWeek)
    );
    let asked = vec![due(Reason::NotLookedAt, Grave::WhenConvenient)];
    let line = of_pack(&by_age, asked.clone()).expect("a line");
    assert_eq!(line.matter, Matter::Care(Reason::NotLookedAt));
    // What else makes it not known stands, whatever is asked.
    let line = of_pack(&stands(State::NotKnown), asked).expect("a line");
    assert_eq!(line.matter, Matter::NotKnown);
}

#[test]
fn quarantine_comes_first_and_a_grave_matter_of_storage_before_what_is_set_aside() {
    let of = |state, due| of_pack(&stands(state), due).expect("a line");
    let mut lines = [
        of(State::SetAside, Vec::new()),
        of(State::Fit, vec![due(Reason::AboveBand, Grave::Today)]),
        of(State::Quarantine, Vec::new()),
        of(
            State::Fit,
            vec![due(Reason::NotLookedAt, Grave::WhenConvenient)],
        ),
    ];
    lines.sort();
    assert!(lines[0].next.starts_with("See its watch"));
    let matters: Vec<&str> = lines.iter().map(|line| line.matter.code()).collect();
    assert_eq!(
        matters,
        ["quarantine", "above_band", "set_aside", "not_looked_at"]
    );
}

#[test]
fn a_pack_has_one_line_for_all_its_storage_care() {
    let all = vec![
        due(Reason::FallsToMinimum, Grave::Today),
        due(Reason::BalanceOwed, Grave::WhenConvenient),
    ];
    let line = of_pack(&stands(State::Caution), all).expect("a line");
    assert_eq!(line.also, [Reason::BalanceOwed]);
    let new = Stands {
        was_read: false,
        ..stands(State::NotKnown)
    };
    assert_eq!(of_pack(&new, Vec::new()), None);
}

#[test]
fn a_pack_that_is_set_aside_has_one_line_with_its_own_act_and_what_makes_it_urgent() {
    let told = |grave| {
        let due = vec![due(Reason::AboveBand, grave)];
        of_pack(&stands(State::SetAside), due).expect("a line")
    };
    let calm = told(Grave::ThisWeek);
    assert_eq!(
        (calm.why.as_str(), calm.grave),
        ("swollen.", Grave::ThisWeek)
    );
    let urgent = told(Grave::Today);
    assert_eq!(
        (urgent.matter, urgent.grave),
        (Matter::SetAside, Grave::Today)
    );
    assert_eq!(
        (urgent.why.as_str(), urgent.next.as_str()),
        ("swollen. why", "outdoors")
    );
    assert_eq!(urgent.also, [Reason::AboveBand]);
}

#[test]
fn what_somebody_took_home_presses_once_its_day_is_over_and_nothing_gets_kinder() {
    let day = |text: &str| Day::parse(text).expect("a day");
    let by = day("2026-11-27");
    let told = |grave, today| {
        let line = of_pack(&stands(State::Fit), vec![due(Reason::AboveBand, grave)]);
        let home = AtHome {
            name: "Ada",
            by,
            done_since: None,
        };
        of_home("P-001", line, &home, today).expect("a line")
    };
    let in_time = told(Grave::ThisWeek, by);
    assert_eq!(in_time.grave, Grave::ThisWeek);
    assert!(
        in_time
            .why
            .ends_with("Ada has it at home, to be done by Fri 27 Nov 2026.")
    );
    let late = told(Grave::ThisWeek, day("2026-11-28"));
    assert_eq!(late.grave, Grave::Today);
    assert!(late.why.contains("was to be done by"), "{}", late.why);
    assert_eq!(told(Grave::AtOnce, day("2026-11-28")).grave, Grave::AtOnce);
}

#[test]
fn what_is_done_at_home_is_still_to_be_brought_back() {
    let day = |text: &str| Day::parse(text).expect("a day");
    let told = |line, today: &str, done_since| {
        let (name, by) = ("Ada", day("2026-11-27"));
        let home = AtHome {
            name,
            by,
            done_since,
        };
        of_home("P-001", line, &home, day(today))
    };
    assert_eq!(told(None, "2026-12-01", None), None);
    let done = told(None, "2026-11-27", Some(Instant(7))).expect("a line");
    assert_eq!(
        (done.matter, done.grave, done.since),
        (Matter::StillAtHome, Grave::WhenConvenient, Instant(7))
    );
    assert_eq!(done.why, "In its band, and at home with Ada.");
    let late = told(None, "2026-11-28", Some(Instant(7))).expect("a line");
    assert_eq!(late.grave, Grave::ThisWeek);
    let unread = vec![due(Reason::NotLookedAt, Grave::WhenConvenient)];
    let unread = of_pack(&stands(State::Fit), unread);
    let unread = told(unread, "2026-11-28", Some(Instant(7))).expect("a line");
    assert_eq!(unread.why, "why Ada has it at home still.");
    let burst = of_pack(&stands(State::Quarantine), Vec::new());
    let same = burst.clone();
    assert_eq!(told(burst, "2026-11-28", Some(Instant(7))), same);
}

#[test]
fn a_loan_is_overdue_when_its_day_has_ended_in_the_hall() {
    let zone = Zone::named("Europe/London").expect("a zone");
    let day = Day::parse("2026-11-25").expect("a day");
    let told = |now| of_loan((&["P-001", "C-01"], "Ada"), day, (now, &zone));
    assert_eq!(told(Instant(zone.end_of(day).ms() - 1)), None);
    let late = told(zone.end_of(day)).expect("overdue");
    assert_eq!(late.why, "P-001, C-01 with Ada, 1 day overdue.");
    assert_eq!(late.grave, Grave::ThisWeek);
    let later = told(zone.end_of(day).plus_days(7)).expect("overdue");
    assert_eq!(later.grave, Grave::Today);
}

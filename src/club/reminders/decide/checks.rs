//! Of the checks of what stands by at a place: some days ahead, and from its day on until the next day is noted.

use super::{At, Kind, People, Reminder, Said};
use crate::club::calendar::day_words;
use crate::club::place_checks::Check;
use crate::club::reminders::facts::CheckDue;

pub(super) fn of_check(check: &CheckDue, people: &People, at: &At) -> Vec<Reminder> {
    let left = at.today().days_until(check.due_on);
    if left > at.rules.check_days {
        return Vec::new();
    }
    let (ahead, overdue, what) = match check.check {
        Check::Extinguisher => ("extinguisher_check", "extinguisher_overdue", "Extinguisher"),
        Check::Detector => ("detector_check", "detector_overdue", "Detector"),
    };
    let (is, due) = match left {
        1.. => ("due", "Due on"),
        0 => ("due today", "Due today,"),
        _ => ("overdue", "It was due on"),
    };
    let said = Said {
        kind: Kind::Check,
        reason: if left > 0 { ahead } else { overdue },
        thing: format!("place:{}", check.place),
        due_on: check.due_on,
        title: format!("{what} check {is}: {}", check.called),
        why: format!("{due} {}.", day_words(check.due_on)),
        next: "Have it checked, then note the day of the next check at the place.".to_owned(),
        href: format!("/places/{}", check.place),
    };
    let told = match left {
        1.. => people.running_the_club(),
        _ => overdue_to(check, people, at),
    };
    told.into_iter().map(|id| said.to(id, false)).collect()
}

/// As a loan that nobody can be asked about: quartermasters at once, then organisers after the same days.
fn overdue_to(check: &CheckDue, people: &People, at: &At) -> Vec<uuid::Uuid> {
    let since = at.zone.start_of(check.due_on);
    if at.now >= since.plus_days(at.care.tightened().organiser_days) {
        people.running_the_club()
    } else {
        people.quartermasters()
    }
}

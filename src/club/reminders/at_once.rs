//! Danger that somebody reported is told at once to those who run the pool or oversee it, whatever the hour. A flood of reports makes
//! no flood of messages: what comes in the quarter of an hour after one went goes together with the next.

use super::Kind;
use super::decide::Reminder;
use super::facts::Person;
use crate::club::calendar::{Day, Instant, Zone};
use uuid::Uuid;

/// Common practice, no source: an inbox that fills by the second is read by nobody.
pub const QUARTER_MINUTES: i64 = 15;

/// Danger that was reported.
#[derive(Clone, Debug)]
pub struct Danger {
    pub report: Uuid,
    pub reference: String,
    pub pack: Option<String>,
    pub came: Instant,
    /// Who told it knows of it.
    pub by: Option<Uuid>,
}

/// Of a pack its number alone: what was seen stands on the page.
pub fn reminders(danger: &Danger, people: &[Person], zone: &Zone) -> Vec<Reminder> {
    let is_told = |person: &&Person| {
        let roles = person.roles;
        person.is_active
            && (roles.is_quartermaster || roles.is_organiser)
            && Some(person.id) != danger.by
    };
    let due_on: Day = zone.day_of(danger.came);
    let title = match &danger.pack {
        Some(number) => format!("{number}: danger reported"),
        None => "Danger reported".to_owned(),
    };
    let why = format!(
        "Report {} arrived on {} at {}.",
        danger.reference,
        zone.date_words(danger.came),
        zone.time_words(danger.came)
    );
    let told = people.iter().filter(is_told).map(|person| Reminder {
        person: person.id,
        kind: Kind::DangerReported,
        reason: "danger_reported",
        thing: format!("report:{}", danger.report),
        due_on,
        is_must: false,
        title: title.clone(),
        why: why.clone(),
        next: "Read it now, and see that nobody is near.".to_owned(),
        href: format!("/reports/{}", danger.report),
    });
    told.collect()
}

/// The latest of these messages to somebody, by whichever ways.
#[derive(Clone, Debug)]
pub struct Latest {
    /// What its reminders know it by.
    pub key: String,
    /// When it goes, or went.
    pub goes: Instant,
    /// Nobody has begun to send it by any way.
    pub is_untouched: bool,
}

#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Goes {
    /// With the one that waits already, by its key, and when that goes.
    Along(String, Instant),
    At(Instant),
}

/// By which message a danger goes that is told now.
pub fn goes(latest: Option<Latest>, now: Instant) -> Goes {
    let Some(latest) = latest else {
        return Goes::At(now);
    };
    let next = latest.goes.plus_minutes(QUARTER_MINUTES);
    // A clock that was set back must not hold it.
    let is_near = latest.goes <= now.plus_minutes(QUARTER_MINUTES);
    if !is_near || next <= now {
        Goes::At(now)
    } else if latest.is_untouched {
        Goes::Along(latest.key, latest.goes)
    } else {
        Goes::At(next)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_first_goes_now_and_what_follows_within_a_quarter_of_an_hour_goes_together() {
        let at = |minutes: i64| Instant(0).plus_minutes(minutes);
        let along = || Goes::Along("earlier".to_owned(), at(15));
        let latest = |goes, is_untouched| {
            Some(Latest {
                key: "earlier".to_owned(),
                goes: at(goes),
                is_untouched,
            })
        };
        assert_eq!(goes(None, at(0)), Goes::At(at(0)));
        assert_eq!(goes(latest(0, false), at(1)), Goes::At(at(15)));
        assert_eq!(goes(latest(15, true), at(2)), along());
        assert_eq!(goes(latest(15, true), at(14)), along());
        assert_eq!(goes(latest(15, false), at(16)), Goes::At(at(30)));
        assert_eq!(goes(latest(15, false), at(30)), Goes::At(at(30)));
        assert_eq!(goes(latest(15, false), at(31)), Goes::At(at(31)));
        assert_eq!(
            goes(latest(115, true), at(0)),
            Goes::At(at(0)),
            "the clock was set back"
        );
    }
}

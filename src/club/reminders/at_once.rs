//! Danger that somebody reported, or found on a pack, is told at once to those who run the pool or oversee it, whatever the hour. A
//! flood of reports makes no flood of messages: what comes in the quarter of an hour after one went goes together with the next.

use super::Kind;
use super::decide::Reminder;
use super::facts::Person;
use super::letter::Part;
use crate::club::calendar::{Day, Instant, Zone};
use crate::club::verdict::Gravity;
use uuid::Uuid;

/// Common practice, no source: an inbox that fills by the second is read by nobody.
pub const QUARTER_MINUTES: i64 = 15;

/// Danger that nobody was told of yet.
#[derive(Clone, Debug)]
pub struct Danger {
    /// Of the report or the finding.
    pub id: Uuid,
    pub what: What,
    /// When it came, or was found.
    pub at: Instant,
    /// Who told or found it knows of it.
    pub by: Option<Uuid>,
}

#[derive(Clone, Debug)]
pub enum What {
    Reported {
        reference: String,
        pack: Option<String>,
    },
    /// As a pack was taken back, looked at or read.
    Found { pack: String },
}

impl What {
    fn title(&self) -> String {
        match self {
            Self::Reported {
                pack: Some(pack), ..
            } => format!("{pack}: danger reported"),
            Self::Reported { pack: None, .. } => "Danger reported".to_owned(),
            Self::Found { pack } => format!("{pack}: danger found"),
        }
    }
}

/// Whether a danger that is found on a pack is told: unless the same, as grave, stands against it already. `open`: rule and gravity
/// of what does.
pub fn is_to_tell<'a>(
    (rule, gravity): (&str, Gravity),
    mut open: impl Iterator<Item = (&'a str, Gravity)>,
) -> bool {
    gravity >= Gravity::Danger && !open.any(|known| known.0 == rule && known.1 >= gravity)
}

const REPORTS: &str = "/reports";

/// The page that a phone opens for what is told together.
pub fn page(parts: &[Part]) -> &'static str {
    let mut lines = parts.iter().flat_map(|part| &part.lines);
    if lines.all(|line| line.href.starts_with(REPORTS)) {
        REPORTS
    } else {
        "/to-see-to"
    }
}

/// Of a pack its number alone: what was seen stands on the page. What is found on a pack by one act is one danger.
pub fn reminders(danger: &Danger, people: &[Person], zone: &Zone) -> Vec<Reminder> {
    let is_told = |person: &&Person| {
        let roles = person.roles;
        person.is_active
            && (roles.is_quartermaster || roles.is_organiser)
            && Some(person.id) != danger.by
    };
    let due_on: Day = zone.day_of(danger.at);
    let when = format!(
        "on {} at {}.",
        zone.date_words(danger.at),
        zone.time_words(danger.at)
    );
    let (thing, why, href) = match &danger.what {
        What::Reported { reference, .. } => (
            format!("report:{}", danger.id),
            format!("Report {reference} arrived {when}"),
            format!("{REPORTS}/{}", danger.id),
        ),
        What::Found { pack } => (
            format!("found:{pack}:{}", danger.at.ms()),
            format!("It was found {when}"),
            format!("/packs/{pack}"),
        ),
    };
    let told = people.iter().filter(is_told).map(|person| Reminder {
        person: person.id,
        kind: Kind::DangerReported,
        reason: "danger_reported",
        thing: thing.clone(),
        due_on,
        is_must: false,
        title: danger.what.title(),
        why: why.clone(),
        next: "Read it now, and make sure that nobody is near the pack.".to_owned(),
        href: href.clone(),
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
    fn the_same_danger_is_told_once_and_a_graver_or_another_one_again() {
        let stood = [
            ("swollen", Gravity::FinalDanger),
            ("over_discharged", Gravity::Danger),
        ];
        let told = |rule, gravity| is_to_tell((rule, gravity), stood.into_iter());
        assert!(!told("swollen", Gravity::Danger));
        assert!(!told("over_discharged", Gravity::Danger));
        assert!(told("over_discharged", Gravity::FinalDanger));
        assert!(told("leak", Gravity::Danger));
        assert!(!told("wrap_torn", Gravity::ToMend));
    }

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

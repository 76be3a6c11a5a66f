//! The checks of what stands by at a place: its fire extinguisher, and its smoke or heat detector. How often each is checked the
//! club's country, insurer or landlord says; the club puts down the next day. Here: which day is a slip, and when one is due.

use super::calendar::{Day, Instant, Zone};
use super::care::due::Grave;
use super::to_see_to::{Line, Matter, Pressing};

#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Check {
    Extinguisher,
    Detector,
}

impl Check {
    pub const ALL: [Self; 2] = [Self::Extinguisher, Self::Detector];

    /// Its field in the form of a place.
    pub const fn field(self) -> &'static str {
        match self {
            Self::Extinguisher => "extinguisher_check_due",
            Self::Detector => "detector_check_due",
        }
    }

    pub const fn matter(self) -> Matter {
        match self {
            Self::Extinguisher => Matter::ExtinguisherCheck,
            Self::Detector => Matter::DetectorCheck,
        }
    }

    pub(super) const fn what(self) -> &'static str {
        match self {
            Self::Extinguisher => "The fire extinguisher",
            Self::Detector => "The smoke or heat detector",
        }
    }
}

/// No check is farther ahead than an extinguisher or a detector is old when it is replaced. Common practice, no source.
const FARTHEST_YEARS: i64 = 10;

#[derive(Clone, Copy, Debug, PartialEq, Eq, thiserror::Error)]
pub enum WrongDay {
    #[error("Give the day of the next check, like 2027-05-01, or leave it empty.")]
    NoDay,
    #[error("Give a day within {FARTHEST_YEARS} years.")]
    TooFar,
}

/// A day that is past is one: the check is overdue. Nothing typed: nobody said.
pub fn read_day(typed: &str, today: Day) -> Result<Option<Day>, WrongDay> {
    if typed.is_empty() {
        return Ok(None);
    }
    let day = Day::parse(typed).ok_or(WrongDay::NoDay)?;
    if today.days_until(day) > FARTHEST_YEARS * 366 {
        return Err(WrongDay::TooFar);
    }
    Ok(Some(day))
}

/// So many days past its day a check presses. Common practice, no source.
const PRESSES_DAYS: i64 = 30;

/// None before its day.
pub fn of_check(
    check: Check,
    (place, due): (&str, Day),
    (now, zone): (Instant, &Zone),
) -> Option<Line> {
    let days = due.days_until(zone.day_of(now));
    if days < 0 {
        return None;
    }
    let when = match days {
        0 => "today".to_owned(),
        1 => "since yesterday".to_owned(),
        _ => format!("since {days} days"),
    };
    Some(Line {
        matter: check.matter(),
        grave: if days > PRESSES_DAYS {
            Grave::Today
        } else {
            Grave::ThisWeek
        },
        since: zone.start_of(due),
        number: place.to_owned(),
        why: format!("{} at {place} is due to be checked {when}.", check.what()),
        next: "Have it checked, then note the day of the next check at the place.".to_owned(),
        also: Vec::new(),
        pressing: Pressing::default(),
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    fn day(text: &str) -> Day {
        Day::parse(text).expect("a day")
    }

    #[test]
    fn a_check_is_due_from_its_day_on_in_the_hall_and_presses_after_a_month() {
        let zone = Zone::named("Europe/London").expect("a zone");
        let due = day("2026-06-15");
        let told = |now| of_check(Check::Extinguisher, ("Hall", due), (now, &zone));
        assert_eq!(told(Instant(zone.start_of(due).ms() - 1)), None);
        let on_its_day = told(zone.start_of(due)).expect("due");
        assert_eq!(on_its_day.grave, Grave::ThisWeek);
        assert_eq!(
            on_its_day.why,
            "The fire extinguisher at Hall is due to be checked today."
        );
        let month = told(zone.start_of(due.plus_days(30))).expect("due");
        assert_eq!(month.grave, Grave::ThisWeek);
        assert!(month.why.ends_with("since 30 days."), "{}", month.why);
        let longer = told(zone.start_of(due.plus_days(31))).expect("due");
        assert_eq!(longer.grave, Grave::Today);
    }

    #[test]
    fn a_day_of_a_check_may_be_past_and_is_no_slip_of_a_century() {
        let today = day("2026-11-27");
        assert_eq!(read_day("", today), Ok(None));
        assert_eq!(read_day("2025-01-31", today), Ok(Some(day("2025-01-31"))));
        assert_eq!(read_day("2036-11-27", today), Ok(Some(day("2036-11-27"))));
        assert_eq!(read_day("2126-11-27", today), Err(WrongDay::TooFar));
        assert_eq!(read_day("in May", today), Err(WrongDay::NoDay));
        assert_eq!(read_day("2027-02-29", today), Err(WrongDay::NoDay));
    }
}

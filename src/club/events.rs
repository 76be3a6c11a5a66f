//! Events: where packs of the club are taken to, from the first day to the last. What is refused of what was typed. Who keeps
//! them is said here too. Days in the hall.

use super::calendar::Day;
use super::people::Roles;

/// The longest that an event lasts, and the farthest ahead or back that one is put down. Common practice, no source.
const LONGEST_DAYS: i64 = 31;
const FARTHEST_DAYS: i64 = 730;
/// The most packs of one.
pub const MOST_PACKS: usize = 500;

#[derive(Clone, Debug, PartialEq, Eq)]
pub struct EventSheet {
    pub name: String,
    /// Where it is, in words; may be empty.
    pub place: String,
    pub first_on: Option<Day>,
    pub last_on: Option<Day>,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq, thiserror::Error)]
pub enum SheetRefusal {
    #[error("Give the event a name of 2 to 80 letters.")]
    Name,
    #[error("Say where in at most 120 letters.")]
    Place,
    #[error("Give its first day.")]
    FirstDay,
    #[error("Give its last day.")]
    LastDay,
    #[error("Its last day is not before its first.")]
    Backwards,
    #[error("An event lasts {LONGEST_DAYS} days at most.")]
    TooLong,
    #[error("Choose a day within two years.")]
    TooFar,
}

impl SheetRefusal {
    pub const fn field(self) -> &'static str {
        match self {
            Self::Name => "name",
            Self::Place => "place",
            Self::FirstDay | Self::TooFar => "first_on",
            Self::LastDay | Self::Backwards | Self::TooLong => "last_on",
        }
    }
}

/// A sheet that holds: name and place in one line each, and its days.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Checked {
    pub name: String,
    pub place: String,
    pub first_on: Day,
    pub last_on: Day,
}

impl EventSheet {
    /// All that is wrong, in the order of the form.
    pub fn checked(&self, today: Day) -> Result<Checked, Vec<SheetRefusal>> {
        let (name, place) = (one_line(&self.name), one_line(&self.place));
        let mut wrong = Vec::new();
        if !(2..=80).contains(&name.chars().count()) {
            wrong.push(SheetRefusal::Name);
        }
        if place.chars().count() > 120 {
            wrong.push(SheetRefusal::Place);
        }
        let days = match (self.first_on, self.last_on) {
            (Some(first), Some(last)) => days(first, last, today).map_err(|one| vec![one]),
            (first, last) => {
                let none = [
                    first.is_none().then_some(SheetRefusal::FirstDay),
                    last.is_none().then_some(SheetRefusal::LastDay),
                ];
                Err(none.into_iter().flatten().collect())
            }
        };
        match days {
            Ok((first_on, last_on)) if wrong.is_empty() => Ok(Checked {
                name,
                place,
                first_on,
                last_on,
            }),
            Ok(_) => Err(wrong),
            Err(more) => Err([wrong, more].concat()),
        }
    }
}

fn days(first: Day, last: Day, today: Day) -> Result<(Day, Day), SheetRefusal> {
    match first.days_until(last) {
        ..0 => Err(SheetRefusal::Backwards),
        LONGEST_DAYS.. => Err(SheetRefusal::TooLong),
        _ if today.days_until(first).abs() > FARTHEST_DAYS => Err(SheetRefusal::TooFar),
        _ => Ok((first, last)),
    }
}

fn one_line(text: &str) -> String {
    text.split_whitespace().collect::<Vec<_>>().join(" ")
}

/// Organisers and quartermasters make, change and end events.
pub const fn may_keep(roles: Roles) -> bool {
    roles.is_quartermaster || roles.is_organiser
}

#[cfg(test)]
mod tests {
    use super::*;

    fn day(text: &str) -> Option<Day> {
        Day::parse(text)
    }

    fn sheet(first: &str, last: &str) -> EventSheet {
        EventSheet {
            name: " Autumn\n Bouts ".to_owned(),
            place: "Town hall".to_owned(),
            first_on: day(first),
            last_on: day(last),
        }
    }

    fn check(sheet: &EventSheet) -> Result<Checked, Vec<SheetRefusal>> {
        sheet.checked(day("2026-11-25").expect("a day"))
    }

    #[test]
    fn an_event_has_a_name_and_days_in_their_order() {
        let held = check(&sheet("2026-11-28", "2026-11-29")).expect("it holds");
        assert_eq!(held.name, "Autumn Bouts");
        assert_eq!(
            check(&sheet("2026-11-29", "2026-11-28")),
            Err(vec![SheetRefusal::Backwards])
        );
        assert!(check(&sheet("2026-11-01", "2026-12-01")).is_ok());
        assert_eq!(
            check(&sheet("2026-11-01", "2026-12-02")),
            Err(vec![SheetRefusal::TooLong])
        );
        assert_eq!(
            check(&sheet("2029-11-01", "2029-11-02")),
            Err(vec![SheetRefusal::TooFar])
        );
    }

    #[test]
    fn all_that_is_missing_is_said_at_once() {
        let empty = EventSheet {
            name: "x".to_owned(),
            place: "y".repeat(121),
            first_on: None,
            last_on: None,
        };
        let wrong = check(&empty).expect_err("refused");
        let fields: Vec<&str> = wrong.into_iter().map(SheetRefusal::field).collect();
        assert_eq!(fields, ["name", "place", "first_on", "last_on"]);
    }
}

//! What of the pool needs a person now: one line for a pack or a loan, with its one next act, the most dangerous first. What storage
//! care is due is `care::due`; here it stands in one order with what is in quarantine, set aside, unchecked or overdue.

use super::calendar::{Day, Instant, Zone, day_words};
use super::care::due::{Due, Grave, Reason};
use super::states::State;

mod danger;
pub use danger::{Dangerous, END_ITS_CHARGE, Pressing};

/// As they stand where all else is equal: the most dangerous first.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Matter {
    Quarantine,
    /// Danger stands against it, and it was not disposed of.
    RetiredDanger,
    /// Of what is no pack of the club, and nobody looked.
    DangerTold,
    /// It was to be done, and nobody ended it.
    ChargePastTime,
    /// A charge goes on with it.
    KitSetAside,
    Care(Reason),
    /// Danger stands against it, and nobody knows where it is.
    LostDanger,
    /// A place that holds more energy than it may.
    OverFull,
    SetAside,
    /// Came back and nobody looked, or could not be read.
    NotKnown,
    LoanOverdue,
    /// What stands by at a place.
    ExtinguisherCheck,
    DetectorCheck,
    KitToMend,
    /// It came back and nobody looked.
    KitUnchecked,
    /// A storage round that nobody closed yet.
    OpenRound,
    /// After an incident something is to be done, or to be looked at.
    IncidentAction,
    /// Somebody took it home to put it to storage; that is done, and it is still there.
    StillAtHome,
}

impl Matter {
    pub fn all() -> impl Iterator<Item = Self> {
        let others = [
            Self::Quarantine,
            Self::RetiredDanger,
            Self::DangerTold,
            Self::ChargePastTime,
            Self::KitSetAside,
            Self::LostDanger,
            Self::OverFull,
            Self::SetAside,
            Self::NotKnown,
            Self::LoanOverdue,
            Self::ExtinguisherCheck,
            Self::DetectorCheck,
            Self::KitToMend,
            Self::KitUnchecked,
            Self::OpenRound,
            Self::IncidentAction,
            Self::StillAtHome,
        ];
        others.into_iter().chain(Reason::ALL.map(Self::Care))
    }

    pub const fn label(self) -> &'static str {
        match self {
            Self::Quarantine => "In quarantine",
            Self::RetiredDanger => "Retired, dangerous",
            Self::LostDanger => "Lost, dangerous",
            Self::KitSetAside => "Charges with kit set aside",
            Self::DangerTold => "Danger told",
            Self::Care(reason) => reason.label(),
            Self::SetAside => "Set aside",
            Self::NotKnown => "Not known",
            Self::LoanOverdue => "Loan overdue",
            Self::ExtinguisherCheck => "Extinguisher check",
            Self::DetectorCheck => "Detector check",
            Self::ChargePastTime => "Charge past its time",
            Self::OverFull => "Over its energy limit",
            Self::KitToMend => "Kit to mend",
            Self::KitUnchecked => "Kit not looked over",
            Self::OpenRound => "Storage round open",
            Self::IncidentAction => "Action after an incident",
            Self::StillAtHome => "Still at home",
        }
    }

    /// The word that programs read; never changes.
    pub const fn code(self) -> &'static str {
        match self {
            Self::Quarantine => "quarantine",
            Self::RetiredDanger => "retired_dangerous",
            Self::LostDanger => "lost_dangerous",
            Self::KitSetAside => "charger_set_aside",
            Self::DangerTold => "danger_told",
            Self::Care(reason) => reason.code(),
            Self::SetAside => "set_aside",
            Self::NotKnown => "not_known",
            Self::LoanOverdue => "loan_overdue",
            Self::ExtinguisherCheck => "extinguisher_check",
            Self::DetectorCheck => "detector_check",
            Self::ChargePastTime => "charge_past_time",
            Self::OverFull => "over_full",
            Self::KitToMend => "kit_to_mend",
            Self::KitUnchecked => "kit_unchecked",
            Self::OpenRound => "open_round",
            Self::IncidentAction => "incident_action",
            Self::StillAtHome => "still_at_home",
        }
    }
}

/// The least comes first: the gravest, of those what presses most, then by matter, then what has stood longest, then by number.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Line {
    pub matter: Matter,
    pub grave: Grave,
    pub pressing: Pressing,
    pub since: Instant,
    /// Of a pack; of a loan the first of its things; of a place its name; of an action its incident; of danger told its report.
    pub number: String,
    pub why: String,
    pub next: String,
    /// What else is due for the pack.
    pub also: Vec<Reason>,
}

impl Line {
    fn place(&self) -> impl Ord {
        let gravest_first = std::cmp::Reverse(self.grave);
        (
            gravest_first,
            self.pressing,
            self.matter,
            self.since,
            &self.number,
            &self.why,
        )
    }
}

impl Ord for Line {
    fn cmp(&self, other: &Self) -> std::cmp::Ordering {
        self.place().cmp(&other.place())
    }
}

impl PartialOrd for Line {
    fn partial_cmp(&self, other: &Self) -> Option<std::cmp::Ordering> {
        Some(self.cmp(other))
    }
}

/// A pack's state as it is now, with its words.
pub struct Stands<'a> {
    pub number: &'a str,
    pub state: State,
    pub since: Instant,
    pub why: &'a str,
    pub next: &'a str,
    pub was_read: bool,
    /// It is not known since its reading is old, and for nothing else: that comes by waiting.
    pub is_by_age: bool,
    /// A stranger told of danger that did no more than set it aside, and nobody has looked.
    pub is_danger_told: bool,
    /// Of a pack against which danger stands.
    pub danger: Dangerous<'a>,
}

fn is_asked_to_read(due: &[Due]) -> bool {
    due.iter().any(|due| due.reason == Reason::NotLookedAt)
}

/// Of one pack: what its state asks for, else what storage care does. Its state's act comes first, whatever else is due: what makes
/// that urgent is said with it.
pub fn of_pack(stands: &Stands<'_>, due: Vec<Due>) -> Option<Line> {
    if let Some((matter, grave, next)) = danger::of_state(stands.state, &stands.danger) {
        let line = line(stands, (matter, grave), next);
        let with = match of_care(stands.number, due) {
            Some(care) => with_care(line, care),
            None => line,
        };
        return Some(danger::placed(with, &stands.danger));
    }
    let by_state = match stands.state {
        State::SetAside if stands.is_danger_told => Some((Matter::SetAside, Grave::AtOnce)),
        State::SetAside => Some((Matter::SetAside, Grave::ThisWeek)),
        // A pack that nobody ever read has its first check due.
        // One that is not known by age alone is told once: where storage care asks for a reading already, by that.
        State::NotKnown if stands.was_read && !(stands.is_by_age && is_asked_to_read(&due)) => {
            Some((Matter::NotKnown, Grave::ThisWeek))
        }
        _ => None,
    };
    let by_state = by_state.map(|matter| line(stands, matter, stands.next));
    match (by_state, of_care(stands.number, due)) {
        (Some(by_state), Some(care)) => Some(with_care(by_state, care)),
        (by_state, care) => by_state.or(care),
    }
}

fn line(stands: &Stands<'_>, (matter, grave): (Matter, Grave), next: &str) -> Line {
    Line {
        matter,
        grave,
        pressing: Pressing::Other,
        since: stands.since,
        number: stands.number.to_owned(),
        why: sentence(stands.why),
        next: next.to_owned(),
        also: Vec::new(),
    }
}

fn with_care(by_state: Line, care: Line) -> Line {
    let why = if care.grave > by_state.grave {
        format!("{} {}", by_state.why, care.why)
    } else {
        by_state.why
    };
    let reason = match care.matter {
        Matter::Care(reason) => Some(reason),
        _ => None,
    };
    Line {
        why,
        grave: by_state.grave.max(care.grave),
        also: reason.into_iter().chain(care.also).collect(),
        ..by_state
    }
}

/// With a full stop: a person's own words may have none.
pub(super) fn sentence(words: &str) -> String {
    let is_ended = words.is_empty() || words.ends_with(['.', '!', '?', '…']);
    format!("{words}{}", if is_ended { "" } else { "." })
}

/// The gravest leads, since one act often does for all.
fn of_care(number: &str, due: Vec<Due>) -> Option<Line> {
    let mut all = due.into_iter();
    let first = all.next()?;
    Some(Line {
        matter: Matter::Care(first.reason),
        grave: first.grave,
        since: first.since,
        number: number.to_owned(),
        why: first.why,
        next: first.next,
        also: all.map(|due| due.reason).collect(),
        pressing: Pressing::Other,
    })
}

/// A pack that somebody took home to put to storage, by a day.
pub struct AtHome<'a> {
    pub name: &'a str,
    pub by: Day,
    /// Since when it is in its band; None: it is not, or nobody knows.
    pub done_since: Option<Instant>,
}

/// With who has it there: past its day it presses, and nothing gets kinder by it. Once it is in its band again it is still to be
/// brought back, whatever else is due for it or nothing.
pub fn of_home(number: &str, line: Option<Line>, home: &AtHome<'_>, today: Day) -> Option<Line> {
    let is_over = home.by < today;
    let (name, by) = (home.name, day_words(home.by));
    let (told, late) = match home.done_since {
        Some(_) => (format!("{name} has it at home still."), Grave::ThisWeek),
        None => {
            let was = if is_over { "was to be" } else { "to be" };
            let told = format!("{name} has it at home, {was} done by {by}.");
            (told, Grave::Today)
        }
    };
    let with = |line: Line| Line {
        why: format!("{} {told}", line.why),
        grave: if is_over {
            line.grave.max(late)
        } else {
            line.grave
        },
        ..line
    };
    match (line, home.done_since) {
        (Some(line), _) => {
            let is_for_care = matches!(line.matter, Matter::Care(_)) || !line.also.is_empty();
            Some(if is_for_care { with(line) } else { line })
        }
        (None, Some(since)) => Some(Line {
            matter: Matter::StillAtHome,
            grave: if is_over {
                Grave::ThisWeek
            } else {
                Grave::WhenConvenient
            },
            since,
            number: number.to_owned(),
            why: format!("In its band, and at home with {name}."),
            next: "Ask for it; once it is here, say at which place it lies.".to_owned(),
            also: Vec::new(),
            pressing: Pressing::Other,
        }),
        (None, None) => None,
    }
}

/// So many days overdue a loan presses: common practice, no source.
pub const PRESSES_DAYS: i64 = 7;

/// `things`: what is out on it. None before it is overdue.
pub fn of_loan(
    (things, borrower): (&[&str], &str),
    due: Day,
    (now, zone): (Instant, &Zone),
) -> Option<Line> {
    let since = zone.end_of(due);
    let days = due.days_until(zone.day_of(now));
    if since > now {
        return None;
    }
    Some(Line {
        matter: Matter::LoanOverdue,
        grave: if days > PRESSES_DAYS {
            Grave::Today
        } else {
            Grave::ThisWeek
        },
        since,
        number: (*things.first()?).to_owned(),
        why: format!(
            "{} with {borrower}, {} overdue.",
            things.join(", "),
            if days == 1 {
                "1 day".to_owned()
            } else {
                format!("{days} days")
            }
        ),
        next: "Ask for it, then take it back or extend the loan.".to_owned(),
        also: Vec::new(),
        pressing: Pressing::Other,
    })
}

#[cfg(test)]
#[path = "to_see_to_tests.rs"]
mod tests;

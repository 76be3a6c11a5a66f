//! What is due for a pack: each with its stored code, since when, why in a sentence with figures, the one next act and how grave
//! it is; and the order in which a quartermaster sees them. What each reason asks is in `reasons`, who is chased in `chased`.
//! Nothing gets kinder by waiting. A pack in quarantine, retired or gone is not looked after: the verdict's own act stands.

use super::kept::Kept;
use super::reasons::{self, Before};
use super::rules::CareRules;
use super::story::{Lying, Story};
use crate::club::calendar::{Instant, Zone};
use crate::club::states::State;

/// As they stand in the order where all else is equal: the most dangerous first.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Reason {
    FallsToMinimum,
    AboveBand,
    EventOver,
    BackNotStored,
    /// Lead, which is kept full.
    NotFull,
    NickelLow,
    FirstCheck,
    NotLookedAt,
    BalanceOwed,
}

impl Reason {
    pub const ALL: [Self; 9] = [
        Self::FallsToMinimum,
        Self::AboveBand,
        Self::EventOver,
        Self::BackNotStored,
        Self::NotFull,
        Self::NickelLow,
        Self::FirstCheck,
        Self::NotLookedAt,
        Self::BalanceOwed,
    ];

    /// The word that is stored; never changes.
    pub const fn code(self) -> &'static str {
        match self {
            Self::FallsToMinimum => "falls_to_minimum",
            Self::AboveBand => "above_band",
            Self::EventOver => "event_over",
            Self::BackNotStored => "back_not_stored",
            Self::NotFull => "not_full",
            Self::NickelLow => "nickel_low",
            Self::FirstCheck => "first_check",
            Self::NotLookedAt => "not_looked_at",
            Self::BalanceOwed => "balance_owed",
        }
    }

    pub fn from_code(code: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|each| each.code() == code)
    }

    pub const fn label(self) -> &'static str {
        match self {
            Self::FallsToMinimum => "Falls to its minimum",
            Self::AboveBand => "Above its storage band",
            Self::EventOver => "Charged, and the event is over",
            Self::BackNotStored => "Not put to storage",
            Self::NotFull => "Not full",
            Self::NickelLow => "Nearly empty",
            Self::FirstCheck => "First check",
            Self::NotLookedAt => "Not looked at",
            Self::BalanceOwed => "Balance owed",
        }
    }

    /// Whoever has the pack left it so: what makes storage care overdue.
    pub const fn is_storage_care(self) -> bool {
        matches!(
            self,
            Self::FallsToMinimum
                | Self::AboveBand
                | Self::EventOver
                | Self::BackNotStored
                | Self::NotFull
                | Self::NickelLow
        )
    }
}

/// Rising.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Grave {
    WhenConvenient,
    ThisWeek,
    Today,
    AtOnce,
}

impl Grave {
    pub const ALL: [Self; 4] = [
        Self::WhenConvenient,
        Self::ThisWeek,
        Self::Today,
        Self::AtOnce,
    ];

    pub const fn code(self) -> &'static str {
        match self {
            Self::WhenConvenient => "when_convenient",
            Self::ThisWeek => "this_week",
            Self::Today => "today",
            Self::AtOnce => "at_once",
        }
    }

    pub const fn label(self) -> &'static str {
        match self {
            Self::WhenConvenient => "When convenient",
            Self::ThisWeek => "This week",
            Self::Today => "Today",
            Self::AtOnce => "At once",
        }
    }
}

#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Due {
    pub reason: Reason,
    /// When it became due.
    pub since: Instant,
    pub why: String,
    pub next: String,
    pub grave: Grave,
}

/// An event that a pack was taken to, or charged for.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Event {
    pub name: String,
    /// The end of its last day in the hall.
    pub ends: Instant,
}

/// A pack as it stands. `kept`: as `Kept::after` tells it of this story.
#[derive(Clone, Debug)]
pub struct OnRecord {
    pub state: State,
    /// Why it has that state, and what is done about it: as its page says them.
    pub state_why: String,
    pub state_next: String,
    pub lying: Lying,
    pub story: Story,
    pub kept: Kept,
    /// The latest.
    pub event: Option<Event>,
    pub balance_owed_since: Option<Instant>,
    pub added: Instant,
    pub is_first_check_done: bool,
    /// On a loan, or at an event that goes on.
    pub is_out: bool,
}

/// All that is due by now, gravest first.
pub fn due(pack: &OnRecord, rules: &CareRules, now: Instant, zone: &Zone) -> Vec<Due> {
    if pack.state.goes_to_nobody() {
        return Vec::new();
    }
    let before = Before::new(pack, rules, now, zone);
    let mut all: Vec<Due> = reasons::ALL.iter().filter_map(|of| of(&before)).collect();
    let is_due = |reason: Reason| all.iter().any(|due| due.reason == reason);
    // The same act is asked for once, as urgently as the graver asks and for as long as the first does.
    let (is_above, is_new) = (is_due(Reason::AboveBand), is_due(Reason::FirstCheck));
    let is_told_by = |reason: Reason| match reason {
        Reason::EventOver | Reason::BackNotStored => is_above.then_some(Reason::AboveBand),
        Reason::NotLookedAt => is_new.then_some(Reason::FirstCheck),
        _ => None,
    };
    let told_otherwise: Vec<(Reason, Due)> = all
        .iter()
        .filter_map(|due| Some((is_told_by(due.reason)?, due.clone())))
        .collect();
    all.retain(|due| is_told_by(due.reason).is_none());
    for due in &mut all {
        for (_, other) in told_otherwise.iter().filter(|(by, _)| *by == due.reason) {
            due.grave = due.grave.max(other.grave);
            if other.since < due.since {
                due.since = other.since;
                due.why = format!("{}{}", due.why, since_when(other.reason, pack));
            }
        }
    }
    // What may be at its minimum is measured before anybody connects it to a charger, whatever else it is due for.
    let falls = all.iter().find(|due| due.reason == Reason::FallsToMinimum);
    if let Some(measured_first) = falls.map(|due| due.next.clone()) {
        for due in &mut all {
            due.next.clone_from(&measured_first);
        }
    }
    all.sort_by_key(|due| (std::cmp::Reverse(due.grave), due.since, due.reason));
    all.into_iter().map(|due| as_it_stands(due, pack)).collect()
}

/// Why it is due for longer than its words of days say.
fn since_when(earlier: Reason, pack: &OnRecord) -> String {
    match (earlier, &pack.event) {
        (Reason::EventOver, Some(event)) => format!(" It is due since {} was over.", event.name),
        (Reason::BackNotStored, _) => " It is due since it was back.".to_owned(),
        _ => String::new(),
    }
}

/// Nobody is told to connect a pack that gets no charger settings: however urgent its storage is, the act of its state stands. To
/// look at it and read it is the act of one that is new.
fn as_it_stands(due: Due, pack: &OnRecord) -> Due {
    let only_looks = due.reason == Reason::FirstCheck && pack.state == State::NotKnown;
    if pack.state.shows_settings() || only_looks {
        return due;
    }
    let next = match pack.state_next.as_str() {
        "" => "Don't connect it. Ask a quartermaster.",
        next => next,
    };
    Due {
        next: next.to_owned(),
        ..due
    }
}

/// A line of the page of what to see to. The least comes first: the gravest, then what has been due longest, then by reason
/// and number. Of two that differ in anything one comes first.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct ToSeeTo {
    pub number: String,
    pub due: Due,
}

impl ToSeeTo {
    fn place(&self) -> impl Ord {
        let Due {
            reason,
            since,
            why,
            next,
            grave,
        } = &self.due;
        let gravest_first = std::cmp::Reverse(*grave);
        (gravest_first, *since, *reason, &self.number, why, next)
    }
}

impl Ord for ToSeeTo {
    fn cmp(&self, other: &Self) -> std::cmp::Ordering {
        self.place().cmp(&other.place())
    }
}

impl PartialOrd for ToSeeTo {
    fn partial_cmp(&self, other: &Self) -> Option<std::cmp::Ordering> {
        Some(self.cmp(other))
    }
}

#[cfg(test)]
#[path = "due_tests.rs"]
mod tests;

//! Who is reminded of what, on which day. `decide` makes a day's reminders of `facts`: what storage care, loans, inductions, places,
//! reports and the incident book tell; `at_once` is of danger that waits for no day; `rules` is what a club sets, `choice` what a person does, `quiet` when nothing is sent; `letter` is a mail
//! in words, `push` what stands on a phone, `retry` when what did not go out goes again. Each rule stands in words in [`RULES`], which the page of help shows.
//! Days are the hall's. How anything is sent is left to others.

pub mod at_once;
pub mod choice;
pub mod decide;
pub mod facts;
pub mod letter;
pub mod push;
pub mod quiet;
pub mod retry;
pub mod rules;

use super::care::due::Reason;

/// What a person may choose by. In the order of a mail.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Kind {
    DangerReported,
    StorageOverdue,
    Low,
    LoanOverdue,
    Recheck,
    LoanDueSoon,
    Induction,
    Check,
    Action,
    Report,
    Summary,
}

impl Kind {
    pub const ALL: [Self; 11] = [
        Self::DangerReported,
        Self::StorageOverdue,
        Self::Low,
        Self::LoanOverdue,
        Self::Recheck,
        Self::LoanDueSoon,
        Self::Induction,
        Self::Check,
        Self::Action,
        Self::Report,
        Self::Summary,
    ];

    /// The word that is stored; never changes.
    pub const fn code(self) -> &'static str {
        match self {
            Self::DangerReported => "danger_reported",
            Self::StorageOverdue => "storage_overdue",
            Self::Low => "low",
            Self::LoanOverdue => "loan_overdue",
            Self::Recheck => "recheck",
            Self::LoanDueSoon => "loan_due_soon",
            Self::Induction => "induction",
            Self::Check => "check",
            Self::Action => "action",
            Self::Report => "report",
            Self::Summary => "summary",
        }
    }

    pub const fn label(self) -> &'static str {
        match self {
            Self::DangerReported => "Danger reported or found",
            Self::StorageOverdue => "Storage overdue",
            Self::Low => "Low",
            Self::LoanOverdue => "Loan overdue",
            Self::Recheck => "Volts to read",
            Self::LoanDueSoon => "Loan due soon",
            Self::Induction => "Induction running out",
            Self::Check => "Extinguisher or detector check due",
            Self::Action => "To do after an incident",
            Self::Report => "Report that arrived",
            Self::Summary => "Weekly summary",
        }
    }

    pub fn from_code(code: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|each| each.code() == code)
    }

    /// A calendar has it: it is of a day of somebody's own, or of a place.
    pub const fn is_dated(self) -> bool {
        matches!(
            self,
            Self::StorageOverdue
                | Self::Low
                | Self::Recheck
                | Self::LoanDueSoon
                | Self::Induction
                | Self::Check
        )
    }

    /// None: nobody is reminded of it by itself, the weekly summary counts it.
    pub const fn of_care(reason: Reason) -> Option<Self> {
        match reason {
            Reason::AboveBand | Reason::EventOver | Reason::BackNotStored => {
                Some(Self::StorageOverdue)
            }
            Reason::FallsToMinimum | Reason::NotFull | Reason::NickelLow => Some(Self::Low),
            Reason::FirstCheck | Reason::NotLookedAt => Some(Self::Recheck),
            Reason::BalanceOwed => None,
        }
    }
}

/// The rules in words, as the page of help shows them.
pub const RULES: [&str; 16] = [
    "Once a day, at the club's hour in the hall's time, Sandbucket looks at what is due and decides who is reminded. If it was not running at that hour, it decides as soon as it runs again. A day is decided once.",
    "A reminder has a reason, a thing, a person and a due day. It comes once, on the first day that is decided when the person is to be chased. When the due day changes, as when a loan is extended, it is another reminder. What could not be mailed, without a mail server or an address that works, is told on the first day that is decided once it can be, if it is still due.",
    "Storage overdue: a pack lies above its storage band for longer than the club's table lets it, or its event is over and it is still above, or it came back and was not put to storage for the club's days. What comes from an event, is on a storage round, or was brought from above its band to under it, is due as soon as it is read outside of its band. A pack is back from an event when the event is over; on its last day from when its loan was taken back or it was read as just used.",
    "Low: a pack falls to its minimum within the days that the club sets, lead is not full, or NiMH is nearly empty.",
    "Volts to read: a pack was not read for as long as the club lets it, or is new and was never checked.",
    "Who has the pack, on loan or at home, is told first, and who answers for them. Quartermasters are told too when it has been due for the club's days, or when it is dangerous; then organisers. Of a pack that nobody has quartermasters are told at once.",
    "Loan due soon: the borrower, and who answers for them, so many days before the last day. Loan overdue: the same people from the day after the last day, then quartermasters, then organisers, after the days of storage care.",
    "Induction running out: the person, and who answers for them, so many days before its last day.",
    "Extinguisher or detector check due: quartermasters and organisers, so many days before the day that stands at the place. Of one that was not noted since, quartermasters again from its day on, then organisers, after the days of storage care.",
    "To do after an incident: whose action it is, as many days before its day as of a loan; they, quartermasters and organisers from the day after, while it is not done. On the day on which one looks whether it works, quartermasters and organisers.",
    "Danger reported, or found as a pack is taken back, looked at or read: quartermasters and organisers, and who stays with a charge of the pack, but not who reported or found it, within seconds and at any hour, quiet hours too. The same danger of a pack is told once. Where what a pack charges with is set aside, who stays with the charge is told so, once. What arrives in the quarter of an hour after such a message goes together with the next.",
    "Report that arrived: quartermasters, on the next day that is decided while nobody has read it. Each page tells at once that there is one.",
    "Weekly summary: quartermasters and organisers, once a week. For organisers it carries the end of the incident book: how many entries, the seal of the last one and its time.",
    "One mail gathers all reminders of a person and day. What is due for one pack stands in one place. It goes at the club's hour, or when the person's quiet hours end, however late it is.",
    "Each person chooses what they get and how. What somebody has, or answers for, and must put right comes by mail whatever they chose, also when they get it after they were told and had silenced it.",
    "A new address is asked about by a mail with a link. Until its reader says that it is theirs, nothing goes there but what its person must put right and danger just reported or found. Of one that was kept while no mail server was set its person sends the link from Your reminders, once there is a server.",
];

#[cfg(test)]
mod decide_tests;

//! What a day's reminders are decided by: people, what is due for packs, what is out, checks of places, what is to be done after
//! incidents, reports that nobody read, the end of the incident book. As it stands now; gathering it is left to others.

use crate::club::book::chain::Head;
use crate::club::calendar::{Day, Instant, day_words};
use crate::club::care::chased::Holder;
use crate::club::care::due::Due;
use crate::club::people::Roles;
use crate::club::place_checks::Check;
use uuid::Uuid;

/// Somebody of the club. `ends`: the last day of their latest induction.
#[derive(Clone, Debug)]
pub struct Person {
    pub id: Uuid,
    pub roles: Roles,
    pub is_active: bool,
    pub answers: Option<Uuid>,
    pub ends: Option<Day>,
}

/// Where a pack is, without a name: that must go with an erased person.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Whereabouts {
    Here,
    /// To be put to storage by that day.
    AtHome(Day),
    /// That is done, and it is still there.
    StillAtHome,
    OnLoan(Day),
}

impl Whereabouts {
    /// `It is at home, to be done by Sun 29 Nov 2026. `, before what is said of it; nothing of one that is here.
    pub fn words(self, today: Day) -> String {
        match self {
            Self::Here => String::new(),
            Self::AtHome(by) if by < today => {
                format!("It is at home, and was to be done by {}. ", day_words(by))
            }
            Self::AtHome(by) => format!("It is at home, to be done by {}. ", day_words(by)),
            Self::StillAtHome => "It is still at home, and is to be brought back. ".to_owned(),
            Self::OnLoan(due) if due < today => {
                format!("It is on loan, and was due back on {}. ", day_words(due))
            }
            Self::OnLoan(due) => format!("It is on loan until {}. ", day_words(due)),
        }
    }
}

/// What is due for a pack, as `care::due` tells it, and who has it.
#[derive(Clone, Debug)]
pub struct PackDue {
    pub number: String,
    pub whereabouts: Whereabouts,
    pub holder: Option<Holder>,
    pub due: Vec<Due>,
}

/// What is out on one loan.
#[derive(Clone, Debug)]
pub struct LoanOut {
    pub id: Uuid,
    pub borrower: Uuid,
    pub due_on: Day,
    pub things: Vec<String>,
}

/// A check that is due at a place.
#[derive(Clone, Debug)]
pub struct CheckDue {
    pub place: Uuid,
    pub called: String,
    pub check: Check,
    pub due_on: Day,
}

/// What is to be done after an incident, or looked at once it was done.
#[derive(Clone, Debug)]
pub struct ActionDue {
    pub seq: i64,
    pub incident: String,
    /// None: nobody of the list of people alone is named as who sees to it.
    pub owner: Option<Uuid>,
    pub is_done: bool,
    /// When it is done, or looked at.
    pub by: Day,
}

/// A report that nobody has read.
#[derive(Clone, Debug)]
pub struct Unread {
    pub id: Uuid,
    pub reference: String,
    pub came: Instant,
}

/// All that a day is decided by.
#[derive(Clone, Debug)]
pub struct Facts {
    pub people: Vec<Person>,
    pub packs: Vec<PackDue>,
    pub loans: Vec<LoanOut>,
    pub checks: Vec<CheckDue>,
    pub actions: Vec<ActionDue>,
    pub reports: Vec<Unread>,
    pub book: Head,
    /// The last day that was decided.
    pub last: Option<Day>,
}

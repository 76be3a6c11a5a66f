//! What is on record of a pack since somebody last read it, and how it lies. Only the latest reading and what came after it:
//! so that a belief costs the same however many readings lie behind. mV, mAh, degrees Celsius.

use crate::battery::limits::CellLimits;
use crate::battery::pack::Build;
use crate::battery::range::Range;
use crate::battery::volts::Volts;
use crate::club::calendar::Instant;
use crate::club::charging::Outcome;
use crate::club::limits::ClubLimits;
use crate::club::reading::Rested;

/// Where nobody said how warm a place is: a room, as the tables of self-discharge have it.
pub const ROOM_CELSIUS: i64 = 20;

/// A pack and the place where it lies.
#[derive(Clone, Copy, Debug)]
pub struct Lying {
    pub build: Build,
    pub limits: CellLimits,
    /// None where nobody said, as with whoever has it.
    pub celsius: Option<i64>,
    /// Percent of its charge a month, where its own readings told it.
    pub loses_percent_a_month: Option<Range>,
}

impl Lying {
    pub fn of(build: Build, club: &ClubLimits, celsius: Option<i64>) -> Self {
        Self {
            build,
            limits: club.tightened().of_cell(&build),
            celsius,
            loses_percent_a_month: None,
        }
    }

    pub fn celsius(&self) -> i64 {
        self.celsius.unwrap_or(ROOM_CELSIUS)
    }
}

#[derive(Clone, Debug, PartialEq, Eq)]
pub struct LastRead {
    pub at: Instant,
    pub volts: Volts,
    pub rested: Rested,
}

/// `since`: what came after the reading, oldest first; all that is on record where there is none.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Story {
    pub read: Option<LastRead>,
    pub since: Vec<Dated>,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Dated {
    pub at: Instant,
    pub what: What,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum What {
    Charged(Charge),
    Lent,
    TakenToEvent,
    /// From a loan, and nobody read its volts then: those make a new story.
    CameBack,
    /// The event that it was taken to is over.
    BackFromEvent,
    /// To be read and put to storage.
    PutOnRound,
    /// A charge runs on it that should not be done yet.
    OnCharger,
}

/// A charge or discharge that ended, as it was recorded.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Charge {
    pub toward: Toward,
    pub end: Outcome,
    /// Into the pack; else out of it.
    pub is_charge: bool,
    /// None where nobody noted it.
    pub moved_mah: Option<i64>,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Toward {
    Full,
    Storage,
    Empty,
}

impl Charge {
    /// The charger said that it got there.
    pub fn reached(&self) -> Option<Toward> {
        (self.end == Outcome::Finished).then_some(self.toward)
    }
}

//! Why a charge is not started, read back or ended.

use super::{MOST_LETTERS, MOST_MAH};
use crate::actions::once::Repeat;
use crate::bench::form::{Against, Refusal};
use crate::club::charging::{NoSettings, TooMuchForTime};
use crate::club::hand_over::HandOverRefusal;
use crate::club::reading::asked_first::AskedFirst;
use crate::store::StoreError;

#[derive(Debug, thiserror::Error)]
pub enum ChargeRefusal {
    #[error("There is no such pack.")]
    NoPack,
    #[error(transparent)]
    NoSettings(#[from] NoSettings),
    #[error(
        "It came from use less than 15 minutes ago: let it lie, or measure how warm the pack itself is and say so."
    )]
    StraightFromUse,
    #[error("Since you looked, something changed: this is the plan now. Read it before you start.")]
    Changed,
    #[error(
        "Nobody would be there when it ends: ask again with more time, or for another charger."
    )]
    NobodyThere,
    #[error("Only a quartermaster says that somebody else stays with it.")]
    NotYourTurn,
    #[error("There is no such charge.")]
    NoCharge,
    /// Meanwhile, and why.
    #[error("{0} Stop the charge, and end it.")]
    SetAside(String),
    #[error("It has ended already.")]
    Ended,
    #[error("Say how it ended.")]
    NoOutcome,
    #[error("Say what was wrong, in at most {MOST_LETTERS} letters.")]
    Unsaid,
    #[error("Give mAh between 0 and {MOST_MAH}, as the charger shows them.")]
    Mah,
    /// Nothing is stored before it is said that it is so much.
    #[error(transparent)]
    TooMuchForTime(#[from] TooMuchForTime),
    /// Nothing is stored before it is said that the volts are so.
    #[error(transparent)]
    AskedFirst(#[from] AskedFirst),
    #[error(transparent)]
    HandOver(#[from] HandOverRefusal),
    #[error(transparent)]
    Repeat(#[from] Repeat),
    #[error(transparent)]
    Store(#[from] StoreError),
}

impl Refusal for ChargeRefusal {
    fn against(&self) -> Against {
        match self {
            Self::NoSettings(_)
            | Self::StraightFromUse
            | Self::Changed
            | Self::SetAside(_)
            | Self::Ended
            | Self::NobodyThere => Against::Rule,
            Self::NotYourTurn => Against::Right,
            Self::HandOver(refusal) => refusal.against(),
            _ => Against::Typed,
        }
    }
}

impl ChargeRefusal {
    pub const fn field(&self) -> &'static str {
        match self {
            Self::NoOutcome => "outcome",
            Self::Unsaid => "words",
            Self::Mah | Self::TooMuchForTime(_) => "mah",
            Self::AskedFirst(_) => "volts_line",
            Self::NotYourTurn | Self::HandOver(_) => "watched_by",
            _ => "charger",
        }
    }
}

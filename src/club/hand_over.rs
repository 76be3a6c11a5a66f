//! A charge that runs is handed to somebody else, who stays with it from then on. Nobody is given one who may not log volts, or was
//! never shown how packs are charged. Common practice, no source: a charge is never left alone, so it always has exactly one
//! person.

use super::calendar::day_words;
use super::induction::Induction;
use super::people::{Actor, Roles};
use crate::bench::form::{Against, Refusal};
use uuid::Uuid;

#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum HandOverRefusal {
    #[error(
        "Whoever takes it on says so themselves; only a quartermaster hands it to somebody else."
    )]
    NotYours,
    #[error("Choose who stays with it from now on.")]
    Nobody,
    #[error("{0} stays with it already.")]
    SamePerson(String),
    #[error("You stay with it already.")]
    Yourself,
    #[error("Since you looked, it was handed over: see who stays with it now.")]
    Meanwhile,
    #[error("{0} is not active in the club.")]
    NotActive(String),
    #[error("{0} may not stay with a charge: that is for members and quartermasters.")]
    MayNot(String),
    #[error("{0} was not shown safe charging and handling: note the induction first.")]
    NoInduction(String),
    #[error("{name}'s induction ran out on {on}: show them again first.")]
    InductionRanOut { name: String, on: String },
}

impl Refusal for HandOverRefusal {
    fn against(&self) -> Against {
        match self {
            Self::NotYours => Against::Right,
            Self::Nobody => Against::Typed,
            _ => Against::Rule,
        }
    }
}

/// Who is to stay with it.
#[derive(Clone, Debug)]
pub struct Watcher {
    pub id: Uuid,
    pub name: String,
    pub roles: Roles,
    pub is_active: bool,
    pub induction: Induction,
}

/// None: they may stay with a charge.
pub fn watcher_refusal(to: &Watcher) -> Option<HandOverRefusal> {
    let name = to.name.clone();
    if !to.is_active {
        return Some(HandOverRefusal::NotActive(name));
    }
    if !to.roles.may_log_volts() {
        return Some(HandOverRefusal::MayNot(name));
    }
    match to.induction {
        Induction::Never => Some(HandOverRefusal::NoInduction(name)),
        Induction::RanOut { on } => Some(HandOverRefusal::InductionRanOut {
            name,
            on: day_words(on),
        }),
        Induction::Valid { .. } => None,
    }
}

/// A charge as it stands, and as whoever hands it over saw it: `handed` counts how often it was handed over.
#[derive(Clone, Copy, Debug)]
pub struct Stands {
    pub watched_by: Uuid,
    pub handed: i64,
    pub seen_handed: Option<i64>,
}

/// None: it goes to them.
pub fn refusal(by: Actor, charge: Stands, to: &Watcher) -> Option<HandOverRefusal> {
    if !by.roles.is_quartermaster && by.id != to.id {
        return Some(HandOverRefusal::NotYours);
    }
    if charge.watched_by == to.id {
        return Some(if by.id == to.id {
            HandOverRefusal::Yourself
        } else {
            HandOverRefusal::SamePerson(to.name.clone())
        });
    }
    if charge.seen_handed != Some(charge.handed) {
        return Some(HandOverRefusal::Meanwhile);
    }
    watcher_refusal(to)
}

#[cfg(test)]
#[path = "hand_over_tests.rs"]
mod tests;

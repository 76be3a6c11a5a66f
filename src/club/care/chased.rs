//! Who is chased for what is due: whoever has the pack, then a quartermaster, then an organiser. Nobody who is chased is let
//! off when the next one is. How they are told, and what they may silence, is left to others. Days.

use super::due::{Due, Grave};
use super::rules::CareRules;
use crate::club::calendar::Instant;
use uuid::Uuid;

/// Who has a pack: on loan, or took it home unfinished from a storage round.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Holder {
    pub person: Uuid,
    /// Who answers for a guest or junior.
    pub answers: Option<Uuid>,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Chased {
    Holder(Uuid),
    /// For the holder.
    WhoAnswers(Uuid),
    Quartermasters,
    Organisers,
}

impl Chased {
    /// The word that is stored; never changes.
    pub const fn code(self) -> &'static str {
        match self {
            Self::Holder(_) => "holder",
            Self::WhoAnswers(_) => "who_answers",
            Self::Quartermasters => "quartermasters",
            Self::Organisers => "organisers",
        }
    }
}

/// A pack that nobody has is the quartermasters' from the first day, and so is danger.
pub fn chased(holder: Option<Holder>, due: &Due, rules: &CareRules, now: Instant) -> Vec<Chased> {
    let rules = rules.tightened();
    let after = |days: i64| now >= due.since.plus_days(days);
    let are_quartermasters =
        holder.is_none() || due.grave == Grave::AtOnce || after(rules.quartermaster_days);
    let holders = holder.into_iter().flat_map(|holder| {
        let answers = holder.answers.map(Chased::WhoAnswers);
        std::iter::once(Chased::Holder(holder.person)).chain(answers)
    });
    let others = [
        (are_quartermasters, Chased::Quartermasters),
        (after(rules.organiser_days), Chased::Organisers),
    ];
    let others = others.into_iter().filter_map(|(is, who)| is.then_some(who));
    holders.chain(others).collect()
}

#[cfg(test)]
#[path = "chased_tests.rs"]
mod tests;

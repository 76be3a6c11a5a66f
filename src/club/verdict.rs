//! Why a pack is held, and how gravely: the rules by name, a finding with its numbers, the club's own limits.
//! `judge` (from `reading`) makes findings of volts, `health` of what readings tell together, `seen` of what a person saw. No finding retires a pack:
//! a person does. Words say what is on record.

use super::limits::ClubLimits;
use super::seen::Seen;

pub use super::reading::{
    Rested, closed_by_reading, judge, judge_confirmed, log_again_after_minutes,
};

/// Rising: the greatest of the open findings makes the state, `max()` is the gravest.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Gravity {
    /// Told, changes nothing.
    #[default]
    Note,
    /// Lendable, says why.
    Caution,
    NotKnown,
    /// Set aside.
    ToMend,
    /// Quarantine; a second person may release.
    Danger,
    /// Quarantine for good.
    FinalDanger,
}

impl Gravity {
    /// Gravest first.
    pub const ALL: [Self; 6] = [
        Self::FinalDanger,
        Self::Danger,
        Self::ToMend,
        Self::NotKnown,
        Self::Caution,
        Self::Note,
    ];

    pub const fn code(self) -> &'static str {
        match self {
            Self::FinalDanger => "final_danger",
            Self::Danger => "danger",
            Self::ToMend => "to_mend",
            Self::NotKnown => "not_known",
            Self::Caution => "caution",
            Self::Note => "note",
        }
    }

    pub fn from_code(code: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|each| each.code() == code)
    }
}

/// The reason a pack is held or spoken of.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Rule {
    Seen(Seen),
    OverDischarged,
    OverCharged,
    MissingCell,
    SpreadOut,
    SpreadWide,
    SpreadWatch,
    SpreadNotJudged,
    Empty,
    OverFullWarn,
    Implausible,
    CellsNotSeen,
    CouldNotRead,
    CameBackUnchecked,
    NeverRead,
    ReadingOld,
    BatchSister,
    ReportedUnlooked,
    TookTooMuch,
    StoppedWrong,
    InIncident,
    ResistanceUp,
    ResistanceApart,
    ResistanceHigh,
    ResistanceOverSisters,
    CapacityLow,
    SelfDischarge,
    ImbalanceByCharge,
}

impl Rule {
    /// Every rule that is not something seen.
    pub const OF_READINGS_AND_RECORDS: [Self; 27] = [
        Self::OverDischarged,
        Self::OverCharged,
        Self::MissingCell,
        Self::SpreadOut,
        Self::SpreadWide,
        Self::SpreadWatch,
        Self::SpreadNotJudged,
        Self::Empty,
        Self::OverFullWarn,
        Self::Implausible,
        Self::CellsNotSeen,
        Self::CouldNotRead,
        Self::CameBackUnchecked,
        Self::NeverRead,
        Self::ReadingOld,
        Self::BatchSister,
        Self::ReportedUnlooked,
        Self::TookTooMuch,
        Self::StoppedWrong,
        Self::InIncident,
        Self::ResistanceUp,
        Self::ResistanceApart,
        Self::ResistanceHigh,
        Self::ResistanceOverSisters,
        Self::CapacityLow,
        Self::SelfDischarge,
        Self::ImbalanceByCharge,
    ];

    /// The word that is stored; never changes.
    pub const fn code(self) -> &'static str {
        match self {
            Self::Seen(seen) => seen.code(),
            Self::OverDischarged => "over_discharged",
            Self::OverCharged => "over_charged",
            Self::MissingCell => "missing_cell",
            Self::SpreadOut => "spread_out",
            Self::SpreadWide => "spread_wide",
            Self::SpreadWatch => "spread_watch",
            Self::SpreadNotJudged => "spread_not_judged",
            Self::Empty => "empty",
            Self::OverFullWarn => "over_full_warn",
            Self::Implausible => "implausible",
            Self::CellsNotSeen => "cells_not_seen",
            Self::CouldNotRead => "could_not_read",
            Self::CameBackUnchecked => "came_back_unchecked",
            Self::NeverRead => "never_read",
            Self::ReadingOld => "reading_old",
            Self::BatchSister => "batch_sister",
            Self::ReportedUnlooked => "reported_unlooked",
            Self::TookTooMuch => "took_too_much",
            Self::StoppedWrong => "stopped_wrong",
            Self::InIncident => "in_incident",
            Self::ResistanceUp => "resistance_up",
            Self::ResistanceApart => "resistance_apart",
            Self::ResistanceHigh => "resistance_high",
            Self::ResistanceOverSisters => "resistance_over_sisters",
            Self::CapacityLow => "capacity_low",
            Self::SelfDischarge => "self_discharge",
            Self::ImbalanceByCharge => "imbalance_by_charge",
        }
    }

    /// Of what readings tell together, not one by itself.
    pub const fn is_of_health(self) -> bool {
        matches!(
            self,
            Self::ResistanceUp
                | Self::ResistanceApart
                | Self::ResistanceHigh
                | Self::ResistanceOverSisters
                | Self::CapacityLow
                | Self::SelfDischarge
                | Self::ImbalanceByCharge
        )
    }

    /// How far its cells stand apart.
    pub const fn is_of_spread(self) -> bool {
        matches!(self, Self::SpreadOut | Self::SpreadWide | Self::SpreadWatch)
    }

    /// Of one reading's volts against a limit.
    pub const fn is_of_volts(self) -> bool {
        matches!(
            self,
            Self::OverDischarged
                | Self::OverCharged
                | Self::SpreadOut
                | Self::SpreadWide
                | Self::SpreadWatch
                | Self::Empty
                | Self::OverFullWarn
        )
    }

    pub fn from_code(code: &str) -> Option<Self> {
        let seen = Seen::ALL.into_iter().map(Self::Seen);
        let mut all = seen.chain(Self::OF_READINGS_AND_RECORDS);
        all.find(|each| each.code() == code)
    }
}

/// One reason with its numbers (`words`) and the next step (`next`), both whole sentences.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Finding {
    pub rule: Rule,
    pub gravity: Gravity,
    /// Cell 1 first. None: of the whole pack, of no cell alone, or as it was stored.
    pub cell: Option<usize>,
    pub words: String,
    pub next: String,
}

impl Finding {
    pub fn new(rule: Rule, gravity: Gravity, words: impl Into<String>, next: &str) -> Self {
        let words = words.into();
        let next = next.to_owned();
        Self {
            rule,
            gravity,
            cell: None,
            words,
            next,
        }
    }

    pub fn of_cell(self, cell: Option<usize>) -> Self {
        Self { cell, ..self }
    }

    /// Whatever else is found, nothing is charged.
    fn forbids_charging(&self) -> bool {
        self.gravity >= Gravity::Danger
            || self.rule == Rule::SpreadOut
            || (self.rule, self.gravity) == (Rule::SelfDischarge, Gravity::ToMend)
    }

    /// What it advises is to charge, balance or use the pack.
    fn asks_for_a_charge(&self) -> bool {
        match self.rule {
            Rule::SpreadWide
            | Rule::SpreadWatch
            | Rule::ImbalanceByCharge
            | Rule::Empty
            | Rule::OverFullWarn
            | Rule::CapacityLow => true,
            Rule::ResistanceUp
            | Rule::ResistanceApart
            | Rule::ResistanceHigh
            | Rule::ResistanceOverSisters
            | Rule::SelfDischarge => self.gravity < Gravity::ToMend,
            _ => false,
        }
    }

    /// `why` is the person's own reason and may be empty.
    pub fn could_not_read(why: &str) -> Self {
        let words = match why.trim() {
            "" => "The volts could not be read.".to_owned(),
            why => format!(
                "The volts could not be read: {}.",
                why.trim_end_matches('.')
            ),
        };
        Self::new(Rule::CouldNotRead, Gravity::NotKnown, words, LOG_VOLTS)
    }

    pub fn came_back_unchecked() -> Self {
        Self::unchecked("It came back and nobody at the table has looked at it.")
    }

    pub fn found_again() -> Self {
        Self::unchecked("It was lost, and since it was found nobody at the table has looked at it.")
    }

    fn unchecked(words: &str) -> Self {
        let next = "A quartermaster looks at it, ticks that beside its volts, and logs them.";
        Self::new(Rule::CameBackUnchecked, Gravity::NotKnown, words, next)
    }

    pub fn never_read() -> Self {
        let words = "Its volts were never logged.";
        Self::new(Rule::NeverRead, Gravity::NotKnown, words, LOG_VOLTS)
    }

    pub fn reading_old(age_days: i64, limits: &ClubLimits) -> Self {
        let limit = limits.reading_days;
        let words = format!(
            "It was last read {age_days} days ago; after {limit} days its state is not known."
        );
        Self::new(Rule::ReadingOld, Gravity::NotKnown, words, LOG_VOLTS)
    }

    /// `number` is the pack of the same batch that was quarantined for a fault.
    pub fn batch_sister(number: &str) -> Self {
        let words = format!("{number}, of the same batch, was quarantined for a fault.");
        let next = "Look it over and log its volts before using it; a quartermaster says on its page that it is looked over.";
        Self::new(Rule::BatchSister, Gravity::Caution, words, next)
    }

    /// `incident`: its name in the book; `kind`: what happened. `did_it`: it swelled, smoked or burned there itself.
    pub fn in_incident(incident: &str, kind: &str, did_it: bool) -> Self {
        let words = format!(
            "It was part of incident {incident}: {}.",
            kind.to_lowercase()
        );
        let (gravity, next) = if did_it {
            let next = "Leave it alone: a quartermaster has it watched. It is never used again.";
            (Gravity::FinalDanger, next)
        } else {
            let next =
                "Leave it alone: a quartermaster has it watched, and looks at it afterwards.";
            (Gravity::Danger, next)
        };
        Self::new(Rule::InIncident, gravity, words, next)
    }

    pub fn reported_unlooked(what: &str) -> Self {
        let words = match what.trim() {
            "" => "Something was reported and nobody has looked at it.".to_owned(),
            what => format!("Reported and not yet looked at: {what}"),
        };
        let next = "A quartermaster looks at it before it is lent.";
        Self::new(Rule::ReportedUnlooked, Gravity::ToMend, words, next)
    }
}

const LOG_VOLTS: &str = "Log its volts.";

/// Beside a danger nothing lesser says what to do, and beside another finding that forbids a charge nothing that would have it
/// charged or balanced.
pub fn silence<'a>(findings: impl Iterator<Item = &'a mut Finding>) {
    let mut findings: Vec<&mut Finding> = findings.collect();
    let is_dangerous = findings.iter().any(|each| each.gravity >= Gravity::Danger);
    if !findings.iter().any(|each| each.forbids_charging()) {
        return;
    }
    for each in &mut findings {
        let is_lesser = is_dangerous && each.gravity < Gravity::Danger;
        if is_lesser || !is_dangerous && each.asks_for_a_charge() {
            each.next.clear();
        }
    }
}

/// Of a pack that gets no settings for another reason: nothing would have it charged or balanced.
pub fn silence_charging<'a>(findings: impl Iterator<Item = &'a mut Finding>) {
    for each in findings.filter(|each| each.asks_for_a_charge()) {
        each.next.clear();
    }
}

/// The gravest of the findings; None when there are none.
pub fn gravest(findings: &[Finding]) -> Option<Gravity> {
    findings.iter().map(|each| each.gravity).max()
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::collections::HashSet;

    #[test]
    fn every_rule_and_gravity_has_a_code_of_its_own_and_is_found_by_it() {
        let seen = Seen::ALL.into_iter().map(Rule::Seen);
        let all: Vec<Rule> = seen.chain(Rule::OF_READINGS_AND_RECORDS).collect();
        let codes: HashSet<&str> = all.iter().map(|each| each.code()).collect();
        assert_eq!(codes.len(), all.len());
        for each in all {
            assert_eq!(Rule::from_code(each.code()), Some(each));
        }
        for each in Gravity::ALL {
            assert_eq!(Gravity::from_code(each.code()), Some(each));
        }
        assert!(Gravity::ALL.is_sorted_by(|graver, milder| graver > milder));
    }

    #[test]
    fn what_no_reading_found_says_why_the_pack_is_held() {
        let limits = ClubLimits::default();
        let old = Finding::reading_old(95, &limits);
        assert_eq!(
            old.words,
            "It was last read 95 days ago; after 90 days its state is not known."
        );
        let unread = Finding::could_not_read("no meter");
        assert_eq!(unread.words, "The volts could not be read: no meter.");
        let all = [
            old,
            unread,
            Finding::never_read(),
            Finding::came_back_unchecked(),
        ];
        assert_eq!(gravest(&all), Some(Gravity::NotKnown));
        assert!(all.iter().all(|each| each.gravity == Gravity::NotKnown));
        assert_eq!(
            Finding::batch_sister("P-014").words,
            "P-014, of the same batch, was quarantined for a fault."
        );
        assert_eq!(
            Finding::reported_unlooked("rattles").gravity,
            Gravity::ToMend
        );
    }
}

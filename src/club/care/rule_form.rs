//! What a club may set of storage care, as a form asks it: each with its words, how far it goes and where it stands among the
//! rules; and what is refused of what was typed. Days.

use super::reasons::days_words;
use super::rules::{CareRules, WAIT_DAYS};
use super::table_form;

/// One of the plain counts of days.
pub struct Count {
    pub code: &'static str,
    pub label: &'static str,
    pub hint: &'static str,
    /// Where the days come from that it starts with.
    pub source: &'static str,
    pub lowest: i64,
    pub highest: i64,
    pub of: fn(&mut CareRules) -> &mut i64,
    /// What stands elsewhere among the rules may lie above `lowest`: then it goes no lower than that.
    pub not_under: Option<fn(&CareRules) -> i64>,
}

/// Of what a default is, where nothing that was published says it.
pub const NO_SOURCE: &str = "common practice, no source";

pub const COUNTS: [Count; 8] = [
    Count {
        code: "recheck_days",
        label: "Volts are read anew after",
        hint: "1 to 90 days.",
        source: "every 3 months, a battery maker's storage note",
        lowest: 1,
        highest: 90,
        of: |rules| &mut rules.recheck_days,
        not_under: None,
    },
    Count {
        code: "recheck_presses_days",
        label: "and it presses after",
        hint: "Up to 120 days, and not before the line above.",
        source: NO_SOURCE,
        lowest: 1,
        highest: 120,
        of: |rules| &mut rules.recheck_presses_days,
        not_under: Some(|rules| rules.recheck_days),
    },
    Count {
        code: "fall_days",
        label: "Told so many days before a pack may be at its minimum",
        hint: "7 to 180 days.",
        source: NO_SOURCE,
        lowest: 7,
        highest: 180,
        of: |rules| &mut rules.fall_days,
        not_under: None,
    },
    Count {
        code: "back_days",
        label: "What came back is put to storage within",
        hint: "0 to 7 days.",
        source: NO_SOURCE,
        lowest: 0,
        highest: 7,
        of: |rules| &mut rules.back_days,
        not_under: None,
    },
    Count {
        code: "lead_days",
        label: "Lead is topped up after",
        hint: "30 to 180 days.",
        source: "every 6 months, a battery-education site",
        lowest: 30,
        highest: 180,
        of: |rules| &mut rules.lead_days,
        not_under: None,
    },
    Count {
        code: "quartermaster_days",
        label: "What somebody has is chased by a quartermaster too after",
        hint: "0 to 30 days due.",
        source: NO_SOURCE,
        lowest: 0,
        highest: 30,
        of: |rules| &mut rules.quartermaster_days,
        not_under: None,
    },
    Count {
        code: "organiser_days",
        label: "and by an organiser too after",
        hint: "Up to 60 days due, and not before the line above.",
        source: NO_SOURCE,
        lowest: 0,
        highest: 60,
        of: |rules| &mut rules.organiser_days,
        not_under: Some(|rules| rules.quartermaster_days),
    },
    Count {
        code: "own_care_days",
        label: "Own storage care may be overdue by",
        hint: "0 to 30 days, from when it is due, they got the pack, or the day agreed for home, whichever is last. Then the next line counts.",
        source: NO_SOURCE,
        lowest: 0,
        highest: 30,
        of: |rules| &mut rules.own_care_days,
        not_under: None,
    },
];

#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum RuleRefusal {
    #[error("Choose {lowest} to {highest} days.")]
    Count {
        code: &'static str,
        lowest: i64,
        highest: i64,
    },
    #[error("Choose {} to {} days.", WAIT_DAYS.start(), WAIT_DAYS.end())]
    Wait { field: String },
    #[error("Remind on the day of the limit at the latest.")]
    RemindsLate { field: String },
    #[error("A fuller or warmer pack may not lie longer: {} at most.", days_words(*.at_most))]
    Kinder { field: String, at_most: i64 },
    #[error("A fuller or warmer pack may lie longer then: {} at least, or fewer there.", days_words(*.at_least))]
    Harsher { field: String, at_least: i64 },
    #[error("Choose what happens to somebody who is overdue.")]
    OwnCare,
}

impl RuleRefusal {
    pub fn field(&self) -> &str {
        match self {
            Self::Count { code, .. } => code,
            Self::Wait { field }
            | Self::RemindsLate { field }
            | Self::Kinder { field, .. }
            | Self::Harsher { field, .. } => field,
            Self::OwnCare => "own_care",
        }
    }
}

/// The field of a cell of the table of storage: `remind_0_3`, `limit_2_1`.
pub fn cell(kind: &str, row: usize, column: usize) -> String {
    format!("{kind}_{row}_{column}")
}

/// All that is wrong, in the order of the form. `stood`: before.
pub fn check(rules: &CareRules, stood: &CareRules) -> Vec<RuleRefusal> {
    let mut rules = *rules;
    let mut refused = table_form::check(&rules.storage, &stood.storage);
    for count in &COUNTS {
        let value = *(count.of)(&mut rules);
        let other = count.not_under.map_or(count.lowest, |other| other(&rules));
        // Of two of which the other is wrong by itself, that one alone is told.
        let other_is_wrong = !(count.lowest..=count.highest).contains(&other);
        let lowest = if other_is_wrong { count.lowest } else { other };
        if !(lowest..=count.highest).contains(&value) {
            refused.push(RuleRefusal::Count {
                code: count.code,
                lowest,
                highest: count.highest,
            });
        }
    }
    refused
}

#[cfg(test)]
#[path = "rule_form_tests.rs"]
mod tests;

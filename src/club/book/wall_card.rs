//! The card for the wall: what to do in the first minute, with sources, and what the club wrote down for it: who does what, and
//! where sand, tongs and extinguishers are. Address, number, meeting point and the plan for water and sand are the hall's.

use super::first_minute;
use super::source::{HowSure, Line};
use crate::bench::{FieldProblem, Findings};
use serde::{Deserialize, Serialize};

const LETTERS_MOST: usize = 120;

/// Each in a few words; empty: not written down.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
#[serde(default)]
pub struct WallPlan {
    pub calls: String,
    pub leads_out: String,
    pub meets_them: String,
    pub counts: String,
    pub power: String,
    pub sand: String,
    pub tongs: String,
    pub extinguishers: String,
}

/// A field of the plan: its name in the form, and as it is told.
pub struct Told<'a> {
    pub field: &'static str,
    pub label: &'static str,
    pub words: &'a str,
}

impl WallPlan {
    pub fn who_does_what(&self) -> [Told<'_>; 5] {
        [
            told("calls", "Calls the fire service", &self.calls),
            told("leads_out", "Gets everybody out", &self.leads_out),
            told("counts", "Counts at the meeting point", &self.counts),
            told("meets_them", "Meets the fire service", &self.meets_them),
            told(
                "power",
                "Switches the power off, on the way out",
                &self.power,
            ),
        ]
    }

    pub fn where_it_is(&self) -> [Told<'_>; 3] {
        [
            told("sand", "Sand", &self.sand),
            told("tongs", "Tongs, gloves and box", &self.tongs),
            told("extinguishers", "Extinguishers", &self.extinguishers),
        ]
    }

    pub fn is_written(&self) -> bool {
        *self != Self::default()
    }

    pub fn problems(&self) -> Vec<FieldProblem> {
        let mut found = Findings::default();
        let (who, places) = (self.who_does_what(), self.where_it_is());
        for one in who.iter().chain(&places) {
            let words = format!("Say it in at most {LETTERS_MOST} letters: the card has one page.");
            found.unless(one.words.chars().count() <= LETTERS_MOST, one.field, &words);
        }
        found.pass(()).err().unwrap_or_default()
    }

    pub fn to_text(&self) -> String {
        serde_json::to_string(self).unwrap_or_default()
    }
}

/// As stored; what can't be read counts as not written.
impl From<String> for WallPlan {
    fn from(text: String) -> Self {
        serde_json::from_str(&text).unwrap_or_default()
    }
}

const fn told<'a>(field: &'static str, label: &'static str, words: &'a str) -> Told<'a> {
    Told {
        field,
        label,
        words,
    }
}

/// A line of the card, and the numbers of its sources in the list below it, from 1.
pub struct Numbered {
    pub words: &'static str,
    pub sources: Vec<usize>,
}

/// What to do, in the order it is done, and who says so.
pub fn lines() -> (Vec<Numbered>, Vec<String>) {
    let mut named: Vec<String> = Vec::new();
    let mut number = |line: Line| {
        let of_line = line.sources.iter().map(|source| match source.how_sure {
            HowSure::Published => source.named.to_owned(),
            HowSure::CommonPractice => source.how_sure.label().to_owned(),
        });
        let sources = of_line.map(|source| {
            let known = named.iter().position(|one| *one == source);
            known.unwrap_or_else(|| {
                named.push(source);
                named.len() - 1
            }) + 1
        });
        Numbered {
            words: line.words,
            sources: sources.collect(),
        }
    };
    let all: Vec<Numbered> = first_minute::on_the_wall().map(&mut number).collect();
    (all, named)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn local_rules_come_first_on_the_card_and_each_line_names_a_source_below() {
        let (lines, sources) = lines();
        assert!(
            lines[0]
                .words
                .starts_with("Local rules and the fire service come first")
        );
        for line in &lines {
            assert!(!line.sources.is_empty(), "{}", line.words);
            assert!(
                line.sources
                    .iter()
                    .all(|number| (1..=sources.len()).contains(number))
            );
        }
        assert!(
            (1..=sources.len())
                .all(|number| lines.iter().any(|line| line.sources.contains(&number)))
        );
        let mut once = sources.clone();
        once.sort();
        once.dedup();
        assert_eq!(once.len(), sources.len());
    }

    #[test]
    fn a_plan_is_read_back_as_it_was_kept_and_kept_short() {
        let plan = WallPlan {
            sand: "by the door".to_owned(),
            ..WallPlan::default()
        };
        assert_eq!(WallPlan::from(plan.to_text()), plan);
        assert!(plan.is_written() && plan.problems().is_empty());
        assert_eq!(
            WallPlan::from("no text of ours".to_owned()),
            WallPlan::default()
        );
        let long = WallPlan {
            power: "x".repeat(LETTERS_MOST + 1),
            ..plan
        };
        assert_eq!(long.problems()[0].field, "power");
    }
}

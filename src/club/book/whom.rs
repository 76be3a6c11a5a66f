//! Who must or may be told of an incident: the club's own checklist, how it stands for one incident, and general hints by country.
//! The hints are no law and no advice on law: they say where to look. What holds is the local rules.

use super::chain::Sealed;
use super::source::{EMPLOYERS_US, Line, NOT_READ, PRACTICE, WORK_UK};
use super::story::{Story, held_at};
use crate::bench::{FieldProblem, Findings};
use crate::club::calendar::{Instant, Zone};
use serde::{Deserialize, Serialize};

const LINES_MOST: usize = 20;
const WHOM_MOST: usize = 80;
const WHEN_MOST: usize = 200;

#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Whom {
    pub whom: String,
    /// After what; may be empty.
    pub when: String,
}

/// The club's checklist; empty: it has not set one, and the usual one stands.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct Checklist(Vec<Whom>);

/// Trade rules of clubs and insurers: common practice, no source.
const USUAL: [(&str, &str); 6] = [
    ("Fire service", "after any fire, also one that is out"),
    ("Insurer", "after any fire, injury or damage"),
    ("Landlord or venue", "after any fire, smoke or damage"),
    ("Host of the event", "when it happened at somebody's event"),
    (
        "Authority for safety at work",
        "when somebody was hurt who works there, or the rules of the place ask for it",
    ),
    (
        "Seller or maker",
        "when a thing failed that was used as it should be",
    ),
];

impl Checklist {
    /// One a line, `who: after what`.
    pub fn typed(text: &str) -> Self {
        let lines = text.lines().map(str::trim).filter(|line| !line.is_empty());
        let read = lines.map(|line| {
            let (whom, when) = line.split_once(':').unwrap_or((line, ""));
            Whom {
                whom: whom.trim().to_owned(),
                when: when.trim().to_owned(),
            }
        });
        Self(read.collect())
    }

    /// As [`Checklist::typed`] reads it.
    pub fn as_typed(&self) -> String {
        let line = |one: &Whom| match one.when.as_str() {
            "" => one.whom.clone(),
            when => format!("{}: {when}", one.whom),
        };
        self.0.iter().map(line).collect::<Vec<_>>().join("\n")
    }

    pub fn usual() -> Self {
        let line = |(whom, when): &(&str, &str)| Whom {
            whom: (*whom).to_owned(),
            when: (*when).to_owned(),
        };
        Self(USUAL.iter().map(line).collect())
    }

    pub const fn is_set(&self) -> bool {
        !self.0.is_empty()
    }

    /// The club's own, else the usual one.
    pub fn in_force(self) -> Self {
        if self.is_set() { self } else { Self::usual() }
    }

    pub fn problems(&self) -> Vec<FieldProblem> {
        let mut found = Findings::default();
        let mut ask = |holds: bool, words: &str| found.unless(holds, "list", words);
        ask(
            self.0.len() <= LINES_MOST,
            "Name at most 20: a longer list is not read when it matters.",
        );
        let are_short = |one: &Whom| {
            (1..=WHOM_MOST).contains(&one.whom.chars().count())
                && one.when.chars().count() <= WHEN_MOST
        };
        ask(
            self.0.iter().all(are_short),
            "Begin each line with who is told, in at most 80 letters; after a colon, when, in at most 200.",
        );
        let is_twice = |at: usize| {
            self.0[..at]
                .iter()
                .any(|one| is_same(&one.whom, &self.0[at].whom))
        };
        ask(!(0..self.0.len()).any(is_twice), "Name everybody once.");
        found.pass(()).err().unwrap_or_default()
    }

    pub fn to_text(&self) -> String {
        serde_json::to_string(self).unwrap_or_default()
    }
}

/// As stored; what can't be read counts as not set.
impl From<String> for Checklist {
    fn from(text: String) -> Self {
        serde_json::from_str(&text).unwrap_or_default()
    }
}

fn is_same(one: &str, other: &str) -> bool {
    one.trim().to_lowercase() == other.trim().to_lowercase()
}

/// What became of a line for one incident.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum State {
    /// Nobody said yet.
    Open,
    /// When, as it was told last.
    Told(Instant),
    /// The entry says why.
    NotTold(String),
}

/// Each line of the checklist with its state, in its order, and behind it who else was told: all as it is held to be now.
pub fn stands(list: &Checklist, entries: &[Sealed], zone: &Zone) -> Vec<(Whom, State)> {
    let story = Story::of(entries);
    let mut all: Vec<(Whom, State)> = list
        .0
        .iter()
        .map(|one| (one.clone(), State::Open))
        .collect();
    for sealed in entries {
        let (kind, body) = (sealed.entry.kind.as_str(), &sealed.entry.body);
        let text = |name: &str| {
            let right = story.instead_of(sealed.entry.seq, name);
            let right = right.and_then(|each| each.instead.as_deref());
            let text = right.or(body[name].as_str()).unwrap_or_default();
            text.trim().to_owned()
        };
        let state = match kind {
            "told_to" => {
                State::Told(held_at(sealed, &story, "told_ms", zone).unwrap_or(sealed.entry.at()))
            }
            "not_told" => State::NotTold(text("why")),
            _ => continue,
        };
        let whom = text("whom");
        match all.iter_mut().find(|(one, _)| is_same(&one.whom, &whom)) {
            Some((_, stands)) => *stands = state,
            None => {
                let when = String::new();
                all.push((Whom { whom, when }, state));
            }
        }
    }
    all
}

/// Where to look, by country: what is asked differs, and changes.
pub struct Country {
    pub name: &'static str,
    pub hints: &'static [Line],
}

pub const COUNTRIES: [Country; 4] = [
    Country {
        name: "United Kingdom",
        hints: &[
            Line {
                words: "Reports of injuries and of dangerous happenings are about work: a death, a visitor taken straight to hospital, somebody kept from work for more than 7 days, some burns, some electrical fires. A club of volunteers may not have to report; the venue might. Ask it.",
                sources: &[WORK_UK, NOT_READ],
            },
            Line {
                words: "A product that failed: the seller, and the local authority that looks after product safety.",
                sources: &[NOT_READ],
            },
        ],
    },
    Country {
        name: "United States",
        hints: &[
            Line {
                words: "Who has employees must report a death within hours, and a stay in hospital, an amputation or the loss of an eye within a day. The venue or school may be an employer though the club is none.",
                sources: &[EMPLOYERS_US],
            },
            Line {
                words: "Anybody may report an unsafe product to the federal office for product safety.",
                sources: &[NOT_READ],
            },
        ],
    },
    Country {
        name: "European Union",
        hints: &[
            Line {
                words: "Accidents at work are reported to the labour authority or the accident insurer by whoever employs people; members of a club may be insured through its association. Ask the association.",
                sources: &[NOT_READ],
            },
            Line {
                words: "A product that failed: the seller, and the country's authority for product safety.",
                sources: &[NOT_READ],
            },
        ],
    },
    Country {
        name: "Anywhere",
        hints: &[
            Line {
                words: "The fire service after any fire, the insurer, the landlord or venue, the host of the event.",
                sources: &[PRACTICE],
            },
            Line {
                words: "In or before a flight: the carrier.",
                sources: &[NOT_READ],
            },
        ],
    },
];

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_checklist_is_typed_line_by_line_and_read_back() {
        let list = Checklist::typed(
            "Fire service: after any fire\n\n  Insurer\nVenue: at once: by phone ",
        );
        assert_eq!(
            list.as_typed(),
            "Fire service: after any fire\nInsurer\nVenue: at once: by phone"
        );
        assert_eq!(Checklist::from(list.to_text()), list);
        assert!(list.problems().is_empty() && list.is_set());
        assert_eq!(
            Checklist::from(String::new()).in_force(),
            Checklist::usual()
        );
        assert!(Checklist::usual().problems().is_empty());
    }

    #[test]
    fn a_checklist_names_everybody_once_in_a_few_words() {
        let words = |text: &str| Checklist::typed(text).problems().len();
        assert_eq!(words("Insurer\ninsurer: again"), 1);
        assert_eq!(words(": after any fire"), 1);
        assert_eq!(words(&format!("Insurer: {}", "x".repeat(201))), 1);
        let many: String = (0..21).map(|at| format!("Somebody {at}\n")).collect();
        assert_eq!(words(&many), 1);
    }

    #[test]
    fn every_hint_has_a_source_and_none_tells_what_the_law_is_anywhere() {
        for country in &COUNTRIES {
            for hint in country.hints {
                assert!(!hint.sources.is_empty(), "{}", hint.words);
                assert!(
                    !hint.words.to_lowercase().contains("the law"),
                    "{}",
                    hint.words
                );
            }
        }
    }
}

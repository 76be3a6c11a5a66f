//! What is known of a pack as an incident is opened, to be frozen into its first entry: how it stood, readings, loans, charges with what
//! was set, before it happened and since. Whole numbers and texts only, so that it has one text. Who it was lent to, and who stayed with a charge, are names:
//! they are told apart, so that they can be erased, and so are words that people typed. Charge in mAh, current in mA, volts in mV.

use crate::bench::charger::Mode;
use crate::bench::plan::mode_words;
use crate::bench::typed::Words as Numbers;
use crate::club::calendar::Instant;
use serde::{Deserialize, Serialize};

/// Words as they stand in the entry; or, where they are kept as a part of it, what that is called.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(untagged)]
pub enum Said {
    Here(String),
    Apart { part: String },
}

impl Default for Said {
    fn default() -> Self {
        Self::Here(String::new())
    }
}

impl From<String> for Said {
    fn from(words: String) -> Self {
        Self::Here(words)
    }
}

/// Before the number of a thing: words on record of it, each a part.
pub const WORDS_OF: &str = "words ";

/// What becomes a part of its own: what the part is called, and its words.
pub type Apart = (String, String);

/// Takes words out of what is known of one thing. The same words become one part.
struct Takes<'a> {
    of: &'a str,
    taken: Vec<Apart>,
}

impl Takes<'_> {
    fn take(&mut self, said: &mut Said) {
        let Said::Here(words) = said else {
            return;
        };
        let words = words.trim().to_owned();
        if words.is_empty() {
            return;
        }
        let known = self.taken.iter().find(|(_, each)| *each == words);
        let part = known.map(|(name, _)| name.clone()).unwrap_or_else(|| {
            let name = format!("{WORDS_OF}{} {}", self.of, self.taken.len() + 1);
            self.taken.push((name.clone(), words));
            name
        });
        *said = Said::Apart { part };
    }

    /// What a thing is called stays, unless somebody is named in it.
    fn take_if(&mut self, said: &mut Said, names_somebody: impl Fn(&str) -> bool) {
        if matches!(said, Said::Here(words) if names_somebody(words)) {
            self.take(said);
        }
    }
}

#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
#[serde(default)]
pub struct KnownPack {
    pub number: String,
    pub design: Said,
    pub chemistry: String,
    pub cells_series: i64,
    pub capacity_mah: i64,
    pub maker: Said,
    pub batch: Said,
    /// As it stands while this is written.
    pub state: String,
    pub why: Said,
    pub since_ms: i64,
    pub is_lent: bool,
    pub place: Option<Said>,
    pub against_it: Vec<Said>,
    /// Each the latest first.
    pub stood: Vec<Stood>,
    pub readings: Vec<Read>,
    pub loans: Vec<Lent>,
    pub charges: Vec<Charged>,
    /// Cards that were shown, started or not.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub cards: Vec<Shown>,
    /// Where more lies on record than is kept here: `readings before`, `loans since`.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub more: Vec<String>,
}

/// What the log said of it after a change: its number there names the log's own chain.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct Stood {
    pub log_seq: i64,
    pub at_ms: i64,
    pub verb: String,
    pub state: String,
    pub why: Said,
}

#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct Read {
    pub taken_ms: i64,
    pub volts: Option<String>,
    pub rested_minutes: i64,
    pub resistance: Option<String>,
    pub celsius: Option<i64>,
}

#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct Lent {
    pub from_ms: i64,
    pub until_ms: Option<i64>,
    pub due_on: String,
    pub outcome: Option<String>,
}

/// A charge, with what the card said when it was started.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct Charged {
    pub started_ms: i64,
    pub ended_ms: Option<i64>,
    pub charger: String,
    pub output: i64,
    pub supply: Option<String>,
    pub mode: String,
    pub purpose: String,
    pub current_ma: i64,
    pub target_mv: i64,
    pub least_minutes: i64,
    pub most_minutes: i64,
    pub least_mah: i64,
    pub most_mah: i64,
    pub cutoff_mah: i64,
    pub cutoff_minutes: i64,
    pub read_back_ms: Option<i64>,
    pub outcome: Option<String>,
    pub moved_mah: Option<i64>,
}

/// What a card told whoever looked at it, first and last in the same words.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct Shown {
    pub first_ms: i64,
    pub last_ms: i64,
    pub said: String,
}

/// A charger, supply, cable or adapter of the club, as it stood while this is written.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
#[serde(default)]
pub struct KnownKit {
    pub number: String,
    pub kind: String,
    pub name: Said,
    pub maker: Said,
    /// Its data sheet in words.
    pub what: Said,
    pub life: String,
    pub owned: i64,
    pub out: i64,
    pub aside: i64,
    pub unchecked: i64,
    pub set_aside: Said,
    pub place: Option<Said>,
}

impl KnownKit {
    /// As of a pack: why it is set aside may be anybody's own words.
    pub fn keep_apart(&mut self, names_somebody: impl Fn(&str) -> bool) -> Vec<Apart> {
        let mut takes = Takes {
            of: &self.number,
            taken: Vec::new(),
        };
        takes.take(&mut self.set_aside);
        let called = [&mut self.name, &mut self.maker, &mut self.what];
        for said in called.into_iter().chain(&mut self.place) {
            takes.take_if(said, &names_somebody);
        }
        takes.taken
    }
}

fn holds(from: i64, until: Option<i64>, at: Instant) -> bool {
    from <= at.ms() && until.is_none_or(|until| at.ms() <= until)
}

impl KnownPack {
    /// Why it stood as it did, and what was against it, may be anybody's own words, a stranger's too: each becomes a part, so that it
    /// can be erased. What design, maker, batch and place are called does where somebody is named in it.
    pub fn keep_apart(&mut self, names_somebody: impl Fn(&str) -> bool) -> Vec<Apart> {
        let mut takes = Takes {
            of: &self.number,
            taken: Vec::new(),
        };
        takes.take(&mut self.why);
        for said in &mut self.against_it {
            takes.take(said);
        }
        for stood in &mut self.stood {
            takes.take(&mut stood.why);
        }
        let called = [&mut self.design, &mut self.maker, &mut self.batch];
        for said in called.into_iter().chain(&mut self.place) {
            takes.take_if(said, &names_somebody);
        }
        takes.taken
    }

    /// The charge that ran then.
    pub fn charge_at(&self, at: Instant) -> Option<&Charged> {
        let runs = |each: &&Charged| holds(each.started_ms, each.ended_ms, at);
        self.charges.iter().find(runs)
    }

    /// Which of its loans it was on then.
    pub fn loan_at(&self, at: Instant) -> Option<usize> {
        let is_out = |each: &Lent| holds(each.from_ms, each.until_ms, at);
        self.loans.iter().position(is_out)
    }

    /// How it stood then, by the log; None: the log that was looked at does not reach back so far.
    pub fn stood_at(&self, at: Instant) -> Option<&Stood> {
        self.stood.iter().find(|each| each.at_ms <= at.ms())
    }
}

impl Charged {
    /// `C-01, output 2, from S-01: Balance, 2.2 A, to 12.6 V, 45 to 60 minutes`.
    pub fn words(&self, numbers: Numbers) -> String {
        let mode = Mode::from_code(&self.mode).map_or("", mode_words);
        let supply = self.supply.as_ref();
        format!(
            "{}, output {}{}: {mode}, {}, to {}, {} to {} minutes",
            self.charger,
            self.output,
            supply.map_or_else(String::new, |supply| format!(", from {supply}")),
            numbers.amps(self.current_ma),
            numbers.volts(self.target_mv),
            self.least_minutes,
            self.most_minutes
        )
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn pack() -> KnownPack {
        KnownPack {
            charges: vec![Charged {
                started_ms: 100,
                ended_ms: Some(200),
                charger: "C-01".to_owned(),
                output: 2,
                supply: Some("S-01".to_owned()),
                mode: "balance".to_owned(),
                current_ma: 2_200,
                target_mv: 12_600,
                least_minutes: 45,
                most_minutes: 60,
                ..Charged::default()
            }],
            loans: vec![Lent {
                from_ms: 300,
                until_ms: None,
                ..Lent::default()
            }],
            stood: [400, 50]
                .map(|at_ms| Stood {
                    at_ms,
                    ..Stood::default()
                })
                .to_vec(),
            ..KnownPack::default()
        }
    }

    #[test]
    fn what_people_typed_is_taken_apart_and_what_things_are_called_where_it_names_somebody() {
        let said = |words: &str| Said::Here(words.to_owned());
        let mut known = KnownPack {
            number: "P-001".to_owned(),
            why: said("Seen: Ben dropped it"),
            against_it: vec![said("Seen: Ben dropped it"), said("Seen: Wet.")],
            place: Some(said("Ben's shelf")),
            maker: said("Volta"),
            stood: vec![Stood {
                why: said("Seen: Wet."),
                ..Stood::default()
            }],
            ..KnownPack::default()
        };
        let taken = known.keep_apart(|words| words.contains("Ben"));
        let apart = |name: &str, words: &str| (name.to_owned(), words.to_owned());
        assert_eq!(
            taken,
            [
                apart("words P-001 1", "Seen: Ben dropped it"),
                apart("words P-001 2", "Seen: Wet."),
                apart("words P-001 3", "Ben's shelf"),
            ]
        );
        let text = serde_json::to_string(&known).expect("a text");
        assert!(!text.contains("Ben") && !text.contains("Wet"), "{text}");
        assert!(text.contains(r#""why":{"part":"words P-001 1"}"#) && text.contains("Volta"));
        assert_eq!(serde_json::from_str::<KnownPack>(&text).ok(), Some(known));
        let old: KnownPack = serde_json::from_str(r#"{"why":"Seen: Wet."}"#).expect("an older one");
        assert_eq!(old.why, said("Seen: Wet."));
    }

    #[test]
    fn what_ran_when_it_happened_is_told_with_what_was_set() {
        let pack = pack();
        let ran = pack.charge_at(Instant(150)).expect("it charged");
        assert_eq!(
            ran.words(Numbers {
                has_decimal_comma: false
            }),
            "C-01, output 2, from S-01: Balance, 2.2 A, to 12.6 V, 45 to 60 minutes"
        );
        assert_eq!(pack.charge_at(Instant(99)), None);
        assert_eq!(pack.charge_at(Instant(201)), None);
    }

    #[test]
    fn who_had_it_and_how_it_stood_goes_by_when_it_happened() {
        let pack = pack();
        assert_eq!(
            (pack.loan_at(Instant(299)), pack.loan_at(Instant(900))),
            (None, Some(0))
        );
        let stood = |at| pack.stood_at(Instant(at)).map(|each| each.at_ms);
        assert_eq!(
            (stood(49), stood(50), stood(399), stood(400)),
            (None, Some(50), Some(50), Some(400))
        );
    }
}

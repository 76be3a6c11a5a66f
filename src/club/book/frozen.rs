//! What is known of a pack as an incident is opened, to be frozen into its first entry: how it stood, readings, loans, charges with what
//! was set. Whole numbers and texts only, so that it has one text. Who it was lent to, and who stayed with a charge, are names:
//! they are told apart, so that they can be erased. Charge in mAh, current in mA, volts in mV.

use crate::bench::charger::Mode;
use crate::bench::plan::mode_words;
use crate::bench::typed::Words as Numbers;
use crate::club::calendar::Instant;
use serde::{Deserialize, Serialize};

#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
#[serde(default)]
pub struct KnownPack {
    pub number: String,
    pub design: String,
    pub chemistry: String,
    pub cells_series: i64,
    pub capacity_mah: i64,
    pub maker: String,
    pub batch: String,
    /// As it stands while this is written.
    pub state: String,
    pub why: String,
    pub since_ms: i64,
    pub is_lent: bool,
    pub place: Option<String>,
    pub against_it: Vec<String>,
    /// Each the latest first.
    pub stood: Vec<Stood>,
    pub readings: Vec<Read>,
    pub loans: Vec<Lent>,
    pub charges: Vec<Charged>,
}

/// What the log said of it after a change: its number there names the log's own chain.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct Stood {
    pub log_seq: i64,
    pub at_ms: i64,
    pub verb: String,
    pub state: String,
    pub why: String,
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

fn holds(from: i64, until: Option<i64>, at: Instant) -> bool {
    from <= at.ms() && until.is_none_or(|until| at.ms() <= until)
}

impl KnownPack {
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

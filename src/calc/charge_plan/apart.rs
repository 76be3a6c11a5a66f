//! Cells that stand apart. In a pool a wide spread sets a pack aside, and a pack that is set aside gets no settings; here
//! nobody knows of a pool, so that the volts themselves are judged, by the same rule. Only the way out of it is planned:
//! a charge with balance, at the usual rate, after which it is read again.

use super::codes::CautionKind;
use crate::bench::plan::{Answer, Asked, Purpose};
use crate::club::limits::ClubLimits;
use crate::club::reading::{OUT_OF_SERVICE_MV, Rested, judge};
use crate::club::verdict::{Finding, Rule};

/// What brings the cells together again, where a plan is asked for and no pool holds the pack back.
const TOGETHER: &str = "Balance it, let it rest and log the cells again.";

/// What the spread between its cells comes to. Of one that had not rested only what lack of rest does not explain is judged.
pub enum Apart {
    No,
    Heed(Finding),
    Stop(String),
}

impl Apart {
    pub fn of(asked: &Asked) -> Self {
        let (pack, club) = (&asked.pack, ClubLimits::default());
        let rested = Rested::of_minutes(pack.rested_minutes);
        let found = judge(&pack.build, &pack.volts, rested, &club);
        let Some(spread) = found.into_iter().find(|each| each.rule.is_of_spread()) else {
            return Self::No;
        };
        if spread.rule == Rule::SpreadWatch {
            return Self::Heed(spread);
        }
        // Nobody here reads it again once it has rested.
        let apart_mv = pack.volts.spread_mv().unwrap_or(0);
        if spread.rule == Rule::SpreadOut || apart_mv > OUT_OF_SERVICE_MV {
            return Self::Stop(format!("{} {}", spread.words, spread.next));
        }
        let fills = matches!(
            asked.purpose,
            Purpose::ReadyBy { .. } | Purpose::NoHurry { .. }
        );
        if fills && pack.build.chemistry.is_lithium() {
            return Self::Heed(spread);
        }
        Self::Stop(format!(
            "{} {TOGETHER} Until then nothing else is planned for it.",
            spread.words
        ))
    }

    /// Never harder than usual, whatever the haste.
    pub fn hold_back(&self, asked: &mut Asked) {
        if matches!(self, Self::Heed(found) if found.rule == Rule::SpreadWide) {
            asked.club.most_c_tenths = asked.club.usual_c_tenths;
        }
    }

    /// A stop comes before everything, after those that the bench has.
    pub fn heard(&self, answer: Answer) -> Answer {
        let Self::Stop(words) = self else {
            return answer;
        };
        let mut stops = match answer {
            Answer::Stop(stops) => stops,
            _ => Vec::new(),
        };
        stops.push(words.clone());
        Answer::Stop(stops)
    }

    /// As a code, and in words for a card.
    pub fn caution(&self) -> Option<(CautionKind, String)> {
        let Self::Heed(found) = self else {
            return None;
        };
        let (kind, next) = match found.rule {
            Rule::SpreadWide => (CautionKind::SpreadWide, TOGETHER),
            _ => (CautionKind::SpreadWatch, found.next.as_str()),
        };
        Some((kind, format!("{} {next}", found.words)))
    }
}

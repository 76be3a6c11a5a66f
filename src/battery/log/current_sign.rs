//! Which sign of a log's current is charging: formats do not say. Volts rise while a cell is charged, and jump up when a
//! current turns towards charging; a counter of charge rises only while it is charged. Where these are silent or disagree,
//! nothing is guessed.

use super::Sample;
use super::counters;
use super::parts::{Kind, Part, Scale};

#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum CurrentSign {
    ChargingIsPositive,
    DischargingIsPositive,
}

impl CurrentSign {
    pub const ALL: [Self; 2] = [Self::ChargingIsPositive, Self::DischargingIsPositive];

    pub const fn code(self) -> &'static str {
        match self {
            Self::ChargingIsPositive => "charging",
            Self::DischargingIsPositive => "discharging",
        }
    }

    pub fn from_code(code: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|each| each.code() == code)
    }

    pub const fn label(self) -> &'static str {
        match self {
            Self::ChargingIsPositive => "Positive current charges",
            Self::DischargingIsPositive => "Positive current discharges",
        }
    }
}

/// The Display is what a person is asked.
#[derive(Clone, Copy, Debug, PartialEq, Eq, thiserror::Error)]
pub enum SignUnclear {
    #[error(
        "The volts hardly move, so the log does not tell whether positive current charges or discharges. Say which."
    )]
    Silent,
    #[error(
        "The volts rise and fall under current of the same sign. Say whether positive current charges or discharges; if this log has no sign at all, bring in its charge and its discharge one by one."
    )]
    VoltsDisagree,
    #[error(
        "The volts say one thing and the file's counters the other. Say whether positive current charges or discharges."
    )]
    CountersDisagree,
}

/// Less than this tells nothing: a meter's error, twice.
const MOVES_V: f64 = 0.020;
/// What speaks against may be so large a part of what speaks for it.
const AGAINST: f64 = 0.25;

/// What speaks for 'positive charges', and what against.
#[derive(Clone, Copy, Debug, Default)]
struct Votes {
    charging: f64,
    discharging: f64,
}

impl Votes {
    /// Above zero: for charging.
    fn cast(&mut self, vote: f64) {
        self.charging += vote.max(0.0);
        self.discharging += (-vote).max(0.0);
    }

    fn most(self) -> f64 {
        self.charging.max(self.discharging)
    }

    fn told(self) -> Option<CurrentSign> {
        let least = self.charging.min(self.discharging);
        match self.charging > self.discharging {
            _ if least > AGAINST * self.most() => None,
            true => Some(CurrentSign::ChargingIsPositive),
            false => Some(CurrentSign::DischargingIsPositive),
        }
    }
}

pub(super) fn told(
    samples: &[Sample],
    parts: &[Part],
    scale: Scale,
) -> Result<CurrentSign, SignUnclear> {
    if samples.iter().all(|each| each.amps == 0.0) {
        // Nothing flows: both come to the same.
        return Ok(CurrentSign::ChargingIsPositive);
    }
    let volts = by_volts(samples, parts, scale);
    let counted = by_counters(samples);
    let says_counter = (counted.most() > 0.0).then(|| counted.told()).flatten();
    let says_volts = (volts.most() > MOVES_V).then(|| volts.told());
    match (says_volts, says_counter) {
        (Some(Some(volts)), Some(counter)) if volts != counter => {
            Err(SignUnclear::CountersDisagree)
        }
        (Some(Some(sign)), _) | (None | Some(None), Some(sign)) => Ok(sign),
        (Some(None), None) => Err(SignUnclear::VoltsDisagree),
        (None, None) => Err(SignUnclear::Silent),
    }
}

fn by_volts(samples: &[Sample], parts: &[Part], scale: Scale) -> Votes {
    let mut votes = Votes::default();
    for part in parts {
        match part.kind {
            // In a rest volts settle, and at a constant voltage they stand.
            Kind::Rest | Kind::ConstantVoltage => {}
            Kind::ConstantCurrent | Kind::Pulse => {
                votes.cast((part.end_v - part.start_v) * part.amps.signum());
            }
            Kind::Changing => {
                let inside = samples.get(part.readings()).unwrap_or_default();
                votes.cast(inside.windows(2).map(|two| jump(two, scale)).sum());
            }
        }
    }
    for two in parts.windows(2) {
        let ends = samples.get(two[0].last..two[1].first + 1);
        votes.cast(jump(ends.unwrap_or_default(), scale));
    }
    votes
}

/// How far the volts jump along with the current; 0 where the current does not.
fn jump(two: &[Sample], scale: Scale) -> f64 {
    match two {
        [from, to] if scale.is_edge(from.amps, to.amps) => {
            (to.volts - from.volts) * (to.amps - from.amps).signum()
        }
        _ => 0.0,
    }
}

fn by_counters(samples: &[Sample]) -> Votes {
    let mut votes = Votes::default();
    for counter in [counters::CHARGING, counters::DISCHARGING] {
        // As if it counted with either sign: the true one finds its rises covered by a current, the other does not.
        let counted =
            |towards: f64| counters::count(samples, counter, towards).map_or(0.0, |each| each.ah);
        votes.cast(counted(counter.towards) - counted(-counter.towards));
    }
    votes
}

#[cfg(test)]
#[path = "current_sign_tests.rs"]
mod tests;

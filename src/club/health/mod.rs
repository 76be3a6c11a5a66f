//! What the readings of a pack tell together: how resistance, capacity, balance and loss by lying went, each held against
//! the club's limits, and what may be expected of it. Leaves the volts of one reading to `reading`. Nothing here is danger
//! and nothing retires a pack: at most it is set aside until somebody looked. mV, micro-ohm, mAh, degrees Celsius.

mod balance;
mod capacity;
mod expected;
mod figured;
mod history;
mod limits;
mod lying;
mod reason;
mod resistance;
mod standing;
mod worn;

pub use balance::BalanceTold;
pub use capacity::CapacityTold;
pub use expected::{AgeingTold, ChargeTold, EnergyTold, PeakTold};
pub use history::{Asked, HealthPack, HealthReading, Resistance};
pub use limits::HealthLimits;
pub use lying::{LyingTold, RateTold};
pub use reason::{Figure, Reason, Sure, Unit, source_told};
pub use resistance::{CellResistance, ResistanceTold, measured_ohms};
pub use standing::{Story, Verdict, verdict};

use super::verdict::{Finding, Gravity, Rule};
use crate::battery::capacity::NoCapacity;
use crate::battery::remaining::Remaining;
use history::History;

/// What one part of the readings comes to.
#[derive(Default)]
struct Part {
    reasons: Vec<Reason>,
    /// What the newest reading could speak on.
    answers: Vec<Rule>,
}

/// What is told and held against nobody; None where too little was read.
#[derive(Clone, Debug, PartialEq)]
pub struct Told {
    pub charge: Option<ChargeTold>,
    pub balance: Option<BalanceTold>,
    pub resistance: Option<ResistanceTold>,
    pub capacity: Result<CapacityTold, NoCapacity>,
    pub lying: Option<LyingTold>,
    /// Months of use in full, until capacity or resistance makes it one for practice.
    pub remaining: Remaining,
    pub peak: PeakTold,
    pub energy: Option<EnergyTold>,
    pub ageing: Option<AgeingTold>,
}

#[derive(Clone, Debug, PartialEq)]
pub struct Health {
    /// Gravest first.
    pub reasons: Vec<Reason>,
    pub told: Told,
    answers: Vec<Rule>,
}

pub fn health(asked: &Asked<'_>) -> Health {
    let history = History::of(asked);
    let (resistance, of_resistance) = resistance::weighed(&history);
    let capacity = capacity::weighed(&history);
    let (lying, of_lying) = lying::weighed(&history);
    let (balance, of_balance) = balance::weighed(&history);
    let charge = expected::charge(&history);
    let told = Told {
        energy: expected::energy(
            &history,
            charge.as_ref(),
            resistance.worst_uohm,
            capacity.told.as_ref().ok(),
        ),
        peak: expected::peak(&history, charge.as_ref(), resistance.worst_uohm),
        ageing: expected::ageing(&history, charge.as_ref()),
        remaining: worn::remaining(&history, &capacity, &resistance.course),
        charge,
        balance,
        resistance: resistance.told,
        capacity: capacity.told,
        lying,
    };
    let parts = [of_resistance, capacity.part, of_lying, of_balance];
    let mut whole = Part::default();
    for part in parts {
        whole.reasons.extend(part.reasons);
        whole.answers.extend(part.answers);
    }
    whole
        .reasons
        .sort_by_key(|reason| std::cmp::Reverse(reason.finding.gravity));
    Health {
        reasons: whole.reasons,
        told,
        answers: whole.answers,
    }
}

impl Health {
    /// Whether the newest reading answers a finding of this rule that was open: it could speak on it, and with those before
    /// it says so no longer, or as a note at most.
    pub fn closes(&self, open: Rule) -> bool {
        self.answers.contains(&open) && self.says(open).is_none()
    }

    /// What all readings say by this rule that counts.
    pub fn says(&self, rule: Rule) -> Option<&Finding> {
        let mut said = self.reasons.iter().map(|each| &each.finding);
        said.find(|finding| finding.rule == rule && finding.gravity > Gravity::Note)
    }

    /// What the newest reading says with those before it, and counts. What it does not speak on stays as it was left.
    pub fn opens(&self) -> impl Iterator<Item = &Finding> {
        self.answers.iter().filter_map(|rule| self.says(*rule))
    }
}

#[cfg(test)]
mod capacity_tests;
#[cfg(test)]
mod lying_tests;
#[cfg(test)]
mod properties_tests;
#[cfg(test)]
mod resistance_tests;
#[cfg(test)]
mod scenes_tests;
#[cfg(test)]
mod standing_tests;

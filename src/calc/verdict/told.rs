//! The verdict as it is answered: state and reasons, and what the readings tell beside. Where something can't be told it is
//! null, and where that has a reason the reason stands beside it.

use super::super::given::rounded;
use super::beside::{
    ToldAgeing, ToldCapacity, ToldCharge, ToldEnergy, ToldImbalance, ToldLying, ToldPeak,
    ToldRemaining, ToldResistance,
};
use super::codes::{ToldGravity, ToldState, ToldSure, ToldUnit};
use crate::club::calendar::Instant;
use crate::club::health::{Asked, Health, Reason, Told, Verdict};
use serde::Serialize;
use utoipa::ToSchema;

#[derive(Clone, Debug, PartialEq, Serialize, ToSchema)]
pub struct VerdictTold {
    #[schema(inline)]
    pub state: ToldState,
    /// Gravest first.
    #[schema(inline)]
    pub findings: Vec<ToldFinding>,
    #[schema(inline)]
    pub told: ToldBeside,
}

#[derive(Clone, Debug, PartialEq, Serialize, ToSchema)]
pub struct ToldFinding {
    /// A code that never changes.
    pub rule: String,
    #[schema(inline)]
    pub gravity: ToldGravity,
    pub words: String,
    /// What to do, and what would change it; empty beside a finding that forbids it.
    pub next: String,
    /// Where its limit comes from.
    pub source: String,
    #[schema(inline)]
    pub sure: ToldSure,
    /// From 1.
    pub cell: Option<usize>,
    pub figure: Option<f64>,
    pub limit: Option<f64>,
    /// Of the figure and its limit.
    #[schema(inline)]
    pub unit: Option<ToldUnit>,
}

/// Each null where too little was read.
#[derive(Clone, Debug, PartialEq, Serialize, ToSchema)]
pub struct ToldBeside {
    #[schema(inline)]
    pub charge: Option<ToldCharge>,
    #[schema(inline)]
    pub imbalance: Option<ToldImbalance>,
    #[schema(inline)]
    pub resistance: Option<ToldResistance>,
    #[schema(inline)]
    pub capacity: Option<ToldCapacity>,
    /// Why there is no capacity.
    pub capacity_unknown: Option<String>,
    #[schema(inline)]
    pub self_discharge: Option<ToldLying>,
    #[schema(inline)]
    pub remaining: ToldRemaining,
    #[schema(inline)]
    pub peak: ToldPeak,
    #[schema(inline)]
    pub energy: Option<ToldEnergy>,
    #[schema(inline)]
    pub ageing: Option<ToldAgeing>,
}

/// What the readings of a pack on record tell: as a verdict, less the state, which its pool knows.
#[derive(Clone, Debug, PartialEq, Serialize, ToSchema)]
pub struct HealthTold {
    /// Gravest first.
    #[schema(inline)]
    pub findings: Vec<ToldFinding>,
    #[schema(inline)]
    pub told: ToldBeside,
}

impl HealthTold {
    pub fn of(health: Health, asked: &Asked<'_>) -> Self {
        Self {
            findings: health.reasons.into_iter().map(ToldFinding::of).collect(),
            told: ToldBeside::of(&health.told, asked),
        }
    }
}

impl From<VerdictTold> for HealthTold {
    fn from(VerdictTold { findings, told, .. }: VerdictTold) -> Self {
        Self { findings, told }
    }
}

impl VerdictTold {
    pub(super) fn of(verdict: Verdict, asked: &Asked<'_>) -> Self {
        Self {
            state: verdict.state.into(),
            findings: verdict.reasons.into_iter().map(ToldFinding::of).collect(),
            told: ToldBeside::of(&verdict.told, asked),
        }
    }
}

impl ToldFinding {
    fn of(reason: Reason) -> Self {
        let finding = reason.finding;
        Self {
            rule: finding.rule.code().to_owned(),
            gravity: finding.gravity.into(),
            words: finding.words,
            next: finding.next,
            source: reason.source.to_owned(),
            sure: reason.sure.into(),
            cell: reason.cell,
            figure: reason.figure.map(|figure| rounded(figure.value)),
            limit: reason.figure.map(|figure| rounded(figure.limit)),
            unit: reason.figure.map(|figure| figure.unit.into()),
        }
    }
}

impl ToldBeside {
    fn of(told: &Told, asked: &Asked<'_>) -> Self {
        let days_ago =
            |at: Instant| rounded((asked.now.ms() as f64 - at.ms() as f64) / 86_400_000.0);
        let capacity = told.capacity.as_ref();
        Self {
            charge: told.charge.as_ref().map(ToldCharge::of),
            imbalance: told
                .balance
                .map(|balance| ToldImbalance::of(&balance, days_ago(balance.at))),
            resistance: told
                .resistance
                .as_ref()
                .map(|resistance| ToldResistance::of(resistance, days_ago(resistance.at))),
            capacity: capacity
                .ok()
                .map(|capacity| ToldCapacity::of(capacity, days_ago(capacity.at))),
            capacity_unknown: capacity.err().map(ToString::to_string),
            self_discharge: told
                .lying
                .as_ref()
                .map(|lying| ToldLying::of(lying, days_ago(lying.at))),
            remaining: ToldRemaining::of(told.remaining),
            peak: ToldPeak::of(&told.peak),
            energy: told.energy.as_ref().map(ToldEnergy::of),
            ageing: told.ageing.as_ref().map(ToldAgeing::of),
        }
    }
}

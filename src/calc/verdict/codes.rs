//! Codes that a program gives and gets, each with its list in the schema.

use crate::battery::peak::{Limit, Unknown};
use crate::battery::resistance_read::MeterKind;
use crate::battery::self_discharge::Loss;
use crate::club::health::{Sure, Unit};
use crate::club::reading::beside::Context;
use crate::club::states::State;
use crate::club::verdict::Gravity;
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;

/// How a meter finds a resistance: by the sag under a load, or by an alternating current of about 1 kHz.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
#[serde(rename_all = "snake_case")]
pub enum GivenMeter {
    Load,
    Alternating,
}

impl GivenMeter {
    pub const fn kind(self) -> MeterKind {
        match self {
            Self::Load => MeterKind::Load,
            Self::Alternating => MeterKind::Alternating,
        }
    }
}

#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
#[serde(rename_all = "snake_case")]
pub enum GivenContext {
    AfterUse,
    AfterCharge,
    StorageCheck,
    CapacityRun,
    AtHome,
}

impl GivenContext {
    pub const fn context(self) -> Context {
        match self {
            Self::AfterUse => Context::AfterUse,
            Self::AfterCharge => Context::AfterCharge,
            Self::StorageCheck => Context::StorageCheck,
            Self::CapacityRun => Context::CapacityRun,
            Self::AtHome => Context::AtHome,
        }
    }
}

/// Rising from fit to quarantine.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, ToSchema)]
#[serde(rename_all = "snake_case")]
pub enum ToldState {
    Fit,
    Caution,
    NotKnown,
    SetAside,
    Quarantine,
}

impl From<State> for ToldState {
    /// No reading retires a pack, loses it or gives it away.
    fn from(state: State) -> Self {
        match state {
            State::Fit => Self::Fit,
            State::Caution => Self::Caution,
            State::SetAside => Self::SetAside,
            State::Quarantine => Self::Quarantine,
            State::NotKnown
            | State::Retired
            | State::Lost
            | State::GivenAway
            | State::Withdrawn => Self::NotKnown,
        }
    }
}

#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, ToSchema)]
#[serde(rename_all = "snake_case")]
pub enum ToldGravity {
    Note,
    Caution,
    NotKnown,
    ToMend,
    Danger,
    FinalDanger,
}

impl From<Gravity> for ToldGravity {
    fn from(gravity: Gravity) -> Self {
        match gravity {
            Gravity::Note => Self::Note,
            Gravity::Caution => Self::Caution,
            Gravity::NotKnown => Self::NotKnown,
            Gravity::ToMend => Self::ToMend,
            Gravity::Danger => Self::Danger,
            Gravity::FinalDanger => Self::FinalDanger,
        }
    }
}

/// How sure: what curve and meter leave open reaches to the kind side; a pool's record says that it only lay; one reading says so and
/// may be mistyped; several do; nothing is inferred.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, ToSchema)]
#[serde(rename_all = "snake_case")]
pub enum ToldSure {
    Perhaps,
    OnRecord,
    OneReading,
    SeveralReadings,
    AsRecorded,
}

impl From<Sure> for ToldSure {
    fn from(sure: Sure) -> Self {
        match sure {
            Sure::Perhaps => Self::Perhaps,
            Sure::OnRecord => Self::OnRecord,
            Sure::OneReading => Self::OneReading,
            Sure::SeveralReadings => Self::SeveralReadings,
            Sure::AsRecorded => Self::AsRecorded,
        }
    }
}

#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, ToSchema)]
#[serde(rename_all = "snake_case")]
pub enum ToldUnit {
    Times,
    MilliohmAh,
    PercentOfLabel,
    PercentAMonth,
    PercentADay,
    MvAMonth,
    PercentOfCharge,
    Volts,
}

impl From<Unit> for ToldUnit {
    fn from(unit: Unit) -> Self {
        match unit {
            Unit::Times => Self::Times,
            Unit::MilliohmAh => Self::MilliohmAh,
            Unit::PercentOfLabel => Self::PercentOfLabel,
            Unit::PercentAMonth => Self::PercentAMonth,
            Unit::PercentADay => Self::PercentADay,
            Unit::MvAMonth => Self::MvAMonth,
            Unit::PercentOfCharge => Self::PercentOfCharge,
            Unit::Volts => Self::Volts,
        }
    }
}

/// Rising.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, ToSchema)]
#[serde(rename_all = "snake_case")]
pub enum ToldLoss {
    CannotTellYet,
    Fine,
    PerhapsFast,
    Fast,
    Discard,
}

impl From<Loss> for ToldLoss {
    fn from(loss: Loss) -> Self {
        match loss {
            Loss::CannotTellYet => Self::CannotTellYet,
            Loss::Fine => Self::Fine,
            Loss::PerhapsFast => Self::PerhapsFast,
            Loss::Fast => Self::Fast,
            Loss::Discard => Self::Discard,
        }
    }
}

#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, ToSchema)]
#[serde(rename_all = "snake_case")]
pub enum ToldPeakLimit {
    Label,
    Sag,
}

impl From<Limit> for ToldPeakLimit {
    fn from(limit: Limit) -> Self {
        match limit {
            Limit::Label => Self::Label,
            Limit::Sag => Self::Sag,
        }
    }
}

#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, ToSchema)]
#[serde(rename_all = "snake_case")]
pub enum ToldUnknown {
    LabelRate,
    Resistance,
    Temperature,
    Sag,
}

impl From<Unknown> for ToldUnknown {
    fn from(unknown: Unknown) -> Self {
        match unknown {
            Unknown::LabelRate => Self::LabelRate,
            Unknown::Resistance => Self::Resistance,
            Unknown::Temperature => Self::Temperature,
            Unknown::Sag => Self::Sag,
        }
    }
}

#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, ToSchema)]
#[serde(rename_all = "snake_case")]
pub enum RemainingKind {
    NotEnoughReadings,
    TooShortWatched,
    Reached,
    Between,
}

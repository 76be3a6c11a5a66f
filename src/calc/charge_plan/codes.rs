//! What holds a plan back, what to do first and what to heed, as codes for programs.

use crate::bench::charger::Mode;
use crate::bench::plan::{Caution, First, Limit, Weakest};
use serde::Serialize;
use utoipa::ToSchema;

#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, ToSchema)]
#[serde(rename_all = "snake_case")]
pub enum ToldMode {
    Balance,
    Charge,
    Storage,
    Discharge,
}

#[derive(Clone, Debug, PartialEq, Serialize, ToSchema)]
pub struct ToldLimit {
    #[schema(inline)]
    pub by: LimitKind,
    /// Of a rate.
    pub c: Option<f64>,
    /// A plug's code, or the number of an adapter or a supply.
    pub what: Option<String>,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, ToSchema)]
#[serde(rename_all = "snake_case")]
pub enum LimitKind {
    ClubRate,
    ClubMost,
    Label,
    LabelSilent,
    Cool,
    Warm,
    Disposal,
    Charger,
    ChargerWatts,
    DischargeWatts,
    Plug,
    UnratedPlug,
    Adapter,
    Supply,
}

/// What to do with the charger before anything is plugged in.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, ToSchema)]
pub struct ToldFirst {
    #[schema(inline)]
    pub what: FirstKind,
    /// Where it was left at more than this pack takes.
    pub from_ma: Option<i64>,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, ToSchema)]
#[serde(rename_all = "snake_case")]
pub enum FirstKind {
    TurnDown,
    Read,
    Nothing,
}

#[derive(Clone, Copy, Debug, PartialEq, Serialize, ToSchema)]
pub struct ToldCaution {
    #[schema(inline)]
    pub what: CautionKind,
    /// Of one cell, where it ends lower than its chemistry does.
    pub cell_v: Option<f64>,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, ToSchema)]
#[serde(rename_all = "snake_case")]
pub enum CautionKind {
    Quick,
    AboveOneC,
    Cool,
    Warm,
    TwoAdapters,
    UnratedPlug,
    LevelsUnknown,
    EndsLower,
    NoMahCutoff,
    NoTimeCutoff,
    TimeUnknown,
    OwesBalance,
    Nickel,
    Lead,
    StorageBySteps,
    CellsApart,
    ForDisposal,
    OutOfTime,
    ReadUnrested,
    /// Its cells stand apart: balance it.
    SpreadWatch,
    /// So far that it is set aside: balanced at the usual rate and read again, and nothing else.
    SpreadWide,
}

impl ToldLimit {
    pub(super) fn of(limit: &Limit) -> Self {
        let rate = |by: LimitKind, c_tenths: i64| Self {
            by,
            c: Some(c_tenths as f64 / 10.0),
            what: None,
        };
        let plain = |by: LimitKind| Self {
            by,
            c: None,
            what: None,
        };
        let of = |by: LimitKind, what: &String| Self {
            what: Some(what.clone()),
            ..plain(by)
        };
        match limit {
            Limit::ClubRate { c_tenths } => rate(LimitKind::ClubRate, *c_tenths),
            Limit::ClubMost { c_tenths } => rate(LimitKind::ClubMost, *c_tenths),
            Limit::Label { c_tenths } => rate(LimitKind::Label, *c_tenths),
            Limit::LabelSilent { c_tenths } => rate(LimitKind::LabelSilent, *c_tenths),
            Limit::Cool { c_tenths } => rate(LimitKind::Cool, *c_tenths),
            Limit::Warm { c_tenths } => rate(LimitKind::Warm, *c_tenths),
            Limit::Disposal { c_tenths } => rate(LimitKind::Disposal, *c_tenths),
            Limit::Charger => plain(LimitKind::Charger),
            Limit::ChargerWatts => plain(LimitKind::ChargerWatts),
            Limit::DischargeWatts => plain(LimitKind::DischargeWatts),
            Limit::Chain(Weakest::Plug(code)) => of(LimitKind::Plug, code),
            Limit::Chain(Weakest::UnratedPlug(code)) => of(LimitKind::UnratedPlug, code),
            Limit::Chain(Weakest::Adapter(number)) => of(LimitKind::Adapter, number),
            Limit::Supply { number } => of(LimitKind::Supply, number),
        }
    }
}

impl From<Mode> for ToldMode {
    fn from(mode: Mode) -> Self {
        match mode {
            Mode::Balance => Self::Balance,
            Mode::Charge => Self::Charge,
            Mode::Storage => Self::Storage,
            Mode::Discharge => Self::Discharge,
        }
    }
}

impl From<First> for ToldFirst {
    fn from(first: First) -> Self {
        let (what, from_ma) = match first {
            First::TurnDown { from_ma } => (FirstKind::TurnDown, Some(from_ma)),
            First::Read => (FirstKind::Read, None),
            First::Nothing => (FirstKind::Nothing, None),
        };
        Self { what, from_ma }
    }
}

impl From<Caution> for ToldCaution {
    fn from(caution: Caution) -> Self {
        let (what, cell_v) = match caution {
            Caution::Quick => (CautionKind::Quick, None),
            Caution::AboveOneC => (CautionKind::AboveOneC, None),
            Caution::Cool { .. } => (CautionKind::Cool, None),
            Caution::Warm { .. } => (CautionKind::Warm, None),
            Caution::TwoAdapters => (CautionKind::TwoAdapters, None),
            Caution::UnratedPlug => (CautionKind::UnratedPlug, None),
            Caution::LevelsUnknown { .. } => (CautionKind::LevelsUnknown, None),
            Caution::EndsLower { cell_mv } => (CautionKind::EndsLower, Some(volts(cell_mv))),
            Caution::NoMahCutoff => (CautionKind::NoMahCutoff, None),
            Caution::NoTimeCutoff => (CautionKind::NoTimeCutoff, None),
            Caution::TimeUnknown => (CautionKind::TimeUnknown, None),
            Caution::OwesBalance => (CautionKind::OwesBalance, None),
            Caution::Nickel => (CautionKind::Nickel, None),
            Caution::Lead => (CautionKind::Lead, None),
            Caution::StorageBySteps => (CautionKind::StorageBySteps, None),
            Caution::CellsApart => (CautionKind::CellsApart, None),
            Caution::ForDisposal => (CautionKind::ForDisposal, None),
            Caution::OutOfTime => (CautionKind::OutOfTime, None),
            Caution::ReadUnrested => (CautionKind::ReadUnrested, None),
        };
        Self { what, cell_v }
    }
}

pub(super) fn volts(mv: i64) -> f64 {
    mv as f64 / 1_000.0
}

//! What several computations are given: a chemistry as it is spelled, a number and how far it goes.

use super::Wrong;
use crate::battery::chemistry::Chemistry;
use serde::{Deserialize, Serialize};
use std::fmt::Display;
use utoipa::ToSchema;

/// A chemistry as it is spelled.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
#[serde(rename_all = "lowercase")]
pub enum Kind {
    Lipo,
    Lihv,
    Liion,
    Lifepo4,
    Nimh,
    Pb,
}

impl Kind {
    pub const fn chemistry(self) -> Chemistry {
        match self {
            Self::Lipo => Chemistry::LiPo,
            Self::Lihv => Chemistry::LiHv,
            Self::Liion => Chemistry::LiIon,
            Self::Lifepo4 => Chemistry::LiFePo4,
            Self::Nimh => Chemistry::NiMh,
            Self::Pb => Chemistry::Pb,
        }
    }
}

/// A number from `least` to `most`, both counted in.
pub fn within<N: PartialOrd + Display>(
    field: &str,
    value: N,
    (least, most): (N, N),
) -> Result<N, Wrong> {
    if value >= least && value <= most {
        Ok(value)
    } else {
        Err(Wrong::with(field, format!("give {least} to {most}")))
    }
}

/// The same, of what may be unknown.
pub fn maybe_within<N: PartialOrd + Display>(
    field: &str,
    value: Option<N>,
    bounds: (N, N),
) -> Result<Option<N>, Wrong> {
    value.map(|value| within(field, value, bounds)).transpose()
}

/// Volts as whole thousandths.
pub fn milli(value: f64) -> i64 {
    (value * 1_000.0).round() as i64
}

/// To what a person can use: two decimals.
pub fn rounded(value: f64) -> f64 {
    (value * 100.0).round() / 100.0
}

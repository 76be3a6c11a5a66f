//! What several computations are given: a chemistry as it is spelled, a number and how far it goes.

use super::Wrong;
use crate::battery::chemistry::Chemistry;
use serde::{Deserialize, Serialize};
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
pub fn within(field: &str, value: f64, (least, most): (f64, f64)) -> Result<f64, Wrong> {
    if value >= least && value <= most {
        Ok(value)
    } else {
        Err(Wrong::with(field, format!("give {least} to {most}")))
    }
}

/// The same, of what may be unknown.
pub fn maybe_within(
    field: &str,
    value: Option<f64>,
    bounds: (f64, f64),
) -> Result<Option<f64>, Wrong> {
    value.map(|value| within(field, value, bounds)).transpose()
}

/// To what a person can use: two decimals.
pub fn rounded(value: f64) -> f64 {
    (value * 100.0).round() / 100.0
}

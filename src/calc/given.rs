//! What several computations are given: a chemistry as it is spelled, a number and how far it goes.

use super::Wrong;
use crate::battery::chemistry::Chemistry;
use crate::battery::limits::LabelVolts;
use serde::de::Error;
use serde::{Deserialize, Deserializer, Serialize};
use std::fmt::Display;
use utoipa::ToSchema;

/// A chemistry as it is spelled.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, ToSchema)]
#[serde(rename_all = "lowercase")]
pub enum Kind {
    Lipo,
    Lihv,
    Liion,
    Lifepo4,
    Nimh,
    Pb,
}

/// As a text, so that whoever sends something else is told that a text is wanted.
impl<'de> Deserialize<'de> for Kind {
    fn deserialize<D: Deserializer<'de>>(reader: D) -> Result<Self, D::Error> {
        let text = String::deserialize(reader)?;
        let known = Self::ALL.into_iter().zip(Self::CODES);
        let mut found = known.filter(|(_, code)| *code == text);
        found
            .next()
            .map(|(kind, _)| kind)
            .ok_or_else(|| D::Error::unknown_variant(&text, &Self::CODES))
    }
}

impl Kind {
    const ALL: [Self; 6] = [
        Self::Lipo,
        Self::Lihv,
        Self::Liion,
        Self::Lifepo4,
        Self::Nimh,
        Self::Pb,
    ];
    const CODES: [&'static str; 6] = ["lipo", "lihv", "liion", "lifepo4", "nimh", "pb"];

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

/// Of one cell, milliohm: more than any that takes a charge has.
pub const MOHM: (f64, f64) = (0.01, 2_000.0);

/// Volts a cell as a label has them: full above nominal, lowest below it, as a design is registered.
pub fn label(
    chemistry: Chemistry,
    (full_v, lowest_v): (Option<f64>, Option<f64>),
) -> Result<LabelVolts, Wrong> {
    let table = chemistry.limits();
    let v = |mv: i64| mv as f64 / 1_000.0;
    let full = (v(table.nominal_mv), v(table.plausible_high_mv));
    let lowest = (v(table.plausible_low_mv), v(table.nominal_mv));
    Ok(LabelVolts {
        full_mv: maybe_within("pack.label_full_v", full_v, full)?.map(milli),
        lowest_mv: maybe_within("pack.label_lowest_v", lowest_v, lowest)?.map(milli),
    })
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

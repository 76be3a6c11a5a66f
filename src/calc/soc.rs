//! How much charge a rested cell's volts tell.

use super::given::{Kind, maybe_within, rounded, within};
use super::{Compute, Wrong};
use crate::battery::curve::StateOfCharge;
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;

#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
#[schema(as = SocAsked)]
pub struct Soc {
    #[schema(inline)]
    pub chemistry: Kind,
    /// Of one cell, after an hour's rest, V; no more than any cell of its chemistry shows: 5, of NiMH 2, of lead 3.
    #[schema(minimum = 0, maximum = 5)]
    pub cell_v: f64,
    /// Of the cell, degrees Celsius; null: unknown, anything from 0 to 45.
    #[schema(minimum = -40, maximum = 80)]
    #[serde(default)]
    pub temperature_c: Option<f64>,
}

#[derive(Clone, Copy, Debug, PartialEq, Serialize, ToSchema)]
pub struct SocTold {
    /// Of what the cell can hold; null where its curve is flat, and where resting volts tell nothing.
    pub soc_percent: Option<f64>,
    pub soc_low_percent: f64,
    pub soc_high_percent: f64,
}

impl Compute for Soc {
    type Told = SocTold;

    fn compute(&self) -> Result<SocTold, Wrong> {
        let chemistry = self.chemistry.chemistry();
        let most_v = chemistry.limits().plausible_high_mv as f64 / 1_000.0;
        let cell_v = within("cell_v", self.cell_v, (0.0, most_v))?;
        let celsius = maybe_within("temperature_c", self.temperature_c, (-40.0, 80.0))?;
        let told = StateOfCharge::of(chemistry, cell_v, celsius);
        Ok(SocTold {
            soc_percent: told.percent.map(rounded),
            soc_low_percent: rounded(told.low_percent),
            soc_high_percent: rounded(told.high_percent),
        })
    }
    fn example() -> Self {
        Self {
            chemistry: Kind::Lipo,
            cell_v: 3.805,
            temperature_c: None,
        }
    }
}

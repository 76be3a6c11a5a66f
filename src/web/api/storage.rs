//! How a pack is stored: where it stands to its band, what it is believed to hold, when it falls to its minimum and what full days
//! have cost. Beliefs are bands, and no reading.

use crate::battery::range::Range;
use crate::club::care::cost::Cost;
use crate::club::care::forecast::{Falls, Forecast};
use crate::store::care::InCare;
use crate::web::care_seen::seen_of;
use crate::web::visit::SignedIn;
use serde::Serialize;
use utoipa::ToSchema;

#[derive(Clone, Debug, Default, Serialize, ToSchema)]
pub struct Storage {
    /// under, in or above its storage band; null: nothing tells, or it was out and nobody read it since.
    pub band: Option<String>,
    /// Whole days above its band.
    pub above_days: Option<i64>,
    /// It goes out only after its volts are logged.
    pub is_past_limit: bool,
    /// What it is believed to hold, in percent; null: nothing tells.
    pub believed_percent: Option<Band>,
    /// guessed, rough, by_charger or by_reading: how sure that is.
    pub sure: Option<String>,
    /// When its lowest cell falls to its minimum, if it lies; null: nothing tells what it holds, or not in ten years.
    pub falls: Option<FallsTo>,
    /// What the days above its band have cost so far; null: it never lay above.
    pub cost: Option<FullDays>,
}

/// From the least to the most.
#[derive(Clone, Debug, Default, Serialize, ToSchema)]
pub struct Band {
    pub least: f64,
    pub likely: f64,
    pub most: f64,
}

#[derive(Clone, Debug, Default, Serialize, ToSchema)]
pub struct FallsTo {
    pub earliest_on: String,
    /// null: in more than ten years.
    pub likely_on: Option<String>,
    pub latest_on: Option<String>,
}

/// Percent of its capacity, by two sources that are not one.
#[derive(Clone, Debug, Default, Serialize, ToSchema)]
pub struct FullDays {
    pub days: f64,
    /// By a battery-education site's table.
    pub by_table_percent: Band,
    /// By laboratory cells, none of them a hobby pack's.
    pub by_laboratory_percent: Band,
}

impl Storage {
    pub fn of(one: &InCare, who: &SignedIn) -> Option<Self> {
        let seen = seen_of(one, who)?;
        Some(Self {
            band: seen.band.map(|band| band.code().to_owned()),
            above_days: seen.above_days,
            is_past_limit: seen.is_past_limit,
            believed_percent: seen.belief.map(|belief| belief.charge_percent().into()),
            sure: seen.belief.map(|belief| belief.sure().code().to_owned()),
            falls: match seen.forecast {
                Forecast::Falls(falls) => Some(FallsTo::of(&falls, who)),
                Forecast::CannotTell | Forecast::NotInTenYears => None,
            },
            cost: seen.cost.map(|cost| FullDays::of(&cost)),
        })
    }
}

impl From<Range> for Band {
    /// To tenths.
    fn from(range: Range) -> Self {
        let tenths = |value: f64| (value * 10.0).round() / 10.0;
        Self {
            least: tenths(range.least),
            likely: tenths(range.likely),
            most: tenths(range.most),
        }
    }
}

impl FallsTo {
    fn of(falls: &Falls, who: &SignedIn) -> Self {
        let day = |at| who.zone.day_of(at).to_string();
        Self {
            earliest_on: day(falls.earliest),
            likely_on: falls.likely.map(day),
            latest_on: falls.latest.map(day),
        }
    }
}

impl FullDays {
    fn of(cost: &Cost) -> Self {
        Self {
            days: (cost.days * 10.0).round() / 10.0,
            by_table_percent: cost.above.handbook.into(),
            by_laboratory_percent: cost.above.laboratory.into(),
        }
    }
}

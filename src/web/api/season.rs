//! A season of storage care, looked back on.

use super::document;
use super::operation::{Call, Shown};
use super::trouble::Trouble;
use crate::web::page::PageError;
use crate::web::season::{self as page, looked_back};
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;
use uuid::Uuid;

#[derive(Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct SeasonAsked {
    /// A day before today, 105 weeks back at most; else half a year back.
    from_on: Option<String>,
}

/// As a week ended, or now where it is not over: how many packs stood where.
#[derive(Clone, Debug, Default, Serialize, ToSchema)]
pub struct SeasonWeek {
    /// Its Monday.
    pub first_on: String,
    pub packs: usize,
    pub in_band: usize,
    pub above_band: usize,
    pub under_band: usize,
    pub unknown: usize,
    /// null where there was no pack.
    pub in_band_percent: Option<f64>,
}

/// An event that ended in the season, and how its packs were put to storage.
#[derive(Clone, Debug, Default, Serialize, ToSchema)]
pub struct SeasonEvent {
    pub id: Uuid,
    pub name: String,
    pub ended_on: String,
    pub packs: usize,
    pub stored: usize,
    /// null while half of them are not.
    pub median_days: Option<f64>,
}

#[derive(Clone, Debug, Default, Serialize, ToSchema)]
pub struct Season {
    pub weeks: Vec<SeasonWeek>,
    pub events: Vec<SeasonEvent>,
}

impl Shown for Season {
    fn example() -> Self {
        Self {
            weeks: vec![SeasonWeek {
                first_on: "2026-11-23".to_owned(),
                packs: 8,
                in_band: 6,
                above_band: 1,
                under_band: 0,
                unknown: 1,
                in_band_percent: Some(75.0),
            }],
            events: vec![SeasonEvent {
                id: document::EVENT,
                name: "Autumn Bouts".to_owned(),
                ended_on: "2026-11-21".to_owned(),
                packs: 4,
                stored: 3,
                median_days: Some(1.5),
            }],
        }
    }
}

pub async fn show(call: Call<SeasonAsked>) -> Result<Season, Trouble> {
    let asked = page::Asked::of(call.sent.from_on.unwrap_or_default());
    let from = asked.from_day(&call.who).map_err(PageError::Unreadable)?;
    let season = looked_back(&call.app, &call.who, from).await;
    let season = season.map_err(PageError::from)?;
    let weeks = season.weeks.iter().map(|(week, counts)| SeasonWeek {
        first_on: week.first.to_string(),
        packs: counts.all(),
        in_band: counts.inside,
        above_band: counts.above,
        under_band: counts.under,
        unknown: counts.unknown,
        in_band_percent: counts.percent(counts.inside),
    });
    let events = season.events.iter().map(|event| SeasonEvent {
        id: event.id,
        name: event.name.clone(),
        ended_on: page::last_day(event, &call.who).to_string(),
        packs: event.after.packs,
        stored: event.after.stored,
        median_days: event.after.median_days,
    });
    Ok(Season {
        weeks: weeks.collect(),
        events: events.collect(),
    })
}

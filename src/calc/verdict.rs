//! How a pack stands by its readings: its state with reasons, and what else they tell. As a pool would judge them one after
//! the other; what only a pool knows, loans and reports and who released it, is asked for or left away.

mod beside;
mod codes;
mod given;
mod told;

pub use given::{VerdictPack, VerdictReading, VerdictSister};
pub use told::{HealthTold, VerdictTold};

use super::{Compute, Wrong, shapes};
use crate::battery::pack::Build;
use crate::club::calendar::{Instant, Zone};
use crate::club::health::{Asked, HealthLimits, HealthReading, Story, verdict};
use crate::club::limits::ClubLimits;
use crate::club::seen::Seen;
use given::Time;
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;

#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
#[schema(as = VerdictAsked)]
pub struct Verdict {
    #[schema(inline)]
    pub pack: VerdictPack,
    /// In any order, at most 1000; none that was corrected.
    #[schema(inline, max_items = 1000)]
    pub readings: Vec<VerdictReading>,
    /// The newest reading of each pack of the same design, at most 200.
    #[schema(inline, max_items = 200)]
    #[serde(default)]
    pub sisters: Option<Vec<VerdictSister>>,
    #[schema(schema_with = shapes::seen)]
    #[serde(default)]
    pub seen: Option<Vec<String>>,
    /// When a second person last released it from quarantine: danger read before counts no more, nor what took it out of service.
    #[schema(minimum = 0, maximum = 36500)]
    #[serde(default)]
    pub released_days_ago: Option<f64>,
    /// The same as an instant, RFC 3339.
    #[schema(format = "date-time")]
    #[serde(default)]
    pub released_at: Option<String>,
    /// RFC 3339; null: the newest instant given.
    #[schema(format = "date-time")]
    #[serde(default)]
    pub now: Option<String>,
}

const READINGS_MAX: usize = 1_000;
const SISTERS_MAX: usize = 200;
pub(super) const SEEN_MAX: usize = 20;

impl Compute for Verdict {
    type Told = VerdictTold;

    fn compute(&self) -> Result<VerdictTold, Wrong> {
        let pack = self.pack.checked()?;
        let time = self.time()?;
        let readings = self.checked_readings(&pack.build, &time)?;
        let sisters = self.checked_sisters(&pack.build)?;
        let released = match (&self.released_at, self.released_days_ago) {
            (None, None) => None,
            (at, days) => {
                let fields = ("released_at", "released_days_ago");
                Some(time.of_named(at.as_deref(), days, fields)?)
            }
        };
        let zone = Zone::utc();
        let asked = Asked {
            pack: &pack,
            readings: &readings,
            sisters: &sisters,
            now: time.now,
            club: &ClubLimits::default(),
            limits: &HealthLimits::default(),
            zone: time.is_dated.then_some(&zone),
        };
        let each = self.readings.iter();
        let confirmed: Vec<bool> = each.map(|one| one.confirmed.unwrap_or(false)).collect();
        let told = verdict(&Story {
            asked,
            confirmed: &confirmed,
            seen: &self.seen()?,
            released,
        });
        Ok(VerdictTold::of(told, &asked))
    }

    fn example() -> Self {
        Self {
            pack: VerdictPack::example(),
            readings: VerdictReading::examples(),
            sisters: None,
            seen: None,
            released_days_ago: None,
            released_at: None,
            now: None,
        }
    }
}

impl Verdict {
    fn time(&self) -> Result<Time, Wrong> {
        let mut newest: Option<Instant> = None;
        for (index, reading) in self.readings.iter().enumerate() {
            if let Some(at) = &reading.at {
                let at = given::instant(&format!("readings[{index}].at"), at)?;
                newest = newest.max(Some(at));
            }
        }
        if let Some(at) = &self.released_at {
            newest = newest.max(Some(given::instant("released_at", at)?));
        }
        let now = self.now.as_deref();
        let now = now.map(|now| given::instant("now", now)).transpose()?;
        Ok(Time::of(now.or(newest)))
    }

    fn checked_readings(&self, build: &Build, time: &Time) -> Result<Vec<HealthReading>, Wrong> {
        given::at_most("readings", self.readings.len(), READINGS_MAX)?;
        let each = self.readings.iter().enumerate();
        each.map(|(index, reading)| reading.checked(&format!("readings[{index}]"), build, time))
            .collect()
    }

    fn checked_sisters(&self, build: &Build) -> Result<Vec<HealthReading>, Wrong> {
        let sisters = self.sisters.as_deref().unwrap_or_default();
        given::at_most("sisters", sisters.len(), SISTERS_MAX)?;
        let each = sisters.iter().enumerate();
        each.map(|(index, sister)| sister.checked(&format!("sisters[{index}]"), build))
            .collect()
    }

    fn seen(&self) -> Result<Vec<Seen>, Wrong> {
        let seen = self.seen.as_deref().unwrap_or_default();
        given::at_most("seen", seen.len(), SEEN_MAX)?;
        let each = seen.iter().enumerate();
        each.map(|(index, code)| {
            Seen::from_code(code).ok_or_else(|| {
                let codes: Vec<&str> = Seen::ALL.map(Seen::code).to_vec();
                let words = format!("give one of {}", codes.join(", "));
                Wrong::with(&format!("seen[{index}]"), words)
            })
        })
        .collect()
    }
}

#[cfg(test)]
mod tests;

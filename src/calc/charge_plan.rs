//! Which of the given chargers, supplies, cables and adapters charge a pack, in which mode and at which current: the bench's
//! charge plan. What a club may only tighten is no looser here.

mod apart;
mod codes;
mod kit;
mod plugs;
mod told;

pub use kit::{PlannedAdapter, PlannedCable, PlannedCharger, PlannedConnector, PlannedSupply};
pub use told::ChargePlanTold;

use super::given::{Kind, MOHM, label, maybe_within, milli, within};
use super::{Compute, Wrong, shapes};
use crate::battery::chemistry::Chemistry;
use crate::battery::pack::Build;
use crate::battery::settling::NEARLY_MINUTES;
use crate::battery::volts::{CELLS_MAX, Volts};
use crate::bench::plan::{Asked, ClubRules, Pack, Purpose, Warmth, plan};
use crate::club::limits::ClubLimits;
use apart::Apart;
use plugs::Plugs;
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;

#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
#[schema(as = ChargePlanAsked)]
pub struct ChargePlan {
    #[schema(inline)]
    pub pack: PlannedPack,
    /// Of the pack, whole degrees Celsius; null: unknown, and the answer asks for it.
    #[schema(minimum = -100, maximum = 200)]
    #[serde(default)]
    pub pack_celsius: Option<i64>,
    /// The pack's was read off the pack itself; null: it was not.
    #[serde(default)]
    pub pack_is_measured: Option<bool>,
    /// Of the room, the same.
    #[schema(minimum = -100, maximum = 200)]
    #[serde(default)]
    pub room_celsius: Option<i64>,
    #[schema(schema_with = shapes::purpose)]
    pub purpose: PlannedFor,
    #[schema(inline)]
    #[serde(default)]
    pub club: Option<PlannedRates>,
    /// Kit at hand: what works and is not lent. At most 100.
    #[schema(inline, max_items = 100)]
    #[serde(default)]
    pub chargers: Option<Vec<PlannedCharger>>,
    /// At most 100.
    #[schema(inline, max_items = 100)]
    #[serde(default)]
    pub supplies: Option<Vec<PlannedSupply>>,
    /// At most 200.
    #[schema(inline, max_items = 200)]
    #[serde(default)]
    pub cables: Option<Vec<PlannedCable>>,
    /// At most 400 kinds.
    #[schema(inline, max_items = 400)]
    #[serde(default)]
    pub adapters: Option<Vec<PlannedAdapter>>,
    /// The club's own connectors; the usual ones are known. At most 100.
    #[schema(inline, max_items = 100)]
    #[serde(default)]
    pub connectors: Option<Vec<PlannedConnector>>,
}

/// A pack and what it reads now: either the volts of each cell or those of the whole pack.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct PlannedPack {
    #[schema(inline)]
    pub chemistry: Kind,
    /// In series.
    #[schema(minimum = 1, maximum = 32)]
    pub cells: i64,
    /// As its label has it.
    #[schema(minimum = 1, maximum = 1000000)]
    pub capacity_mah: f64,
    #[schema(schema_with = shapes::cells_v)]
    #[serde(default)]
    pub cell_volts: Option<Vec<f64>>,
    /// Of the whole pack, V. Lithium in series is planned by its cells alone.
    #[schema(minimum = 0, maximum = 999)]
    #[serde(default)]
    pub pack_v: Option<f64>,
    /// The code of its main plug.
    #[schema(max_length = 40)]
    pub connector: String,
    /// The code of its balance plug; null: it has none.
    #[schema(max_length = 40)]
    #[serde(default)]
    pub balance_connector: Option<String>,
    /// What its label allows, in C; null: the label is silent, and no more than its chemistry's usual rate is planned.
    #[schema(minimum = 0.1, maximum = 20)]
    #[serde(default)]
    pub label_charge_c: Option<f64>,
    /// Full as its label has it, V a cell; null: its chemistry's. Not under what its chemistry is nominally.
    #[schema(minimum = 1.2, maximum = 5)]
    #[serde(default)]
    pub label_full_v: Option<f64>,
    /// The least its label allows, V a cell; null: its chemistry's. Not over what its chemistry is nominally.
    #[schema(minimum = 0.2, maximum = 3.8)]
    #[serde(default)]
    pub label_lowest_v: Option<f64>,
    /// Of one cell in ten seconds, at 25 degrees; null: typical of its chemistry and capacity.
    #[schema(minimum = 0.01, maximum = 2000)]
    #[serde(default)]
    pub cell_resistance_mohm: Option<f64>,
    /// It lay a quarter of an hour or longer, so that the spread between its cells is known; null: it did not. Nobody knows whether
    /// it was an hour: its time is told less surely.
    #[serde(default)]
    pub rested: Option<bool>,
    /// Since it came out of a robot or back from a loan; under 15 it is planned for only where its own temperature is measured.
    /// null: longer ago.
    #[schema(minimum = 0, maximum = 100000)]
    #[serde(default)]
    pub minutes_since_use: Option<i64>,
    /// Its last charge did not wait for balance; null: it did.
    #[serde(default)]
    pub owes_balance: Option<bool>,
}

/// What the charge is for.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum PlannedFor {
    /// It must be ready in so many minutes: as hard as label and club allow where nothing gentler is.
    ReadyByMinutes(i64),
    /// No hurry, and somebody is there for so many minutes.
    ThereMinutes(i64),
    /// It will lie.
    Storage,
    /// As empty as its chemistry may be, before it is disposed of.
    Empty,
}

/// What the club set for this chemistry, in C; null: as every club starts. A club may be stricter, never looser: at most what its
/// chemistry starts with is taken, of lead 0.1 for both.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct PlannedRates {
    #[schema(minimum = 0.1, maximum = 1)]
    #[serde(default)]
    pub usual_c: Option<f64>,
    /// In haste, where the label allows it; never under the usual one.
    #[schema(minimum = 0.1, maximum = 2)]
    #[serde(default)]
    pub most_c: Option<f64>,
}

pub(super) const LONGEST_MINUTES: i64 = 100_000;
const CELSIUS: (i64, i64) = (-100, 200);

impl Compute for ChargePlan {
    type Told = ChargePlanTold;

    fn compute(&self) -> Result<ChargePlanTold, Wrong> {
        let plugs = kit::plugs(self)?;
        let pack = self.pack.checked(&plugs)?;
        let mut asked = Asked {
            warmth: Warmth {
                pack_celsius: maybe_within("pack_celsius", self.pack_celsius, CELSIUS)?,
                room_celsius: maybe_within("room_celsius", self.room_celsius, CELSIUS)?,
                pack_is_measured: self.pack_is_measured.unwrap_or(false),
            },
            purpose: self.purpose.checked()?,
            done_within: None,
            club: rates(self.club, pack.build.chemistry)?,
            pack,
        };
        let hand = kit::at_hand(self, plugs)?;
        let apart = Apart::of(&asked);
        apart.hold_back(&mut asked);
        let answer = apart.heard(plan(&asked, &hand).attended(asked.purpose));
        Ok(ChargePlanTold::of(answer, &asked.pack.build, &hand).with(&apart))
    }

    fn example() -> Self {
        Self {
            pack: PlannedPack {
                chemistry: Kind::Lipo,
                cells: 3,
                capacity_mah: 450.0,
                cell_volts: Some(vec![3.81, 3.80, 3.81]),
                pack_v: None,
                connector: "xt30".to_owned(),
                balance_connector: Some("jst-xh".to_owned()),
                label_charge_c: Some(2.0),
                label_full_v: None,
                label_lowest_v: None,
                cell_resistance_mohm: None,
                rested: Some(true),
                minutes_since_use: None,
                owes_balance: None,
            },
            pack_celsius: Some(21),
            pack_is_measured: None,
            room_celsius: Some(20),
            purpose: PlannedFor::ThereMinutes(120),
            club: None,
            chargers: Some(vec![PlannedCharger::example()]),
            supplies: Some(vec![PlannedSupply::example()]),
            cables: None,
            adapters: Some(vec![PlannedAdapter::example()]),
            connectors: None,
        }
    }
}

impl PlannedPack {
    fn checked(&self, plugs: &Plugs) -> Result<Pack, Wrong> {
        let chemistry = self.chemistry.chemistry();
        let build = Build {
            chemistry,
            cells_series: within("pack.cells", self.cells, (1, CELLS_MAX as i64))?,
            groups_parallel: 1,
            capacity_mah: within("pack.capacity_mah", self.capacity_mah, (1.0, 1_000_000.0))?
                .floor() as i64,
            sees_cells: self.balance_connector.is_some(),
            label: label(chemistry, (self.label_full_v, self.label_lowest_v))?,
        };
        let label_c = maybe_within("pack.label_charge_c", self.label_charge_c, (0.1, 20.0))?;
        let mohm = maybe_within("pack.cell_resistance_mohm", self.cell_resistance_mohm, MOHM)?;
        let balance = self.balance_connector.as_deref();
        Ok(Pack {
            build,
            limits: ClubLimits::default().of_cell(&build),
            label_charge_c_tenths: label_c.map(tenths),
            connector: plugs.known("pack.connector", &self.connector)?,
            balance: balance
                .map(|code| plugs.known("pack.balance_connector", code))
                .transpose()?,
            volts: self.volts()?,
            resistance_ohm: mohm.map(|mohm| mohm / 1_000.0),
            rested_minutes: if self.rested == Some(true) {
                NEARLY_MINUTES
            } else {
                0
            },
            is_spread_known: self.rested.unwrap_or(false),
            owes_balance: self.owes_balance.unwrap_or(false),
            from_use_minutes: maybe_within(
                "pack.minutes_since_use",
                self.minutes_since_use,
                (0, LONGEST_MINUTES),
            )?,
        })
    }

    fn volts(&self) -> Result<Volts, Wrong> {
        match (&self.cell_volts, self.pack_v) {
            (Some(_), Some(_)) => Err(Wrong::with(
                "pack.pack_v",
                "give the volts of each cell or of the pack, not both",
            )),
            (None, None) => Err(Wrong::with(
                "pack.cell_volts",
                "give the volts of each cell, or pack_v: without them nothing is planned",
            )),
            (None, Some(volts)) => Ok(Volts::Pack(milli(within(
                "pack.pack_v",
                volts,
                (0.0, 999.0),
            )?))),
            (Some(cells), None) if cells.is_empty() => {
                Err(Wrong::with("pack.cell_volts", "give one or more, or null"))
            }
            (Some(cells), None) => {
                if cells.len() > CELLS_MAX {
                    let words = format!("give at most {CELLS_MAX}");
                    return Err(Wrong::with("pack.cell_volts", words));
                }
                let read = cells.iter().enumerate().map(|(at, volts)| {
                    let field = format!("pack.cell_volts[{at}]");
                    within(&field, *volts, (0.0, 10.0)).map(milli)
                });
                read.collect::<Result<Vec<i64>, Wrong>>().map(Volts::Cells)
            }
        }
    }
}

impl PlannedFor {
    fn checked(self) -> Result<Purpose, Wrong> {
        let of = |name: &str, minutes: i64| {
            within(&format!("purpose.{name}"), minutes, (1, LONGEST_MINUTES))
        };
        Ok(match self {
            Self::ReadyByMinutes(minutes) => Purpose::ReadyBy {
                minutes: of("ready_by_minutes", minutes)?,
            },
            Self::ThereMinutes(minutes) => Purpose::NoHurry {
                there_minutes: of("there_minutes", minutes)?,
            },
            Self::Storage => Purpose::Storage,
            Self::Empty => Purpose::Empty,
        })
    }
}

fn rates(given: Option<PlannedRates>, chemistry: Chemistry) -> Result<ClubRules, Wrong> {
    let start = ClubLimits::default();
    let given = given.unwrap_or(PlannedRates {
        usual_c: None,
        most_c: None,
    });
    let rate = |field: &str, value: Option<f64>, least: i64, most: i64| {
        let c = |tenths: i64| tenths as f64 / 10.0;
        let given = maybe_within(field, value, (c(least), c(most)))?;
        Ok::<i64, Wrong>(given.map_or(most, tenths))
    };
    let usual = start.charge_c_tenths(chemistry);
    let usual_c_tenths = rate("club.usual_c", given.usual_c, 1, usual)?;
    let most = start.charge_most_c_tenths(chemistry);
    Ok(ClubRules {
        usual_c_tenths,
        most_c_tenths: rate("club.most_c", given.most_c, usual_c_tenths, most)?,
        charge_from_celsius: start.charge_from_celsius,
        charge_to_celsius: start.charge_to_celsius,
        small_spread_mv: start.spread_watch_mv,
    })
}

/// Down to a tenth: never more than was said. What a float makes of 0.3 is 0.3.
fn tenths(c: f64) -> i64 {
    (c * 10.0 + 1e-6).floor() as i64
}

#[cfg(test)]
mod tests;

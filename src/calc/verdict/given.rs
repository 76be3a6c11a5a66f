//! A pack and its readings as a program gives them. V, milliohm, mAh and degrees Celsius in; each checked by its name.

use super::super::given::{Kind, MOHM, label, maybe_within, milli, within};
use super::super::{Wrong, shapes};
use super::codes::{GivenContext, GivenMeter};
use crate::battery::pack::Build;
use crate::battery::volts::{CELLS_MAX, Volts};
use crate::club::calendar::Instant;
use crate::club::health::{HealthPack, HealthReading, Resistance};
use crate::club::reading::Rested;
use crate::club::reading::beside::Charge;
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;

/// A pack and its label; null: the label doesn't say.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct VerdictPack {
    #[schema(inline)]
    pub chemistry: Kind,
    /// In series.
    #[schema(minimum = 1, maximum = 32)]
    pub cells: i64,
    /// As its label has it.
    #[schema(minimum = 1, maximum = 1000000)]
    pub capacity_mah: f64,
    /// A balance lead lets each cell be measured; null: yes.
    #[serde(default)]
    pub sees_cells: Option<bool>,
    /// What it may give, as times its capacity.
    #[schema(minimum = 0.1, maximum = 1000)]
    #[serde(default)]
    pub label_discharge_c: Option<f64>,
    /// Full, of one cell, V. Not under what its chemistry is nominally.
    #[schema(minimum = 1.2, maximum = 5)]
    #[serde(default)]
    pub label_full_v: Option<f64>,
    /// The least, of one cell, V. Not over what its chemistry is nominally.
    #[schema(minimum = 0.2, maximum = 3.8)]
    #[serde(default)]
    pub label_lowest_v: Option<f64>,
}

/// What was read at once. When: either `days_ago` or `at`.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields, default)]
pub struct VerdictReading {
    #[schema(minimum = 0, maximum = 36500)]
    pub days_ago: Option<f64>,
    /// RFC 3339; not after `now`.
    #[schema(format = "date-time")]
    pub at: Option<String>,
    #[schema(schema_with = shapes::read_cells_v)]
    pub cell_volts: Option<Vec<f64>>,
    /// Of the whole pack, V, where its cells were not read.
    #[schema(minimum = 0, maximum = 999)]
    pub pack_v: Option<f64>,
    /// Volts that hardly any pack shows were measured again and are so, as a form asks: a cell is dead, missing or overcharged.
    /// null: nobody measured again; they set the pack aside until the next reading that is believed.
    pub confirmed: Option<bool>,
    /// Since it was used or charged; null: it had not rested.
    #[schema(minimum = 0, maximum = 100000)]
    pub rested_minutes: Option<f64>,
    #[schema(schema_with = shapes::cells_mohm)]
    pub resistance_mohm: Option<Vec<f64>>,
    /// What it was read with, as the club calls it: only what one meter said is held against each other.
    #[schema(max_length = 100)]
    pub meter: Option<String>,
    /// null: load.
    #[schema(inline)]
    pub meter_kind: Option<GivenMeter>,
    /// Of the pack.
    #[schema(minimum = -40, maximum = 80)]
    pub temperature_c: Option<f64>,
    /// What went in since the reading before; under zero: came out. 0: it only lay.
    #[schema(minimum = -1000000, maximum = 1000000)]
    pub charge_mah: Option<f64>,
    /// What it was about. Of two storage checks in a row it is taken that the pack only lay between.
    #[schema(inline)]
    pub context: Option<GivenContext>,
}

/// The newest resistance of another pack of the same design.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct VerdictSister {
    /// Of each cell, cell 1 first.
    #[schema(max_items = 32)]
    pub resistance_mohm: Vec<f64>,
    #[schema(max_length = 100)]
    #[serde(default)]
    pub meter: Option<String>,
    /// null: load.
    #[schema(inline)]
    #[serde(default)]
    pub meter_kind: Option<GivenMeter>,
    /// Of the pack.
    #[schema(minimum = -40, maximum = 80)]
    #[serde(default)]
    pub temperature_c: Option<f64>,
}

const MAH: (f64, f64) = (1.0, 1_000_000.0);
const CELL_V: (f64, f64) = (0.0, 999.0);
const CELSIUS: (f64, f64) = (-40.0, 80.0);
const DAYS: (f64, f64) = (0.0, 36_500.0);
const METER_LETTERS: usize = 100;

/// When things were, told by instants or by days before now.
pub struct Time {
    pub now: Instant,
    /// Now is a day of the calendar.
    pub is_dated: bool,
}

impl Time {
    /// Where only days are told, any now does.
    pub fn of(now: Option<Instant>) -> Self {
        Self {
            now: now.unwrap_or_default(),
            is_dated: now.is_some(),
        }
    }

    /// One of the two; their fields are `name` with `_at` and `_days_ago` behind.
    pub fn of_named(
        &self,
        at: Option<&str>,
        days_ago: Option<f64>,
        (at_field, days_field): (&str, &str),
    ) -> Result<Instant, Wrong> {
        const DAY_MS: f64 = 86_400_000.0;
        match (at, days_ago) {
            (Some(at), None) => instant(at_field, at),
            (None, Some(days)) => {
                let days = within(days_field, days, DAYS)?;
                Ok(Instant(self.now.ms() - (days * DAY_MS).round() as i64))
            }
            _ => Err(Wrong::with(
                days_field,
                "say when: give either days ago or an instant",
            )),
        }
    }
}

pub fn instant(field: &str, text: &str) -> Result<Instant, Wrong> {
    let read = text.parse::<jiff::Timestamp>();
    let read = read.map(|at| Instant(at.as_millisecond()));
    read.map_err(|_| Wrong::with(field, "give an instant like 2026-11-27T18:30:00Z"))
}

pub fn at_most(field: &str, count: usize, most: usize) -> Result<(), Wrong> {
    if count > most {
        return Err(Wrong::with(field, format!("give at most {most}")));
    }
    Ok(())
}

impl VerdictPack {
    pub fn checked(&self) -> Result<HealthPack, Wrong> {
        let rate = maybe_within(
            "pack.label_discharge_c",
            self.label_discharge_c,
            (0.1, 1_000.0),
        )?;
        Ok(HealthPack {
            build: Build {
                chemistry: self.chemistry.chemistry(),
                cells_series: within("pack.cells", self.cells, (1, CELLS_MAX as i64))?,
                groups_parallel: 1,
                capacity_mah: within("pack.capacity_mah", self.capacity_mah, MAH)?.round() as i64,
                sees_cells: self.sees_cells.unwrap_or(true),
                label: label(
                    self.chemistry.chemistry(),
                    (self.label_full_v, self.label_lowest_v),
                )?,
            },
            label_discharge_c_tenths: rate.map(|c| (c * 10.0).floor() as i64),
        })
    }

    pub fn example() -> Self {
        Self {
            chemistry: Kind::Lipo,
            cells: 3,
            capacity_mah: 2_200.0,
            sees_cells: None,
            label_discharge_c: Some(30.0),
            label_full_v: None,
            label_lowest_v: None,
        }
    }
}

impl VerdictReading {
    /// `at`: where it stands, for what is wrong with it.
    pub fn checked(&self, at: &str, build: &Build, time: &Time) -> Result<HealthReading, Wrong> {
        let field = |name: &str| format!("{at}.{name}");
        let fields = (field("at"), field("days_ago"));
        let taken = time.of_named(self.at.as_deref(), self.days_ago, (&fields.0, &fields.1))?;
        if taken > time.now {
            return Err(Wrong::with(&fields.0, "give no instant after now"));
        }
        let rested = maybe_within(
            &field("rested_minutes"),
            self.rested_minutes,
            (0.0, 100_000.0),
        )?;
        let resistance = self
            .resistance_mohm
            .as_ref()
            .map(|mohm| resistance(at, build, mohm, (self.meter.as_ref(), self.meter_kind)));
        let charge = maybe_within(&field("charge_mah"), self.charge_mah, (-MAH.1, MAH.1))?;
        Ok(HealthReading {
            at: taken,
            volts: self.volts(&field)?,
            rested: Rested::of_minutes(rested.unwrap_or(0.0) as i64),
            resistance: resistance.transpose()?,
            celsius: maybe_within(&field("temperature_c"), self.temperature_c, CELSIUS)?,
            charge: charge.map(|mah| {
                let mah = mah.round() as i64;
                if mah < 0 {
                    Charge::TakenOut(-mah)
                } else {
                    Charge::PutIn(mah)
                }
            }),
            context: self.context.map(GivenContext::context),
            used: None,
        })
    }

    /// Whether as many were given as it has cells is for the verdict: one may be dead or missing.
    fn volts(&self, field: &dyn Fn(&str) -> String) -> Result<Option<Volts>, Wrong> {
        match (&self.cell_volts, self.pack_v) {
            (None, None) => Ok(None),
            (Some(_), Some(_)) => Err(Wrong::with(
                &field("pack_v"),
                "give the volts of the cells or those of the pack",
            )),
            (None, Some(pack_v)) => {
                let pack_v = within(&field("pack_v"), pack_v, CELL_V)?;
                Ok(Some(Volts::Pack(milli(pack_v))))
            }
            (Some(cells), None) => {
                at_most(&field("cell_volts"), cells.len(), CELLS_MAX)?;
                if cells.is_empty() {
                    return Err(Wrong::with(
                        &field("cell_volts"),
                        "give one or more, or null",
                    ));
                }
                let each = cells.iter().enumerate().map(|(index, v)| {
                    let v = within(&format!("{}[{index}]", field("cell_volts")), *v, CELL_V)?;
                    Ok(milli(v))
                });
                Ok(Some(Volts::Cells(each.collect::<Result<_, Wrong>>()?)))
            }
        }
    }

    pub fn examples() -> Vec<Self> {
        let march = Self {
            days_ago: Some(255.0),
            cell_volts: Some(vec![3.9, 3.9, 3.9]),
            rested_minutes: Some(60.0),
            resistance_mohm: Some(vec![3.1, 3.0, 3.1]),
            meter: Some("C-02".to_owned()),
            temperature_c: Some(21.0),
            ..Self::default()
        };
        let now = Self {
            days_ago: Some(0.0),
            cell_volts: Some(vec![3.91, 3.89, 3.91]),
            resistance_mohm: Some(vec![3.4, 5.1, 3.3]),
            ..march.clone()
        };
        vec![march, now]
    }
}

impl VerdictSister {
    pub fn checked(&self, at: &str, build: &Build) -> Result<HealthReading, Wrong> {
        let of = (self.meter.as_ref(), self.meter_kind);
        let celsius = format!("{at}.temperature_c");
        Ok(HealthReading {
            at: Instant::default(),
            volts: None,
            rested: Rested::JustUsed,
            resistance: Some(resistance(at, build, &self.resistance_mohm, of)?),
            celsius: maybe_within(&celsius, self.temperature_c, CELSIUS)?,
            charge: None,
            context: None,
            used: None,
        })
    }
}

fn resistance(
    at: &str,
    build: &Build,
    mohm: &[f64],
    (meter, kind): (Option<&String>, Option<GivenMeter>),
) -> Result<Resistance, Wrong> {
    let field = format!("{at}.resistance_mohm");
    let cells = build.cells_series;
    if i64::try_from(mohm.len()) != Ok(cells) {
        return Err(Wrong::with(
            &field,
            format!("give one for each of the {cells} cells, or null"),
        ));
    }
    let each = mohm.iter().enumerate().map(|(index, mohm)| {
        let mohm = within(&format!("{field}[{index}]"), *mohm, MOHM)?;
        Ok((mohm * 1_000.0).round() as i64)
    });
    let cells_uohm = each.collect::<Result<_, Wrong>>()?;
    if meter.is_some_and(|meter| meter.chars().count() > METER_LETTERS) {
        let words = format!("give at most {METER_LETTERS} letters");
        return Err(Wrong::with(&format!("{at}.meter"), words));
    }
    Ok(Resistance {
        cells_uohm,
        meter: meter.cloned(),
        kind: kind.map(GivenMeter::kind),
    })
}

//! The readings of a pack's resistance, by meter, and what each meter and the cells of one reading say; how it went.

use super::super::history::{HealthReading, History, Resistance, has_all};
use crate::battery::curve::StateOfCharge;
use crate::battery::range::{lower_median, others, upper_median};
use crate::battery::resistance_history::{Against, Held, held_against};
use crate::battery::resistance_read::{Meter, MeterKind, ResistanceReading};
use crate::battery::trend::{LATEST, Point};
use crate::club::reading::Rested;
use std::collections::HashMap;

/// So many last ones are held against the mates.
const SEVERAL: usize = 3;
/// Between two readings of one meter at two temperatures: common practice, no source.
const METER_ERROR: f64 = 0.10;
const MONTH_MS: f64 = 86_400_000.0 * 365.25 / 12.0;

/// The readings of each meter, oldest first; those of the sisters; and the last few whatever meter.
pub struct Gathered {
    by_meter: Vec<(Meter, Vec<ResistanceReading>)>,
    latest: Vec<ResistanceReading>,
    sisters: Vec<ResistanceReading>,
}

impl Gathered {
    pub fn of(history: &History<'_>) -> Self {
        let mut meters = Meters::said_in(&history.readings, history.asked.sisters);
        let mut by_meter: Vec<(Meter, Vec<ResistanceReading>)> = Vec::new();
        let mut places: HashMap<Meter, usize> = HashMap::new();
        for read in &history.readings {
            let Some(reading) = resistance_of(history, read, &mut meters) else {
                continue;
            };
            let place = *places.entry(reading.meter).or_insert_with(|| {
                by_meter.push((reading.meter, Vec::new()));
                by_meter.len() - 1
            });
            if let Some((_, readings)) = by_meter.get_mut(place) {
                readings.push(reading);
            }
        }
        let sisters = history.asked.sisters.iter();
        let sisters = sisters.filter_map(|read| resistance_of(history, read, &mut meters));
        let sisters = sisters.collect();
        let last = |(_, readings): &(Meter, Vec<ResistanceReading>)| {
            let from = readings.len().saturating_sub(SEVERAL);
            readings[from..].to_vec()
        };
        let mut latest: Vec<ResistanceReading> = by_meter.iter().flat_map(last).collect();
        latest.sort_by_key(|reading| reading.at_ms);
        let latest = latest.split_off(latest.len().saturating_sub(SEVERAL));
        Self {
            by_meter,
            latest,
            sisters,
        }
    }

    pub fn newest<'a>(
        &self,
        history: &History<'a>,
    ) -> Option<(ResistanceReading, &'a HealthReading)> {
        let newest = self.latest.last()?.clone();
        let mut latest_first = history.readings.iter().rev();
        let read =
            latest_first.find(|read| read.at.ms() == newest.at_ms && read.resistance.is_some())?;
        Some((newest, read))
    }

    /// What each meter says, and first how the cells stand to each other, whatever meter.
    pub fn said(&self, history: &History<'_>) -> Vec<Said> {
        let build = history.build();
        let limits = &history.asked.limits.resistance;
        let held = |readings: &[ResistanceReading], is_mates: bool| {
            let (chemistry, mah) = (build.chemistry, build.capacity_mah);
            let told = held_against(chemistry, mah, readings, &self.sisters, limits);
            let mut held = told.map(|told| told.held).unwrap_or_default();
            held.retain(|held| (held.against == Against::Mates) == is_mates);
            held
        };
        let apart = Said {
            meter: None,
            last: self.latest.iter().map(times_mates).collect(),
            held: held(&self.latest, true),
        };
        let of_meter = |(meter, readings): &(Meter, Vec<ResistanceReading>)| Said {
            meter: Some(*meter),
            last: last_at_25(readings),
            held: held(readings, false),
        };
        std::iter::once(apart)
            .chain(self.by_meter.iter().map(of_meter))
            .collect()
    }

    /// Of the meter of the newest reading.
    pub fn course(&self, meter: Meter, held: &[Held]) -> Vec<Point> {
        let times_first = |held: &&Held| matches!(held.against, Against::FirstReadings { .. });
        let risen = held.iter().filter(times_first);
        let Some(risen) = risen.max_by(|one, other| one.figure.total_cmp(&other.figure)) else {
            return Vec::new();
        };
        let readings = self.by_meter.iter().find(|(each, _)| *each == meter);
        let readings = readings.map_or([].as_slice(), |(_, readings)| readings);
        let of_cell = |reading: &ResistanceReading| {
            let cells = reading.milliohm_at_25().ok()?;
            Some((reading.at_ms as f64 / MONTH_MS, *cells.get(risen.cell - 1)?))
        };
        let first: Vec<f64> = readings
            .iter()
            .filter_map(of_cell)
            .map(|(_, milliohm)| milliohm)
            .take(SEVERAL)
            .collect();
        let Some(first) = lower_median(&first) else {
            return Vec::new();
        };
        let point = |(at, milliohm): (f64, f64)| Point {
            at,
            value: milliohm / first,
            error: milliohm / first * METER_ERROR,
        };
        let latest_first = readings.iter().rev().filter_map(of_cell).take(LATEST);
        let mut course: Vec<Point> = latest_first.map(point).collect();
        course.reverse();
        course
    }
}

/// What was said of the cells by one measure.
pub struct Said {
    /// None: by the cells of the same reading.
    pub meter: Option<Meter>,
    /// A figure for each cell in the last few readings.
    last: Vec<Vec<f64>>,
    pub held: Vec<Held>,
}

impl Said {
    /// How many of the last readings are past the limit by themselves.
    pub fn past(&self, held: &Held) -> usize {
        let figures: Vec<f64> = self
            .last
            .iter()
            .filter_map(|row| row.get(held.cell - 1).copied())
            .collect();
        let counts = upper_median(&figures).zip(figures.last().copied());
        let counts = counts.map_or(0.0, |(steady, newest)| steady.max(newest));
        let limit = counts * held.limit / held.figure;
        // Their quotients are of rounded figures.
        let is_past = |figure: &&f64| **figure >= limit * (1.0 - 1e-9);
        figures.iter().filter(is_past).count()
    }
}

fn last_at_25(readings: &[ResistanceReading]) -> Vec<Vec<f64>> {
    let latest_first = readings.iter().rev();
    let comparable = latest_first.filter_map(|reading| reading.milliohm_at_25().ok());
    let mut last: Vec<Vec<f64>> = comparable.take(SEVERAL).collect();
    last.reverse();
    last
}

/// Of the lower median of the others, as the figures held against mates are.
fn times_mates(reading: &ResistanceReading) -> Vec<f64> {
    let cells: Vec<f64> = reading.cells_uohm.iter().map(|uohm| *uohm as f64).collect();
    let times = |(index, own): (usize, &f64)| Some(own / lower_median(&others(&cells, index))?);
    cells.iter().enumerate().filter_map(times).collect()
}

/// The meters that were named, each with a number of its own, and how each was last said to work.
#[derive(Default)]
pub struct Meters {
    numbers: HashMap<String, i64>,
    kinds: HashMap<String, MeterKind>,
}

impl Meters {
    /// `readings`: oldest first.
    fn said_in(readings: &[&HealthReading], sisters: &[HealthReading]) -> Self {
        let all = sisters.iter().chain(readings.iter().copied());
        let said = all.filter_map(|read| read.resistance.as_ref());
        let kinds = said.filter_map(|read| Some((name_of(read)?, read.kind?)));
        Self {
            numbers: HashMap::new(),
            kinds: kinds.collect(),
        }
    }

    /// Where nobody said how it works, as the same meter was said to another time; else by a load, as hobby chargers do.
    fn of(&mut self, read: &Resistance) -> Meter {
        const UNNAMED: i64 = 0;
        let next = self.numbers.len() as i64 + 1;
        let named = name_of(read);
        let said = named
            .as_ref()
            .and_then(|name| self.kinds.get(name).copied());
        Meter {
            kind: read.kind.or(said).unwrap_or(MeterKind::Load),
            which: named.map_or(UNNAMED, |name| *self.numbers.entry(name).or_insert(next)),
        }
    }
}

/// However it was typed: `C-02`, `c-02 `; `the red meter`, `The  red meter`.
fn name_of(read: &Resistance) -> Option<String> {
    let words = read.meter.as_deref()?.split_whitespace();
    let name = words.collect::<Vec<&str>>().join(" ").to_lowercase();
    (!name.is_empty()).then_some(name)
}

/// None where it was not read, or not of all cells, or mistyped.
pub fn resistance_of(
    history: &History<'_>,
    read: &HealthReading,
    meters: &mut Meters,
) -> Option<ResistanceReading> {
    let resistance = read.resistance.as_ref()?;
    if !has_all(&resistance.cells_uohm, history.build()) {
        return None;
    }
    let reading = ResistanceReading {
        at_ms: read.at.ms(),
        meter: meters.of(resistance),
        celsius: read.celsius,
        charge_percent: charge_percent(history, read),
        cells_uohm: resistance.cells_uohm.clone(),
    };
    reading.is_usable().then_some(reading)
}

/// Of the lowest cell; None where its volts do not tell. Under the storage band it counts as empty, whatever curve is
/// believed: so a cell that is lower still is never compared again.
fn charge_percent(history: &History<'_>, read: &HealthReading) -> Option<f64> {
    if read.rested.minutes() < Rested::A_WHILE.minutes() {
        return None;
    }
    let lowest_mv = *history.cells_mv(read)?.iter().min()?;
    let chemistry = history.build().chemistry;
    if lowest_mv < chemistry.limits().storage_low_mv {
        return Some(0.0);
    }
    StateOfCharge::of(chemistry, lowest_mv as f64 / 1_000.0, read.celsius).percent
}

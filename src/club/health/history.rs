//! The readings of a pack as far as its health goes, put in order, and which of them count for what: a mistyped one, one that
//! had not rested and one of another number of cells tell nothing of volts.

use super::limits::HealthLimits;
use crate::battery::limits::CellLimits;
use crate::battery::pack::Build;
use crate::battery::resistance_read::MeterKind;
use crate::battery::settling::{NEARLY_MINUTES, SETTLED_MINUTES};
use crate::battery::volts::Volts;
use crate::club::calendar::{Instant, Zone};
use crate::club::limits::ClubLimits;
use crate::club::reading::beside::{Charge, Context};
use crate::club::reading::{Rested, average_mv};
use std::borrow::Cow;

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct HealthPack {
    pub build: Build,
    pub label_discharge_c_tenths: Option<i64>,
}

/// What a meter said of each cell, cell 1 first.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Resistance {
    pub cells_uohm: Vec<i64>,
    /// As the club calls it. Those without a name count as one.
    pub meter: Option<String>,
    /// None: by a load, as hobby chargers do it.
    pub kind: Option<MeterKind>,
}

#[derive(Clone, Debug, PartialEq)]
pub struct HealthReading {
    pub at: Instant,
    /// None where they could not be read.
    pub volts: Option<Volts>,
    pub rested: Rested,
    pub resistance: Option<Resistance>,
    /// Of the pack.
    pub celsius: Option<f64>,
    /// Since the reading before.
    pub charge: Option<Charge>,
    pub context: Option<Context>,
    /// Until when it was last out, charged or discharged before this, as far as that is on record; before 1971: never. None: nobody
    /// looked it up.
    pub used: Option<Instant>,
}

#[derive(Clone, Copy)]
pub struct Asked<'a> {
    pub pack: &'a HealthPack,
    /// In any order; none that a later one corrects.
    pub readings: &'a [HealthReading],
    /// The newest reading of each pack of the same design.
    pub sisters: &'a [HealthReading],
    pub now: Instant,
    pub club: &'a ClubLimits,
    pub limits: &'a HealthLimits,
    /// Whose calendar names a month; None where only days are known.
    pub zone: Option<&'a Zone>,
}

pub(super) struct History<'a> {
    pub asked: &'a Asked<'a>,
    /// Oldest first.
    pub readings: Vec<&'a HealthReading>,
    table: CellLimits,
}

impl<'a> History<'a> {
    pub fn of(asked: &'a Asked<'a>) -> Self {
        let mut readings: Vec<&HealthReading> = asked.readings.iter().collect();
        readings.sort_by_key(|reading| reading.at);
        Self {
            asked,
            readings,
            table: asked.club.of_cell(&asked.pack.build),
        }
    }

    pub const fn build(&self) -> &'a Build {
        &self.asked.pack.build
    }

    pub fn newest(&self) -> Option<&'a HealthReading> {
        self.readings.last().copied()
    }

    /// However many were taken at the same time.
    pub fn is_newest(&self, reading: &HealthReading) -> bool {
        self.newest()
            .is_some_and(|newest| std::ptr::eq(newest, reading))
    }

    /// Each cell, or the average of a pack that was measured whole. None where it was not read or nobody believes it.
    pub fn cells_mv(&self, reading: &'a HealthReading) -> Option<Cow<'a, [i64]>> {
        let cells = match reading.volts.as_ref()? {
            Volts::Cells(cells) if has_all(cells, self.build()) => Cow::Borrowed(cells.as_slice()),
            Volts::Cells(_) => return None,
            Volts::Pack(mv) => Cow::Owned(vec![average_mv(self.build(), *mv)]),
        };
        let plausible = self.table.plausible_low_mv..=self.table.plausible_high_mv;
        cells
            .iter()
            .all(|mv| plausible.contains(mv))
            .then_some(cells)
    }

    /// The same of a reading whose volts tell its charge.
    pub fn settled_mv(&self, reading: &'a HealthReading) -> Option<Cow<'a, [i64]>> {
        let is_settled = reading.rested.minutes() >= SETTLED_MINUTES;
        is_settled.then(|| self.cells_mv(reading)).flatten()
    }

    /// Whose volts tell its charge at least roughly.
    pub fn latest_rested(&self) -> Option<(&'a HealthReading, Cow<'a, [i64]>)> {
        let latest_first = self.readings.iter().rev();
        let rested = latest_first.filter(|reading| reading.rested.minutes() >= NEARLY_MINUTES);
        let mut read = rested.filter_map(|reading| Some((*reading, self.cells_mv(reading)?)));
        read.next()
    }
}

pub(super) fn has_all(cells: &[i64], build: &Build) -> bool {
    i64::try_from(cells.len()) == Ok(build.cells_series)
}

/// However far apart.
pub(super) fn days_between(earlier: Instant, later: Instant) -> f64 {
    const DAY_MS: f64 = 86_400_000.0;
    (later.ms() as f64 - earlier.ms() as f64) / DAY_MS
}

/// `in March`, `in March 2025`, `12 days ago`.
pub(super) fn since_words(since: Instant, asked: &Asked<'_>) -> String {
    const BY_MONTH_FROM_DAYS: f64 = 45.0;
    let days = days_between(since, asked.now).max(0.0);
    match asked.zone {
        Some(zone) if days >= BY_MONTH_FROM_DAYS => {
            format!("in {}", zone.month_words(since, asked.now))
        }
        _ => match days.round() as i64 {
            0 => "earlier today".to_owned(),
            1 => "a day ago".to_owned(),
            days => format!("{days} days ago"),
        },
    }
}

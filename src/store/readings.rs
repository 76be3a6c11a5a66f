//! Readings: volts of a pack at an instant and what was said beside them, or why they could not be read. Never changed; a
//! correction names the wrong one.

pub mod over_time;
pub mod to_read;

use super::book::around::Side;
use super::charges::lately::used_before;
use super::{Conn, Result, Tx, change, row, rows};
use crate::battery::milliohms::Milliohms;
use crate::battery::resistance_read::MeterKind;
use crate::battery::volts::Volts;
use crate::club::calendar::Instant;
use crate::club::health::{HealthReading, Resistance};
use crate::club::reading::Rested;
use crate::club::reading::beside::{Beside, Charge, Context};
use std::collections::{HashMap, HashSet};
use uuid::Uuid;

#[derive(Clone, Debug, sqlx::FromRow)]
pub struct Reading {
    pub id: Uuid,
    pub pack_id: Uuid,
    pub taken_ms: Instant,
    pub by_id: Uuid,
    pub volts: Option<String>,
    pub rested_minutes: i64,
    pub unread_words: Option<String>,
    pub corrects_id: Option<Uuid>,
    pub lent_id: Option<Uuid>,
    pub resistance: Option<String>,
    pub meter: Option<String>,
    pub meter_kind: Option<String>,
    pub celsius: Option<i64>,
    pub put_in_mah: Option<i64>,
    pub taken_out_mah: Option<i64>,
    pub context: Option<String>,
    /// As [`HealthReading::used`] has it; None where that was not asked for.
    #[sqlx(default)]
    pub used_ms: Option<Instant>,
}

impl Reading {
    /// The same with this beside its volts.
    pub fn with(self, beside: &Beside) -> Self {
        let (put_in_mah, taken_out_mah) = match beside.charge {
            Some(Charge::PutIn(mah)) => (Some(mah), None),
            Some(Charge::TakenOut(mah)) => (None, Some(mah)),
            None => (None, None),
        };
        Self {
            resistance: beside.resistance.as_ref().map(Milliohms::to_text),
            meter: beside.meter.clone(),
            meter_kind: beside.meter_kind.map(|kind| kind.code().to_owned()),
            celsius: beside.celsius,
            put_in_mah,
            taken_out_mah,
            context: beside.context.map(|context| context.code().to_owned()),
            ..self
        }
    }

    pub fn beside(&self) -> Beside {
        let put_in = self.put_in_mah.map(Charge::PutIn);
        let context = self.context.as_deref();
        Beside {
            resistance: self.resistance.as_deref().and_then(Milliohms::from_text),
            meter: self.meter.clone(),
            meter_kind: self.meter_kind.as_deref().and_then(MeterKind::from_code),
            celsius: self.celsius,
            charge: put_in.or_else(|| self.taken_out_mah.map(Charge::TakenOut)),
            context: context.and_then(Context::from_code),
        }
    }
}

impl From<&Reading> for HealthReading {
    fn from(reading: &Reading) -> Self {
        let beside = reading.beside();
        let resistance = beside.resistance.map(|cells| Resistance {
            cells_uohm: cells.uohm(),
            meter: beside.meter,
            kind: beside.meter_kind,
        });
        Self {
            at: reading.taken_ms,
            volts: reading.volts.as_deref().and_then(Volts::from_text),
            rested: Rested::of_minutes(reading.rested_minutes),
            resistance,
            celsius: beside.celsius.map(|celsius| celsius as f64),
            charge: beside.charge,
            context: beside.context,
            used: reading.used_ms,
        }
    }
}

/// Of a reading `r`.
macro_rules! columns {
    () => {
        "r.id, r.pack_id, r.taken_ms, r.by_id, r.volts, r.rested_minutes, r.unread_words, r.corrects_id, r.lent_id, r.resistance, \
         r.meter, r.meter_kind, r.celsius, r.put_in_mah, r.taken_out_mah, r.context"
    };
}

/// All of a reading.
macro_rules! select {
    ($rest:literal) => {
        concat!("SELECT ", columns!(), " FROM reading r ", $rest)
    };
}

/// The same with what the record says of the time before it.
macro_rules! with_use {
    ($rest:literal) => {
        concat!(
            "SELECT ",
            columns!(),
            ", ",
            used_before!(),
            " FROM reading r ",
            $rest
        )
    };
}

/// Which readings a later one corrects, among these.
pub struct Corrections<'r> {
    by_id: HashMap<Uuid, &'r Reading>,
    corrected: HashSet<Uuid>,
}

impl<'r> Corrections<'r> {
    pub fn among(readings: &'r [Reading]) -> Self {
        let by_id = readings.iter().map(|reading| (reading.id, reading));
        let corrected = readings.iter().filter_map(|reading| reading.corrects_id);
        Self {
            by_id: by_id.collect(),
            corrected: corrected.collect(),
        }
    }

    pub fn is_corrected(&self, reading: &Reading) -> bool {
        self.corrected.contains(&reading.id)
    }

    /// The wrong one that this one corrects.
    pub fn wrong_of(&self, reading: &Reading) -> Option<&'r Reading> {
        self.by_id.get(&reading.corrects_id?).copied()
    }
}

pub async fn add(tx: &mut Tx, reading: &Reading) -> Result<()> {
    change!(
        tx,
        "INSERT INTO reading (id, pack_id, taken_ms, by_id, volts, rested_minutes, unread_words, corrects_id, lent_id, \
         resistance, meter, meter_kind, celsius, put_in_mah, taken_out_mah, context) \
         VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9, $10, $11, $12, $13, $14, $15, $16)",
        reading.id,
        reading.pack_id,
        reading.taken_ms,
        reading.by_id,
        &reading.volts,
        reading.rested_minutes,
        &reading.unread_words,
        reading.corrects_id,
        reading.lent_id,
        &reading.resistance,
        &reading.meter,
        &reading.meter_kind,
        reading.celsius,
        reading.put_in_mah,
        reading.taken_out_mah,
        &reading.context
    )?;
    Ok(())
}

pub async fn by_id(conn: &mut Conn, id: Uuid) -> Result<Option<Reading>> {
    row!(conn, Reading, select!("WHERE id = $1"), id)
}

/// The latest readings of a pack, latest first; those that a later one corrects are among them.
pub async fn latest(conn: &mut Conn, pack_id: Uuid, at_most: i64) -> Result<Vec<Reading>> {
    rows!(
        conn,
        Reading,
        select!("WHERE pack_id = $1 ORDER BY taken_ms DESC, id DESC LIMIT $2"),
        pack_id,
        at_most
    )
}

/// Those nearest to an instant first.
pub async fn around(
    conn: &mut Conn,
    pack_id: Uuid,
    side: Side,
    at_most: i64,
) -> Result<Vec<Reading>> {
    let (turn, from) = side.turn_and_from();
    rows!(
        conn,
        Reading,
        select!("WHERE pack_id = $1 AND $2 * taken_ms >= $3 ORDER BY $2 * taken_ms, id LIMIT $4"),
        pack_id,
        turn,
        from,
        at_most
    )
}

/// So many of its latest readings tell a pack's health, and so many of its first with a resistance.
const LATEST_FOR_HEALTH: usize = 200;
const FIRST_FOR_HEALTH: usize = 20;

/// What a pack's health is told from: its latest readings, and the first with a resistance, which the others are held
/// against. None that a later one corrects; oldest first.
pub async fn for_health(conn: &mut Conn, pack_id: Uuid) -> Result<Vec<HealthReading>> {
    let found = rows!(
        conn,
        Reading,
        with_use!(
            "WHERE r.pack_id = $1 \
             AND r.id NOT IN (SELECT c.corrects_id FROM reading c WHERE c.pack_id = $1 AND c.corrects_id IS NOT NULL) \
             AND (r.id IN (SELECT l.id FROM reading l WHERE l.pack_id = $1 \
             AND l.id NOT IN (SELECT c.corrects_id FROM reading c WHERE c.pack_id = $1 AND c.corrects_id IS NOT NULL) \
             ORDER BY l.taken_ms DESC, l.id DESC LIMIT $2) \
             OR r.id IN (SELECT f.id FROM reading f WHERE f.pack_id = $1 AND f.resistance IS NOT NULL \
             ORDER BY f.taken_ms, f.id LIMIT $3)) ORDER BY r.taken_ms, r.id"
        ),
        pack_id,
        LATEST_FOR_HEALTH as i64,
        FIRST_FOR_HEALTH as i64
    )?;
    Ok(that_count(found.iter().map(HealthReading::from).collect()))
}

/// Of all or some that stand, oldest first: always the same ones.
fn that_count(mut readings: Vec<HealthReading>) -> Vec<HealthReading> {
    let before = readings.len().saturating_sub(LATEST_FOR_HEALTH);
    let mut latest = readings.split_off(before);
    // What lies between the first ones and the latest is left out: nobody knows what was charged there.
    if let Some(reading) = latest.first_mut().filter(|_| before > 0) {
        reading.charge = None;
        reading.context = None;
    }
    readings.retain(|reading| reading.resistance.is_some());
    readings.truncate(FIRST_FOR_HEALTH);
    readings.extend(latest);
    readings
}

/// What the page of a pack's readings tells.
pub struct OnPage {
    /// Latest first; those that a later one corrects are among them.
    pub latest: Vec<Reading>,
    /// As `for_health`.
    pub for_health: Vec<HealthReading>,
    /// The latest with a resistance of each other pack of the design in use, of at most thirty packs.
    pub sisters: Vec<HealthReading>,
}

pub async fn on_page(
    conn: &mut Conn,
    (pack_id, design_id): (Uuid, Uuid),
    at_most: usize,
) -> Result<OnPage> {
    let found = rows!(
        conn,
        Reading,
        with_use!(
            "WHERE r.id IN (SELECT id FROM (SELECT l.id FROM reading l WHERE l.pack_id = $1 \
             ORDER BY l.taken_ms DESC, l.id DESC LIMIT $3) latest \
             UNION SELECT id FROM (SELECT f.id FROM reading f WHERE f.pack_id = $1 AND f.resistance IS NOT NULL \
             AND f.id NOT IN (SELECT c.corrects_id FROM reading c WHERE c.pack_id = $1 AND c.corrects_id IS NOT NULL) \
             ORDER BY f.taken_ms, f.id LIMIT $4) earliest \
             UNION SELECT id FROM (SELECT (SELECT l.id FROM reading l WHERE l.pack_id = k.id AND l.resistance IS NOT NULL \
             AND NOT EXISTS (SELECT 1 FROM reading c WHERE c.pack_id = l.pack_id AND c.corrects_id = l.id) \
             ORDER BY l.taken_ms DESC, l.id DESC LIMIT 1) AS id FROM pack k \
             WHERE k.design_id = $2 AND k.id <> $1 AND k.life = 'in_use' ORDER BY k.number_key LIMIT 30) sisters) \
             ORDER BY r.taken_ms DESC, r.id DESC"
        ),
        pack_id,
        design_id,
        at_most as i64,
        FIRST_FOR_HEALTH as i64
    )?;
    let (mut latest, sisters): (Vec<Reading>, Vec<Reading>) = found
        .into_iter()
        .partition(|reading| reading.pack_id == pack_id);
    let corrections = Corrections::among(&latest);
    let oldest_first = latest.iter().rev();
    let stand = oldest_first.filter(|reading| !corrections.is_corrected(reading));
    let for_health = that_count(stand.map(HealthReading::from).collect());
    latest.truncate(at_most);
    Ok(OnPage {
        latest,
        for_health,
        sisters: sisters.iter().map(HealthReading::from).collect(),
    })
}

/// What a form for the next reading starts from: the one to correct, where it names one of this pack's, and the latest that
/// say what they were read with.
pub async fn to_start_from(
    conn: &mut Conn,
    pack_id: Uuid,
    corrects: Option<Uuid>,
) -> Result<(Option<Reading>, Vec<String>)> {
    let mut found = rows!(
        conn,
        Reading,
        select!(
            "WHERE pack_id = $1 AND (id = $2 OR meter IS NOT NULL) \
             ORDER BY CASE WHEN id = $2 THEN 0 ELSE 1 END, taken_ms DESC, id DESC LIMIT 40"
        ),
        pack_id,
        corrects
    )?;
    let mut meters: Vec<String> = Vec::new();
    for meter in found.iter().filter_map(|reading| reading.meter.clone()) {
        if !meters.contains(&meter) {
            meters.push(meter);
        }
    }
    let wrong = found
        .extract_if(.., |reading| Some(reading.id) == corrects)
        .next();
    Ok((wrong, meters))
}

/// The newest reading that no other one corrects; with volts, when only those count.
pub async fn latest_uncorrected(
    conn: &mut Conn,
    pack_id: Uuid,
    has_volts: bool,
) -> Result<Option<Reading>> {
    row!(
        conn,
        Reading,
        select!(
            "WHERE r.pack_id = $1 AND ($2 = FALSE OR r.volts IS NOT NULL) \
             AND NOT EXISTS (SELECT 1 FROM reading c WHERE c.pack_id = r.pack_id AND c.corrects_id = r.id) \
             ORDER BY r.taken_ms DESC, r.id DESC LIMIT 1"
        ),
        pack_id,
        has_volts
    )
}

pub async fn is_corrected(conn: &mut Conn, id: Uuid) -> Result<bool> {
    let found = row!(
        conn,
        (Uuid,),
        "SELECT c.id FROM reading r JOIN reading c ON c.pack_id = r.pack_id AND c.corrects_id = r.id WHERE r.id = $1 LIMIT 1",
        id
    )?;
    Ok(found.is_some())
}

pub async fn set_last(
    tx: &mut Tx,
    id: Uuid,
    volts: &Volts,
    rested_minutes: i64,
    at: Instant,
) -> Result<()> {
    change!(
        tx,
        "UPDATE pack SET last_volts = $2, last_rested_minutes = $3, last_read_ms = $4 WHERE id = $1",
        id,
        volts.to_text(),
        rested_minutes,
        at
    )?;
    Ok(())
}

/// None of its readings holds any more.
pub async fn clear_last(tx: &mut Tx, id: Uuid) -> Result<()> {
    change!(
        tx,
        "UPDATE pack SET last_volts = NULL, last_rested_minutes = NULL, last_read_ms = NULL WHERE id = $1",
        id
    )?;
    Ok(())
}

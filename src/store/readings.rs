//! Readings: volts of a pack at an instant and what was said beside them, or why they could not be read. Never changed; a
//! correction names the wrong one.

pub mod over_time;
pub mod to_read;

use super::{Conn, Result, Tx, change, row, rows};
use crate::battery::milliohms::Milliohms;
use crate::battery::volts::Volts;
use crate::club::calendar::Instant;
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
    pub celsius: Option<i64>,
    pub put_in_mah: Option<i64>,
    pub taken_out_mah: Option<i64>,
    pub context: Option<String>,
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
            celsius: self.celsius,
            charge: put_in.or_else(|| self.taken_out_mah.map(Charge::TakenOut)),
            context: context.and_then(Context::from_code),
        }
    }
}

/// All of a reading, from a table or its one alias.
macro_rules! select {
    ($rest:literal) => {
        concat!(
            "SELECT id, pack_id, taken_ms, by_id, volts, rested_minutes, unread_words, corrects_id, lent_id, resistance, \
             meter, celsius, put_in_mah, taken_out_mah, context FROM reading ",
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
         resistance, meter, celsius, put_in_mah, taken_out_mah, context) \
         VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9, $10, $11, $12, $13, $14, $15)",
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
            "r WHERE r.pack_id = $1 AND ($2 = FALSE OR r.volts IS NOT NULL) \
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

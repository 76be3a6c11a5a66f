//! Readings: volts of a pack at an instant, or why they could not be read. Never changed; a correction names the wrong one.

use super::{Conn, Result, Tx, change, row, rows};
use crate::battery::volts::Volts;
use crate::club::calendar::Instant;
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
        "INSERT INTO reading (id, pack_id, taken_ms, by_id, volts, rested_minutes, unread_words, corrects_id, lent_id) \
         VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9)",
        reading.id,
        reading.pack_id,
        reading.taken_ms,
        reading.by_id,
        &reading.volts,
        reading.rested_minutes,
        &reading.unread_words,
        reading.corrects_id,
        reading.lent_id
    )?;
    Ok(())
}

pub async fn by_id(conn: &mut Conn, id: Uuid) -> Result<Option<Reading>> {
    row!(
        conn,
        Reading,
        "SELECT id, pack_id, taken_ms, by_id, volts, rested_minutes, unread_words, corrects_id, lent_id FROM reading WHERE id = $1",
        id
    )
}

/// The latest readings of a pack, latest first; those that a later one corrects are among them.
pub async fn latest(conn: &mut Conn, pack_id: Uuid, at_most: i64) -> Result<Vec<Reading>> {
    rows!(
        conn,
        Reading,
        "SELECT id, pack_id, taken_ms, by_id, volts, rested_minutes, unread_words, corrects_id, lent_id FROM reading \
         WHERE pack_id = $1 ORDER BY taken_ms DESC, id DESC LIMIT $2",
        pack_id,
        at_most
    )
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
        "SELECT r.id, r.pack_id, r.taken_ms, r.by_id, r.volts, r.rested_minutes, r.unread_words, r.corrects_id, r.lent_id \
         FROM reading r WHERE r.pack_id = $1 AND ($2 = FALSE OR r.volts IS NOT NULL) \
         AND NOT EXISTS (SELECT 1 FROM reading c WHERE c.pack_id = r.pack_id AND c.corrects_id = r.id) \
         ORDER BY r.taken_ms DESC, r.id DESC LIMIT 1",
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

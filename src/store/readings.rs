//! Readings: volts of a pack at an instant, or why they could not be read. Never changed; a correction names the wrong one.

use super::{Conn, Result, Tx, change, row, rows};
use crate::club::calendar::Instant;
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

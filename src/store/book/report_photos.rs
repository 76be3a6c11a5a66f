//! The photo of a report, made anew from what was sent: kept, served, taken into the book, erased.

use crate::club::calendar::Instant;
use crate::store::photos::Picture;
use crate::store::{Conn, Result, Tx, change, row, rows};
use uuid::Uuid;

pub async fn add(tx: &mut Tx, of: Uuid, picture: &Picture, at: Instant) -> Result<()> {
    change!(
        tx,
        "INSERT INTO report_photo (report_id, added_ms, original_sha256, width, height, large, small) \
         VALUES ($1, $2, $3, $4, $5, $6, $7)",
        of,
        at,
        &picture.original_sha256,
        picture.width,
        picture.height,
        picture.large.as_slice(),
        picture.small.as_slice()
    )?;
    change!(tx, "UPDATE report SET photo_refused = '' WHERE id = $1", of)?;
    Ok(())
}

/// Why it could not be kept.
pub async fn refuse(tx: &mut Tx, id: Uuid, why: &str) -> Result<()> {
    change!(
        tx,
        "UPDATE report SET photo_refused = $2 WHERE id = $1",
        id,
        why
    )?;
    Ok(())
}

pub async fn one(conn: &mut Conn, id: Uuid, is_small: bool) -> Result<Option<Vec<u8>>> {
    let found = row!(
        conn,
        (Vec<u8>,),
        "SELECT CASE WHEN $2 THEN small ELSE large END FROM report_photo WHERE report_id = $1",
        id,
        is_small
    )?;
    Ok(found.map(|(picture,)| picture))
}

/// As it was made anew, with the digest of what was sent.
#[derive(sqlx::FromRow)]
pub struct Kept {
    pub report_id: Uuid,
    pub original_sha256: String,
    pub large: Vec<u8>,
}

/// Of a report, then those of its doubles as they came.
pub async fn with_doubles(conn: &mut Conn, id: Uuid) -> Result<Vec<Kept>> {
    rows!(
        conn,
        Kept,
        "SELECT f.report_id, f.original_sha256, f.large FROM report_photo f JOIN report r ON r.id = f.report_id \
         WHERE r.id = $1 OR r.merged_into = $1 ORDER BY CASE WHEN r.id = $1 THEN 0 ELSE 1 END, r.came_ms, r.id",
        id
    )
}

pub async fn count(conn: &mut Conn, id: Uuid) -> Result<i64> {
    let found = row!(
        conn,
        (i64,),
        "SELECT COUNT(DISTINCT f.original_sha256) FROM report_photo f JOIN report r ON r.id = f.report_id WHERE r.id = $1 OR r.merged_into = $1",
        id
    )?;
    Ok(found.map_or(0, |(count,)| count))
}

/// Those of an incident's reports, and of all reports those that were sent as just this file.
pub async fn of_incident_or_sent_as(
    conn: &mut Conn,
    incident: &str,
    original_sha256: &str,
) -> Result<Vec<Kept>> {
    rows!(
        conn,
        Kept,
        "SELECT f.report_id, f.original_sha256, f.large FROM report_photo f JOIN report r ON r.id = f.report_id \
         WHERE r.incident = $1 OR f.original_sha256 = $2",
        incident,
        original_sha256
    )
}

/// Large and small; the report says that it had one. False: it has none.
pub async fn erase(tx: &mut Tx, of: Uuid, at: Instant) -> Result<bool> {
    let sql = "DELETE FROM report_photo WHERE report_id = $1";
    if change!(tx, sql, of)? == 0 {
        return Ok(false);
    }
    let sql = "UPDATE report SET photo_erased_ms = $2 WHERE id = $1";
    change!(tx, sql, of, at)?;
    Ok(true)
}

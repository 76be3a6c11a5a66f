//! What is told at once: danger that was reported and not told yet, and the latest message by which a person was told so. Decides
//! nothing.

use super::{Conn, Result, Tx, change, row, rows};
use crate::club::calendar::Instant;
use crate::club::reminders::at_once::{Danger, Latest};
use uuid::Uuid;

#[derive(sqlx::FromRow)]
struct Untold {
    id: Uuid,
    reference: String,
    number: Option<String>,
    came_ms: Instant,
    by_id: Option<Uuid>,
}

/// The oldest first. Danger, or something that happens as it is told.
pub async fn untold(conn: &mut Conn, at_most: i64) -> Result<Vec<Danger>> {
    let found = rows!(
        conn,
        Untold,
        "SELECT r.id, r.reference, k.number, r.came_ms, r.by_id FROM report r LEFT JOIN pack k ON k.id = r.pack_id \
         WHERE r.told_ms IS NULL AND (r.gravity IN ('danger', 'final_danger') OR r.is_now = 'yes') ORDER BY r.came_ms, r.id LIMIT $1",
        at_most
    )?;
    let danger = |one: Untold| Danger {
        report: one.id,
        reference: one.reference,
        pack: one.number,
        came: one.came_ms,
        by: one.by_id,
    };
    Ok(found.into_iter().map(danger).collect())
}

pub async fn note_told(tx: &mut Tx, report: Uuid, at: Instant) -> Result<()> {
    let sql = "UPDATE report SET told_ms = $2 WHERE id = $1";
    change!(tx, sql, report, at)?;
    Ok(())
}

#[derive(sqlx::FromRow)]
struct Last {
    on_day: String,
    goes_ms: Instant,
    touched: i64,
}

/// One that is held for want of an address gathers all the same.
pub async fn latest(conn: &mut Conn, person_id: Uuid) -> Result<Option<Latest>> {
    let found = row!(
        conn,
        Last,
        "SELECT on_day, MAX(COALESCE(sent_ms, next_ms)) AS goes_ms, \
         CAST(SUM(CASE WHEN state = 'held' OR (state = 'waiting' AND lease_id IS NULL AND tries = 0) THEN 0 ELSE 1 END) AS BIGINT) AS touched \
         FROM mail WHERE person_id = $1 AND kind = 'at_once' GROUP BY on_day ORDER BY MAX(made_ms) DESC, on_day DESC LIMIT 1",
        person_id
    )?;
    Ok(found.map(|last| Latest {
        key: last.on_day,
        goes: last.goes_ms,
        is_untouched: last.touched == 0,
    }))
}

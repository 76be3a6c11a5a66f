//! What is told at once: danger that was reported and not told yet, and the message by which it goes. Decides nothing.

use super::{Conn, Result, Tx, change, row, rows};
use crate::club::calendar::Instant;
use crate::club::reminders::at_once::{Danger, Latest};
use crate::store::outbox::Channel;
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

/// What goes by it, and by which its reminders are known (`on_day`).
#[derive(sqlx::FromRow)]
struct Last {
    on_day: String,
    made_ms: Instant,
    next_ms: Instant,
    is_untouched: bool,
}

/// The latest message at once to somebody by a channel. One that is held for want of an address goes nowhere and gathers all the same.
pub async fn latest(
    conn: &mut Conn,
    person_id: Uuid,
    channel: Channel,
) -> Result<Option<(String, Latest)>> {
    let found = row!(
        conn,
        Last,
        "SELECT on_day, made_ms, COALESCE(sent_ms, next_ms) AS next_ms, (state = 'held' OR (state = 'waiting' AND lease_id IS NULL AND tries = 0)) \
         AS is_untouched FROM mail WHERE person_id = $1 AND channel = $2 AND kind = 'at_once' ORDER BY made_ms DESC, id DESC LIMIT 1",
        person_id,
        channel.code()
    )?;
    Ok(found.map(|last| {
        let latest = Latest {
            made: last.made_ms,
            goes: last.next_ms,
            is_untouched: last.is_untouched,
        };
        (last.on_day, latest)
    }))
}

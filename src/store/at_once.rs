//! What is told at once: danger that was reported, or found on a pack, and not told yet, and the latest message by which a person was told so. Decides
//! nothing.

use super::{Conn, Result, Tx, change, row, rows};
use crate::club::calendar::Instant;
use crate::club::reminders::at_once::{Danger, Latest, What};
use uuid::Uuid;

#[derive(sqlx::FromRow)]
struct Untold {
    id: Uuid,
    /// None of what was found.
    reference: Option<String>,
    number: Option<String>,
    at_ms: Instant,
    by_id: Option<Uuid>,
}

impl Untold {
    fn danger(self) -> Danger {
        let (reference, pack) = (self.reference, self.number);
        Danger {
            id: self.id,
            what: match reference {
                Some(reference) => What::Reported { reference, pack },
                None => What::Found {
                    pack: pack.unwrap_or_default(),
                },
            },
            at: self.at_ms,
            by: self.by_id,
        }
    }
}

/// The oldest first. Danger, or something that happens as it is reported.
pub async fn untold(conn: &mut Conn, at_most: i64) -> Result<Vec<Danger>> {
    let found = rows!(
        conn,
        Untold,
        "SELECT id, reference, number, at_ms, by_id FROM ( \
         SELECT r.id, r.reference, k.number, r.came_ms AS at_ms, r.by_id FROM report r LEFT JOIN pack k ON k.id = r.pack_id \
         WHERE r.told_ms IS NULL AND (r.gravity IN ('danger', 'final_danger') OR r.is_now = 'yes') \
         UNION ALL SELECT f.id, NULL, k.number, f.found_ms, f.found_by FROM finding f JOIN pack k ON k.id = f.pack_id \
         WHERE f.is_to_tell = TRUE AND f.closed_ms IS NULL) AS untold ORDER BY at_ms, id LIMIT $1",
        at_most
    )?;
    Ok(found.into_iter().map(Untold::danger).collect())
}

pub async fn note_told(tx: &mut Tx, danger: &Danger, at: Instant) -> Result<()> {
    match danger.what {
        What::Reported { .. } => {
            let sql = "UPDATE report SET told_ms = $2 WHERE id = $1";
            change!(tx, sql, danger.id, at)?;
        }
        What::Found { .. } => {
            let sql = "UPDATE finding SET is_to_tell = FALSE WHERE id = $1";
            change!(tx, sql, danger.id)?;
        }
    }
    Ok(())
}

/// What was found on a pack at that instant is told by the report that found it.
pub async fn told_by_report(tx: &mut Tx, pack_id: Uuid, at: Instant) -> Result<()> {
    change!(
        tx,
        "UPDATE finding SET is_to_tell = FALSE WHERE pack_id = $1 AND found_ms = $2 AND is_to_tell = TRUE",
        pack_id,
        at
    )?;
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

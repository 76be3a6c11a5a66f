//! What is told at once: danger that was reported, or found on a pack, or charges with what was set aside, and not told yet, and the latest message by which a person was told so. Decides
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
    /// That was set aside; None of what was reported or found.
    kit: Option<String>,
    charge_id: Option<Uuid>,
    watched_by: Option<Uuid>,
}

impl Untold {
    fn danger(self) -> Danger {
        let (reference, pack) = (self.reference, self.number);
        Danger {
            id: self.id,
            what: match (reference, self.kit) {
                (Some(reference), _) => What::Reported { reference, pack },
                (None, Some(kit)) => What::KitSetAside {
                    pack: pack.unwrap_or_default(),
                    kit,
                },
                (None, None) => What::Found {
                    pack: pack.unwrap_or_default(),
                },
            },
            at: self.at_ms,
            by: self.by_id,
            charge: self.charge_id.zip(self.watched_by),
        }
    }
}

/// The oldest first. Danger, or something that happens as it is reported.
pub async fn untold(conn: &mut Conn, at_most: i64) -> Result<Vec<Danger>> {
    let found = rows!(
        conn,
        Untold,
        "SELECT id, reference, number, at_ms, by_id, kit, charge_id, watched_by FROM ( \
         SELECT r.id, r.reference, k.number, r.came_ms AS at_ms, r.by_id, CAST(NULL AS TEXT) AS kit, rc.id AS charge_id, rc.watched_by \
         FROM report r LEFT JOIN pack k ON k.id = r.pack_id LEFT JOIN charge rc ON rc.pack_id = k.id AND rc.ended_ms IS NULL \
         WHERE r.told_ms IS NULL AND (r.gravity IN ('danger', 'final_danger') OR r.is_now = 'yes') \
         UNION ALL SELECT f.id, NULL, k.number, f.found_ms, f.found_by, NULL, fc.id, fc.watched_by \
         FROM finding f JOIN pack k ON k.id = f.pack_id LEFT JOIN charge fc ON fc.pack_id = k.id AND fc.ended_ms IS NULL \
         WHERE f.is_to_tell = TRUE AND f.closed_ms IS NULL \
         UNION ALL SELECT sc.id, NULL, k.number, COALESCE(i.set_aside_ms, sc.started_ms), i.set_aside_by, i.number, sc.id, sc.watched_by \
         FROM charge sc JOIN pack k ON k.id = sc.pack_id JOIN kit i ON i.id IN (sc.charger_id, sc.supply_id, sc.cable_id) \
         WHERE sc.ended_ms IS NULL AND sc.stop_told_ms IS NULL AND i.aside_count > 0) AS untold ORDER BY at_ms, id LIMIT $1",
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
        What::KitSetAside { .. } => {
            let sql = "UPDATE charge SET stop_told_ms = $2 WHERE id = $1";
            change!(tx, sql, danger.id, at)?;
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

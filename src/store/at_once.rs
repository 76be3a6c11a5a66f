//! What is told at once: danger that was reported, or found on a pack, or charges with what was set aside, and not told yet, and the latest message by which a person was told so. Decides
//! nothing.

use super::{Conn, Result, Tx, change, row, rows};
use crate::battery::volts::Volts;
use crate::club::calendar::Instant;
use crate::club::reminders::at_once::{Danger, Latest, Lies, What, found_words, reported_words};
use crate::club::reports::{Thing, seen_of};
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
    /// Of a report what was ticked, of what was found a line each: rule, words.
    seen: Option<String>,
    thing: Option<String>,
    volts: Option<String>,
    is_now: bool,
    poster: Option<String>,
    place: Option<String>,
    is_out: bool,
}

impl Untold {
    fn danger(self) -> Danger {
        let pack = self.number.clone();
        let seen = self.seen.as_deref().unwrap_or_default();
        let (what, told) = match (&self.reference, &self.kit) {
            (Some(reference), _) => {
                let what = What::Reported {
                    reference: reference.clone(),
                    pack,
                };
                let thing = self.thing.as_deref().and_then(Thing::from_code);
                let volts = self.volts.as_deref().and_then(Volts::from_text);
                (
                    what,
                    reported_words(&seen_of(seen), thing, volts.as_ref(), self.is_now),
                )
            }
            (None, Some(kit)) => {
                let (pack, kit) = (pack.unwrap_or_default(), kit.clone());
                (What::KitSetAside { pack, kit }, String::new())
            }
            (None, None) => {
                let pack = pack.unwrap_or_default();
                (What::Found { pack }, found_words(seen))
            }
        };
        Danger {
            id: self.id,
            what,
            told,
            lies: Lies {
                poster: self.poster,
                place: self.place,
                is_out: self.is_out,
            },
            at: self.at_ms,
            by: self.by_id,
            charge: self.charge_id.zip(self.watched_by),
        }
    }
}

/// Somebody has the pack `k`, on a loan or at home.
macro_rules! is_out {
    () => {
        "(EXISTS (SELECT 1 FROM lent lo WHERE lo.pack_id = k.id AND lo.closed_ms IS NULL) \
         OR EXISTS (SELECT 1 FROM care ca WHERE ca.pack_id = k.id AND ca.home_id IS NOT NULL)) AS is_out"
    };
}

/// Of a finding `f`: it and what else was found with it, which is told by one reminder.
macro_rules! found_together {
    () => {
        "(SELECT STRING_AGG(fa.what, '\u{1e}') FROM (SELECT fw.rule || ' ' || REPLACE(fw.words, '\u{1e}', ' ') AS what FROM finding fw WHERE fw.pack_id = f.pack_id \
         AND fw.found_ms = f.found_ms AND fw.is_to_tell = TRUE AND fw.closed_ms IS NULL ORDER BY fw.id) fa)"
    };
}

/// The oldest first. Danger, or something that happens as it is reported.
pub async fn untold(conn: &mut Conn, at_most: i64) -> Result<Vec<Danger>> {
    let found = rows!(
        conn,
        Untold,
        concat!(
            "SELECT id, reference, number, at_ms, by_id, kit, charge_id, watched_by, seen, thing, volts, is_now, poster, place, is_out FROM ( \
             SELECT r.id, r.reference, k.number, r.came_ms AS at_ms, r.by_id, CAST(NULL AS TEXT) AS kit, rc.id AS charge_id, rc.watched_by, \
             r.seen, r.thing, r.volts, r.is_now = 'yes' AS is_now, o.name AS poster, pl.name AS place, ",
            is_out!(),
            " FROM report r LEFT JOIN pack k ON k.id = r.pack_id LEFT JOIN charge rc ON rc.pack_id = k.id AND rc.ended_ms IS NULL \
             LEFT JOIN poster o ON o.id = r.poster_id LEFT JOIN place pl ON pl.id = k.place_id \
             WHERE r.told_ms IS NULL AND (r.gravity IN ('danger', 'final_danger') OR r.is_now = 'yes') \
             UNION ALL SELECT f.id, NULL, k.number, f.found_ms, f.found_by, NULL, fc.id, fc.watched_by, ",
            found_together!(),
            ", NULL, NULL, FALSE, NULL, pl.name, ",
            is_out!(),
            " FROM finding f JOIN pack k ON k.id = f.pack_id LEFT JOIN charge fc ON fc.pack_id = k.id AND fc.ended_ms IS NULL \
             LEFT JOIN place pl ON pl.id = k.place_id WHERE f.is_to_tell = TRUE AND f.closed_ms IS NULL \
             UNION ALL SELECT sc.id, NULL, k.number, COALESCE(i.set_aside_ms, sc.started_ms), i.set_aside_by, i.number, sc.id, sc.watched_by, \
             NULL, NULL, NULL, FALSE, NULL, pl.name, FALSE FROM charge sc JOIN pack k ON k.id = sc.pack_id \
             JOIN kit i ON i.id IN (sc.charger_id, sc.supply_id, sc.cable_id) LEFT JOIN place pl ON pl.id = i.place_id \
             WHERE sc.ended_ms IS NULL AND i.aside_count > 0 AND (sc.stop_told_ms IS NULL OR sc.stop_told_ms < i.set_aside_ms)) AS untold ORDER BY at_ms, id LIMIT $1"
        ),
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

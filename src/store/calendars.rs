//! The secret addresses of people's calendars, and what of the pool has a day: loans, the last day of the induction, and for those who
//! run the pool or oversee it checks of places, storage rounds, events. What packs are due for is storage care's.

use super::{Conn, Result, Tx, change, row, rows};
use crate::club::calendar::{Day, Instant};
use uuid::Uuid;

/// Since when this person has an address.
pub async fn made(conn: &mut Conn, person_id: Uuid) -> Result<Option<Instant>> {
    let found = row!(
        conn,
        (Instant,),
        "SELECT made_ms FROM calendar WHERE person_id = $1",
        person_id
    )?;
    Ok(found.map(|(made_ms,)| made_ms))
}

/// In place of the one before.
pub async fn renew(tx: &mut Tx, person_id: Uuid, token_hash: &str, at: Instant) -> Result<()> {
    change!(
        tx,
        "INSERT INTO calendar (person_id, token_hash, made_ms) VALUES ($1, $2, $3) \
         ON CONFLICT (person_id) DO UPDATE SET token_hash = excluded.token_hash, made_ms = excluded.made_ms",
        person_id,
        token_hash,
        at
    )?;
    Ok(())
}

/// Whether there was one.
pub async fn end(tx: &mut Tx, person_id: Uuid) -> Result<bool> {
    let ended = change!(tx, "DELETE FROM calendar WHERE person_id = $1", person_id)?;
    Ok(ended == 1)
}

/// Something with a day. Several things of one loan stand one after the other.
#[derive(Clone, Debug, sqlx::FromRow)]
pub struct Dated {
    /// `whose` is the person themselves: it is there while the address works. Else `loan`, `induction`, `extinguisher`, `detector`, `round`,
    /// `event`; or `unwanted`, whose name is a kind of reminder that they chose not to have in it.
    pub what: String,
    pub id: Uuid,
    pub name: String,
    pub place: String,
    pub first_on: Option<String>,
    pub last_on: Option<String>,
    /// When a round was opened.
    pub at_ms: Instant,
}

/// Empty where no calendar has this hash, or its person may not come in any more. `since`: events that ended before are left out.
pub async fn dated(conn: &mut Conn, token_hash: &str, since: Day) -> Result<Vec<Dated>> {
    rows!(
        conn,
        Dated,
        "WITH whose AS (SELECT p.id, p.is_quartermaster OR p.is_organiser AS oversees FROM calendar c JOIN person p ON p.id = c.person_id \
         WHERE c.token_hash = $1 AND p.deactivated_ms IS NULL AND p.erased_ms IS NULL) \
         SELECT what, id, name, place, first_on, last_on, at_ms FROM ( \
         SELECT 'whose' AS what, w.id, '' AS name, '' AS place, CAST(NULL AS TEXT) AS first_on, CAST(NULL AS TEXT) AS last_on, \
         CAST(0 AS BIGINT) AS at_ms, CAST(0 AS BIGINT) AS number_key FROM whose w \
         UNION ALL SELECT 'unwanted', w.id, rc.kind, '', NULL, NULL, 0, 0 \
         FROM whose w JOIN reminder_choice rc ON rc.person_id = w.id WHERE rc.in_calendar = FALSE \
         UNION ALL SELECT 'loan', lo.id, COALESCE(k.number, i.number), '', lo.due_on, lo.due_on, le.opened_ms, COALESCE(k.number_key, 0) \
         FROM whose w JOIN loan lo ON lo.borrower_id = w.id JOIN lent le ON le.loan_id = lo.id \
         LEFT JOIN pack k ON k.id = le.pack_id LEFT JOIN kit i ON i.id = le.kit_id WHERE le.closed_ms IS NULL \
         UNION ALL SELECT 'induction', w.id, '', '', i.ends_on, i.ends_on, i.noted_ms, 0 \
         FROM whose w JOIN induction i ON i.id = (SELECT l.id FROM induction l WHERE l.person_id = w.id \
         ORDER BY l.shown_on DESC, l.noted_ms DESC LIMIT 1) WHERE i.ends_on IS NOT NULL \
         UNION ALL SELECT 'extinguisher', pl.id, pl.name, pl.room, pl.extinguisher_check_due, pl.extinguisher_check_due, pl.created_ms, 0 \
         FROM whose w JOIN place pl ON w.oversees WHERE pl.closed_ms IS NULL AND pl.extinguisher_check_due IS NOT NULL \
         UNION ALL SELECT 'detector', pl.id, pl.name, pl.room, pl.detector_check_due, pl.detector_check_due, pl.created_ms, 0 \
         FROM whose w JOIN place pl ON w.oversees WHERE pl.closed_ms IS NULL AND pl.detector_check_due IS NOT NULL \
         UNION ALL SELECT 'round', r.id, r.name, '', (SELECT MIN(rp.home_by) FROM round_pack rp WHERE rp.round_id = r.id), NULL, r.opened_ms, 0 \
         FROM whose w JOIN storage_round r ON w.oversees WHERE r.closed_ms IS NULL \
         UNION ALL SELECT 'event', e.id, e.name, e.place, e.first_on, e.last_on, e.starts_ms, 0 \
         FROM whose w JOIN event e ON w.oversees WHERE e.last_on >= $2 AND e.ended_ms IS NULL AND e.called_off_ms IS NULL \
         ) d ORDER BY what, id, number_key, name",
        token_hash,
        since.to_string()
    )
}

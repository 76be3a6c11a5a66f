//! What the hand-out page shows: what lies in the club's places and can go out now, and the night that is open. One query,
//! whose cost follows what is shown: packs are met in the order of their numbers until enough can go out.

use super::{Conn, Result, rows, rows_among};
use crate::club::calendar::Instant;
use crate::club::states::State;
use uuid::Uuid;

/// The most packs and the most pieces of kit to tick; what is beyond is typed.
pub const MOST_TO_TICK: i64 = 60;

pub struct AtHand {
    pub items: Vec<ToTick>,
    pub night: Option<Tonight>,
}

pub struct ToTick {
    pub number: String,
    pub what: String,
    pub place_name: Option<String>,
    /// None for kit.
    pub state: Option<State>,
    /// Why it is in that state; empty for kit.
    pub why: String,
    /// How many of it lie here; 1 of everything but adapters.
    pub free_count: i64,
}

pub struct Tonight {
    pub place_name: String,
    pub ends_on: String,
    pub ends_at: String,
    pub on_duty_name: Option<String>,
}

#[derive(sqlx::FromRow)]
struct Row {
    number: Option<String>,
    what: Option<String>,
    place_name: Option<String>,
    state: Option<String>,
    why: Option<String>,
    free_count: Option<i64>,
    night_place: Option<String>,
    night_ends_on: Option<String>,
    night_ends_at: Option<String>,
    night_on_duty: Option<String>,
}

/// `old_before`: a pack last read before it is not known and can't go out as it is.
pub async fn now(conn: &mut Conn, old_before: Instant) -> Result<AtHand> {
    let found = rows!(
        conn,
        Row,
        "SELECT a.number, a.what, pl.name AS place_name, a.state, a.why, a.free_count, np.name AS night_place, \
         n.ends_on AS night_ends_on, n.ends_at AS night_ends_at, nd.name AS night_on_duty \
         FROM turn LEFT JOIN ( \
          SELECT * FROM (SELECT 0 AS rank, 'pack' AS kind, k.number_key, k.number, d.name AS what, k.place_id, k.state, k.state_words AS why, CAST(1 AS BIGINT) AS free_count \
           FROM pack k JOIN design d ON d.id = k.design_id \
           WHERE k.life = 'in_use' AND k.state IN ('fit', 'caution') AND k.last_read_ms >= $1 \
           AND NOT EXISTS (SELECT 1 FROM lent WHERE lent.pack_id = k.id AND lent.closed_ms IS NULL) \
           AND NOT EXISTS (SELECT 1 FROM care hc WHERE hc.pack_id = k.id AND hc.home_id IS NOT NULL) \
           AND NOT EXISTS (SELECT 1 FROM charge WHERE charge.pack_id = k.id AND charge.ended_ms IS NULL) \
           ORDER BY k.number_key, k.number LIMIT $2) packs \
          UNION ALL \
          SELECT * FROM (SELECT 1 AS rank, i.kind, i.number_key, i.number, COALESCE(NULLIF(i.name, ''), i.kind) AS what, i.place_id, NULL AS state, NULL AS why, \
           i.owned_count - i.aside_count - i.unchecked_count - CAST(COALESCE((SELECT SUM(COALESCE(le.counted, 1)) FROM lent le \
            WHERE le.kit_id = i.id AND le.closed_ms IS NULL), 0) AS BIGINT) AS free_count \
           FROM kit i WHERE i.life = 'in_use' AND i.owned_count - i.aside_count - i.unchecked_count > COALESCE((SELECT SUM(COALESCE(o.counted, 1)) \
            FROM lent o WHERE o.kit_id = i.id AND o.closed_ms IS NULL), 0) ORDER BY i.kind, i.number_key LIMIT $2) things \
         ) a ON a.rank >= 0 \
         LEFT JOIN place pl ON pl.id = a.place_id LEFT JOIN night n ON n.closed_ms IS NULL \
         LEFT JOIN place np ON np.id = n.place_id LEFT JOIN person nd ON nd.id = n.on_duty_id \
         ORDER BY a.rank, a.kind, a.number_key, a.number",
        old_before,
        MOST_TO_TICK
    )?;
    let night = found.first().and_then(tonight);
    let items = found.into_iter().filter_map(to_tick).collect();
    Ok(AtHand { items, night })
}

fn tonight(row: &Row) -> Option<Tonight> {
    Some(Tonight {
        place_name: row.night_place.clone()?,
        ends_on: row.night_ends_on.clone()?,
        ends_at: row.night_ends_at.clone()?,
        on_duty_name: row.night_on_duty.clone(),
    })
}

/// None for the one row that stands where nothing lies here.
fn to_tick(row: Row) -> Option<ToTick> {
    Some(ToTick {
        number: row.number?,
        what: row.what.unwrap_or_default(),
        place_name: row.place_name,
        state: row.state.as_deref().and_then(State::from_code),
        why: row.why.unwrap_or_default(),
        free_count: row.free_count?,
    })
}

/// A pack or a thing of kit, as its label names it.
#[derive(Clone, Debug, sqlx::FromRow)]
pub struct Numbered {
    pub number: String,
    pub number_key: i64,
    /// None: it is a pack.
    pub kit_id: Option<Uuid>,
    pub is_out: bool,
}

/// Whatever bears one of these running numbers, packs and kit, in one query.
pub async fn numbered(conn: &mut Conn, keys: &[i64]) -> Result<Vec<Numbered>> {
    if keys.is_empty() {
        return Ok(Vec::new());
    }
    rows_among!(
        conn,
        Numbered,
        "SELECT a.number, a.number_key, a.kit_id, a.is_out FROM ( \
         SELECT k.number, k.number_key, CAST(NULL AS UUID) AS kit_id, \
          EXISTS (SELECT 1 FROM lent le WHERE le.pack_id = k.id AND le.closed_ms IS NULL) AS is_out \
          FROM pack k WHERE k.life <> 'withdrawn' \
         UNION ALL \
         SELECT i.number, i.number_key, i.id AS kit_id, \
          EXISTS (SELECT 1 FROM lent le WHERE le.kit_id = i.id AND le.closed_ms IS NULL) AS is_out \
          FROM kit i WHERE i.life <> 'withdrawn') a WHERE a.number_key IN (",
        keys,
        ") ORDER BY a.number_key, a.number"
    )
}

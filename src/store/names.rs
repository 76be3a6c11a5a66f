//! What people and places are called today, for pages that know only ids.

use super::log::{Head, no_turn};
use super::{Conn, Result, rows};
use crate::club::calendar::Instant;
use std::collections::HashMap;
use uuid::Uuid;

#[derive(Default)]
pub struct Names(HashMap<Uuid, String>);

impl Names {
    pub fn of(&self, id: Uuid) -> &str {
        self.0.get(&id).map_or("(erased)", String::as_str)
    }
}

pub async fn people_and_places(conn: &mut Conn) -> Result<Names> {
    let found = rows!(
        conn,
        (Uuid, String),
        "SELECT id, name FROM person WHERE name IS NOT NULL UNION ALL SELECT id, name FROM place"
    )?;
    Ok(Names(found.into_iter().collect()))
}

/// The same, and the head of the log.
pub async fn with_head(conn: &mut Conn) -> Result<(Names, Head)> {
    let found = rows!(
        conn,
        (i64, String, Option<Uuid>, Option<String>),
        "SELECT t.log_seq, t.log_hash, n.id, n.name FROM turn t LEFT JOIN \
         (SELECT id, name FROM person WHERE name IS NOT NULL UNION ALL SELECT id, name FROM place) n ON TRUE WHERE t.id = 1"
    )?;
    let head = found.first().map(|(seq, hash, ..)| Head {
        seq: *seq,
        hash: hash.clone(),
    });
    let names = found
        .into_iter()
        .filter_map(|(_, _, id, name)| Some((id?, name?)));
    Ok((Names(names.collect()), head.ok_or_else(no_turn)?))
}

/// Open places and active people in one go: (is a place, id, name).
pub async fn places_and_active_people(conn: &mut Conn) -> Result<Vec<(bool, Uuid, String)>> {
    rows!(
        conn,
        (bool, Uuid, String),
        "SELECT TRUE, id, name FROM place WHERE closed_ms IS NULL UNION ALL \
         SELECT FALSE, id, COALESCE(name, '') FROM person WHERE deactivated_ms IS NULL AND erased_ms IS NULL"
    )
}

/// Where packs come from as a storage round begins: an open place, or an event that has begun, with its days and where it is.
#[derive(Clone, Debug, sqlx::FromRow)]
pub struct CameFrom {
    pub is_place: bool,
    pub id: Uuid,
    pub name: String,
    pub place: String,
    pub first_on: String,
    pub last_on: String,
}

/// Open places, and the latest events that have begun, in one go.
pub async fn places_and_events(conn: &mut Conn, now: Instant) -> Result<Vec<CameFrom>> {
    rows!(
        conn,
        CameFrom,
        "SELECT TRUE AS is_place, id, name, '' AS place, '' AS first_on, '' AS last_on FROM place WHERE closed_ms IS NULL UNION ALL \
         SELECT * FROM (SELECT FALSE, id, name, place, first_on, last_on FROM event WHERE starts_ms <= $1 AND called_off_ms IS NULL ORDER BY ends_ms DESC LIMIT 20) e",
        now
    )
}

//! What people and places are called today, for pages that know only ids.

use super::{Conn, Result, rows};
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

/// Open places and active people in one go: (is a place, id, name).
pub async fn places_and_active_people(conn: &mut Conn) -> Result<Vec<(bool, Uuid, String)>> {
    rows!(
        conn,
        (bool, Uuid, String),
        "SELECT TRUE, id, name FROM place WHERE closed_ms IS NULL UNION ALL \
         SELECT FALSE, id, COALESCE(name, '') FROM person WHERE deactivated_ms IS NULL AND erased_ms IS NULL"
    )
}

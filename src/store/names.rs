//! What people and places are called today, for pages that know only ids.

use super::{Conn, Result, rows};
use uuid::Uuid;

pub async fn people_and_places(conn: &mut Conn) -> Result<Vec<(Uuid, String)>> {
    rows!(
        conn,
        (Uuid, String),
        "SELECT id, name FROM person WHERE name IS NOT NULL UNION ALL SELECT id, name FROM place"
    )
}

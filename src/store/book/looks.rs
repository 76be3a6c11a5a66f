//! Reports of danger that nobody's word was taken for, until somebody looked and said whether it was so. What waits for that look
//! is the pool's to say.

use crate::store::{Conn, Result, row};
use uuid::Uuid;

/// Is there danger that somebody told of this pack and that nobody took their word for, of which nobody said whether it was so? Whatever
/// it did to the pack until then. A double is looked at with the report that stays.
pub async fn awaits_a_look(conn: &mut Conn, pack_id: Uuid) -> Result<bool> {
    let found = row!(
        conn,
        (i64,),
        "SELECT CAST(1 AS BIGINT) FROM report WHERE pack_id = $1 AND (NOT is_verified OR about <> 'pack') \
         AND gravity IN ('danger', 'final_danger') AND looked_ms IS NULL LIMIT 1",
        pack_id
    )?;
    Ok(found.is_some())
}

/// The report to look at before this finding is closed: it tells of danger, and nobody said whether it was so.
pub async fn awaited_by(conn: &mut Conn, finding_id: Uuid) -> Result<Option<Uuid>> {
    let found = row!(
        conn,
        (Uuid,),
        "SELECT COALESCE(merged_into, id) FROM report WHERE finding_id = $1 AND gravity IN ('danger', 'final_danger') \
         AND looked_ms IS NULL ORDER BY came_ms, id LIMIT 1",
        finding_id
    )?;
    Ok(found.map(|(id,)| id))
}

//! Reports of danger that nobody's word was taken for, until somebody looked and said whether it was so. What waits for that look
//! is the pool's to say.

use crate::club::verdict::Gravity;
use crate::store::{Conn, Result, row, rows};
use uuid::Uuid;

/// Of a report: danger that nobody took its word for, of which nobody said whether it was so.
macro_rules! awaits {
    () => {
        "(NOT is_verified OR about <> 'pack') AND gravity IN ('danger', 'final_danger') AND looked_ms IS NULL"
    };
}

/// The report to look at before the finding of this id is closed.
macro_rules! awaited_report {
    ($finding:literal) => {
        concat!(
            "(SELECT COALESCE(aw.merged_into, aw.id) FROM report aw WHERE aw.finding_id = ",
            $finding,
            " AND aw.gravity IN ('danger', 'final_danger') AND aw.looked_ms IS NULL ORDER BY aw.came_ms, aw.id LIMIT 1)"
        )
    };
}
pub(in crate::store) use awaited_report;

/// The report, or that of which it is a double, by which this finding was told, once somebody looked and it was not so.
macro_rules! not_so_report {
    ($finding:literal) => {
        concat!(
            "(SELECT COALESCE(nr.merged_into, nr.id) FROM report nr WHERE nr.finding_id = ",
            $finding,
            " AND nr.was_so = FALSE ORDER BY nr.came_ms, nr.id LIMIT 1)"
        )
    };
}
pub(in crate::store) use not_so_report;

/// What keeps a pack from some ways out.
pub struct Bars {
    pub open: Vec<Gravity>,
    pub awaits_a_look: bool,
}

pub async fn bars(conn: &mut Conn, pack_id: Uuid) -> Result<Bars> {
    let found = rows!(
        conn,
        (String, bool),
        concat!(
            "SELECT gravity, FALSE AS is_told FROM finding WHERE pack_id = $1 AND closed_ms IS NULL \
             UNION ALL SELECT gravity, TRUE FROM report WHERE pack_id = $1 AND ",
            awaits!()
        ),
        pack_id
    )?;
    let open = found.iter().filter(|(_, is_told)| !is_told);
    Ok(Bars {
        open: open
            .map(|(gravity, _)| Gravity::from_code(gravity).unwrap_or(Gravity::Danger))
            .collect(),
        awaits_a_look: found.iter().any(|(_, is_told)| *is_told),
    })
}

/// Is there danger that somebody told of this pack and that nobody took their word for, of which nobody said whether it was so? Whatever
/// it did to the pack until then. A double is looked at with the report that stays.
pub async fn awaits_a_look(conn: &mut Conn, pack_id: Uuid) -> Result<bool> {
    let found = row!(
        conn,
        (i64,),
        concat!(
            "SELECT CAST(1 AS BIGINT) FROM report WHERE pack_id = $1 AND ",
            awaits!(),
            " LIMIT 1"
        ),
        pack_id
    )?;
    Ok(found.is_some())
}

/// The report to look at before this finding is closed: it tells of danger, and nobody said whether it was so.
pub async fn awaited_by(conn: &mut Conn, finding_id: Uuid) -> Result<Option<Uuid>> {
    let found = row!(
        conn,
        (Option<Uuid>,),
        concat!("SELECT ", awaited_report!("$1")),
        finding_id
    )?;
    Ok(found.and_then(|(id,)| id))
}

/// The findings that were told by the same report and its doubles as this one, all of which were not so; empty: nobody said that of it.
pub async fn not_so_with(conn: &mut Conn, finding_id: Uuid) -> Result<Vec<Uuid>> {
    let found = rows!(
        conn,
        (Uuid,),
        concat!(
            "SELECT DISTINCT dr.finding_id FROM report dr WHERE dr.finding_id IS NOT NULL AND dr.was_so = FALSE \
             AND COALESCE(dr.merged_into, dr.id) = ",
            not_so_report!("$1")
        ),
        finding_id
    )?;
    Ok(found.into_iter().map(|(id,)| id).collect())
}

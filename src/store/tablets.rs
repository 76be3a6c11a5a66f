//! Shared tablets: browsers that a quartermaster made the table's own, and the people who may change over on one.

use super::{Conn, Result, Tx, change, row, rows};
use crate::club::calendar::Instant;
use uuid::Uuid;

#[derive(Clone, Debug)]
pub struct Tablet {
    pub id: Uuid,
    pub name: String,
    pub token_hash: String,
    pub opened_by: Uuid,
    pub opened_ms: Instant,
}

/// A tablet that is in use.
#[derive(Clone, Debug, sqlx::FromRow)]
pub struct InUse {
    pub id: Uuid,
    pub name: String,
    pub opened_ms: Instant,
    pub opened_by_name: Option<String>,
}

pub async fn open(tx: &mut Tx, tablet: &Tablet) -> Result<()> {
    change!(
        tx,
        "INSERT INTO tablet (id, name, token_hash, opened_by, opened_ms) VALUES ($1, $2, $3, $4, $5)",
        tablet.id,
        &tablet.name,
        &tablet.token_hash,
        tablet.opened_by,
        tablet.opened_ms
    )?;
    Ok(())
}

pub async fn by_token(conn: &mut Conn, token_hash: &str) -> Result<Option<InUse>> {
    row!(
        conn,
        InUse,
        "SELECT t.id, t.name, t.opened_ms, p.name AS opened_by_name FROM tablet t JOIN person p ON p.id = t.opened_by \
         WHERE t.token_hash = $1 AND t.ended_ms IS NULL",
        token_hash
    )
}

pub async fn in_use(conn: &mut Conn) -> Result<Vec<InUse>> {
    rows!(
        conn,
        InUse,
        "SELECT t.id, t.name, t.opened_ms, p.name AS opened_by_name FROM tablet t JOIN person p ON p.id = t.opened_by \
         WHERE t.ended_ms IS NULL ORDER BY t.opened_ms, t.id"
    )
}

/// Ends the tablet and every session on it; whether it was in use.
pub async fn end(tx: &mut Tx, id: Uuid, now: Instant) -> Result<bool> {
    super::sessions::end_on_tablet(tx, id).await?;
    let ended = change!(
        tx,
        "UPDATE tablet SET ended_ms = $2 WHERE id = $1 AND ended_ms IS NULL",
        id,
        now
    )?;
    Ok(ended == 1)
}

/// Somebody who set a code for the table.
#[derive(Clone, Debug)]
pub struct AtTable {
    pub id: Uuid,
    pub name: String,
}

#[derive(sqlx::FromRow)]
struct Row {
    tablet_name: String,
    id: Option<Uuid>,
    name: Option<String>,
}

/// The name of the tablet whose token this is, while it is in use, and who may change over on it.
pub async fn with_people(
    conn: &mut Conn,
    token_hash: &str,
) -> Result<Option<(String, Vec<AtTable>)>> {
    let rows = rows!(
        conn,
        Row,
        "SELECT t.name AS tablet_name, p.id, p.name FROM tablet t LEFT JOIN person p ON p.table_code_hash IS NOT NULL \
         AND p.deactivated_ms IS NULL AND p.erased_ms IS NULL AND (p.is_member = TRUE OR p.is_quartermaster = TRUE) \
         WHERE t.token_hash = $1 AND t.ended_ms IS NULL ORDER BY LOWER(p.name), p.id",
        token_hash
    )?;
    let Some(name) = rows.first().map(|row| row.tablet_name.clone()) else {
        return Ok(None);
    };
    let people = rows.into_iter().filter_map(|row| {
        let (id, name) = row.id.zip(row.name)?;
        Some(AtTable { id, name })
    });
    Ok(Some((name, people.collect())))
}

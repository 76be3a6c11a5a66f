//! Codes on the wall: where each hangs and which code it bears. An ended one stays, so that its code is never given again.

use crate::club::calendar::Instant;
use crate::store::{Conn, Result, Tx, change, row, rows};
use uuid::Uuid;

#[derive(Clone, Debug, sqlx::FromRow)]
pub struct Poster {
    pub id: Uuid,
    pub code: String,
    pub name: String,
    pub base: String,
    pub made_ms: Instant,
    pub ended_ms: Option<Instant>,
}

/// None alike for a code that never was and one that was ended.
pub async fn with_code(conn: &mut Conn, code: &str) -> Result<Option<Poster>> {
    row!(
        conn,
        Poster,
        "SELECT id, code, name, base, made_ms, ended_ms FROM poster WHERE code = $1 AND ended_ms IS NULL",
        code
    )
}

pub async fn by_id(conn: &mut Conn, id: Uuid) -> Result<Option<Poster>> {
    row!(
        conn,
        Poster,
        "SELECT id, code, name, base, made_ms, ended_ms FROM poster WHERE id = $1",
        id
    )
}

/// Those that work first.
pub async fn all(conn: &mut Conn) -> Result<Vec<Poster>> {
    rows!(
        conn,
        Poster,
        "SELECT id, code, name, base, made_ms, ended_ms FROM poster \
         ORDER BY CASE WHEN ended_ms IS NULL THEN 0 ELSE 1 END, name, id LIMIT 200"
    )
}

pub async fn add(tx: &mut Tx, poster: &Poster, by: Uuid) -> Result<()> {
    change!(
        tx,
        "INSERT INTO poster (id, code, name, base, made_ms, made_by) VALUES ($1, $2, $3, $4, $5, $6)",
        poster.id,
        &poster.code,
        &poster.name,
        &poster.base,
        poster.made_ms,
        by
    )?;
    Ok(())
}

/// How many ended: 0 or 1.
pub async fn end(tx: &mut Tx, id: Uuid, by: Uuid, at: Instant) -> Result<u64> {
    change!(
        tx,
        "UPDATE poster SET ended_ms = $2, ended_by = $3 WHERE id = $1 AND ended_ms IS NULL",
        id,
        at,
        by
    )
}

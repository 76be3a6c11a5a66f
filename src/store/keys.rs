//! One-time keys of forms and requests: what was answered to a key, so that sending it again has one effect.

use super::{Conn, Result, Tx, change, row};
use crate::club::calendar::Instant;
use uuid::Uuid;

#[derive(Debug, sqlx::FromRow)]
pub struct Answered {
    pub person_id: Uuid,
    pub body_hash: String,
    pub answer: String,
}

pub async fn answered(conn: &mut Conn, key: &str) -> Result<Option<Answered>> {
    row!(
        conn,
        Answered,
        "SELECT person_id, body_hash, answer FROM form_key WHERE key = $1",
        key
    )
}

pub async fn keep(tx: &mut Tx, key: &str, given: &Answered, at: Instant) -> Result<()> {
    change!(
        tx,
        "INSERT INTO form_key (key, person_id, body_hash, answer, at_ms) VALUES ($1, $2, $3, $4, $5)",
        key,
        given.person_id,
        &given.body_hash,
        &given.answer,
        at
    )?;
    Ok(())
}

pub async fn sweep(tx: &mut Tx, before: Instant) -> Result<()> {
    change!(tx, "DELETE FROM form_key WHERE at_ms < $1", before)?;
    Ok(())
}

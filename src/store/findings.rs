//! Findings: what stands against a pack until somebody answers it, and what stood before.

use super::{Conn, Result, Tx, change, rows};
use crate::club::calendar::Instant;
use crate::club::verdict::{Gravity, Rule};
use uuid::Uuid;

#[derive(Clone, Debug, sqlx::FromRow)]
pub struct Found {
    pub id: Uuid,
    pub pack_id: Uuid,
    pub rule: String,
    pub gravity: String,
    pub words: String,
    pub next_words: String,
    pub reading_id: Option<Uuid>,
    pub found_ms: Instant,
    pub found_by: Option<Uuid>,
    pub last_holder_id: Option<Uuid>,
    pub closed_ms: Option<Instant>,
    pub closed_by: Option<Uuid>,
    pub closed_words: Option<String>,
}

impl Found {
    pub fn rule(&self) -> Option<Rule> {
        Rule::from_code(&self.rule)
    }

    /// A gravity this program does not know is taken for the gravest that can be released.
    pub fn gravity(&self) -> Gravity {
        Gravity::from_code(&self.gravity).unwrap_or(Gravity::Danger)
    }
}

pub async fn add(tx: &mut Tx, found: &Found) -> Result<()> {
    change!(
        tx,
        "INSERT INTO finding (id, pack_id, rule, gravity, words, next_words, reading_id, found_ms, found_by, last_holder_id) \
         VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9, $10)",
        found.id,
        found.pack_id,
        &found.rule,
        &found.gravity,
        &found.words,
        &found.next_words,
        found.reading_id,
        found.found_ms,
        found.found_by,
        found.last_holder_id
    )?;
    Ok(())
}

/// What is open against a pack, oldest first.
pub async fn open(conn: &mut Conn, pack_id: Uuid) -> Result<Vec<Found>> {
    rows!(
        conn,
        Found,
        "SELECT id, pack_id, rule, gravity, words, next_words, reading_id, found_ms, found_by, last_holder_id, closed_ms, \
         closed_by, closed_words FROM finding WHERE pack_id = $1 AND closed_ms IS NULL ORDER BY found_ms, id",
        pack_id
    )
}

pub async fn close(tx: &mut Tx, id: Uuid, by: Uuid, words: &str, at: Instant) -> Result<()> {
    change!(
        tx,
        "UPDATE finding SET closed_ms = $2, closed_by = $3, closed_words = $4 WHERE id = $1 AND closed_ms IS NULL",
        id,
        at,
        by,
        words
    )?;
    Ok(())
}

//! Links that work once: an invitation to choose a sign-in, a reset to choose a new password. Only hashes are kept.

use super::{Conn, Result, Tx, change, row};
use crate::club::calendar::Instant;
use uuid::Uuid;

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Kind {
    Invite,
    Reset,
}

impl Kind {
    pub const fn code(self) -> &'static str {
        match self {
            Self::Invite => "invite",
            Self::Reset => "reset",
        }
    }
}

#[derive(Clone, Debug)]
pub struct Link {
    pub id: Uuid,
    pub token_hash: String,
    pub kind: Kind,
    pub person_id: Uuid,
    pub made_by: Uuid,
    pub made_ms: Instant,
    pub ends_ms: Instant,
}

/// Whose link it is, while it works.
#[derive(Clone, Debug, sqlx::FromRow)]
pub struct Open {
    pub id: Uuid,
    pub person_id: Uuid,
    pub person_name: String,
    pub sign_in: Option<String>,
}

/// The person's earlier links stop working: there is one at a time.
pub async fn make(tx: &mut Tx, link: &Link) -> Result<()> {
    drop_all(tx, link.person_id).await?;
    change!(
        tx,
        "INSERT INTO link (id, token_hash, kind, person_id, made_by, made_ms, ends_ms) VALUES ($1, $2, $3, $4, $5, $6, $7)",
        link.id,
        &link.token_hash,
        link.kind.code(),
        link.person_id,
        link.made_by,
        link.made_ms,
        link.ends_ms
    )?;
    Ok(())
}

/// None alike for a link that is unknown, used, too old, or whose person was deactivated.
pub async fn open(
    conn: &mut Conn,
    kind: Kind,
    token_hash: &str,
    now: Instant,
) -> Result<Option<Open>> {
    row!(
        conn,
        Open,
        "SELECT l.id, l.person_id, p.name AS person_name, p.sign_in FROM link l JOIN person p ON p.id = l.person_id \
         WHERE l.token_hash = $1 AND l.kind = $2 AND l.used_ms IS NULL AND l.ends_ms > $3 \
         AND p.deactivated_ms IS NULL AND p.erased_ms IS NULL",
        token_hash,
        kind.code(),
        now
    )
}

/// Whether the link was still unused.
pub async fn use_up(tx: &mut Tx, id: Uuid, now: Instant) -> Result<bool> {
    let used = change!(
        tx,
        "UPDATE link SET used_ms = $2 WHERE id = $1 AND used_ms IS NULL",
        id,
        now
    )?;
    Ok(used == 1)
}

pub async fn drop_all(tx: &mut Tx, person_id: Uuid) -> Result<()> {
    change!(tx, "DELETE FROM link WHERE person_id = $1", person_id)?;
    Ok(())
}

/// Links that can't work any more.
pub async fn sweep(tx: &mut Tx, now: Instant) -> Result<()> {
    change!(
        tx,
        "DELETE FROM link WHERE ends_ms <= $1 OR used_ms IS NOT NULL",
        now
    )?;
    Ok(())
}

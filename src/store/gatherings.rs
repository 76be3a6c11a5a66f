//! What somebody gathers by scanning, on one device: for whom, and which things so far, by number.

use super::{Conn, Result, Tx, change, row};
use crate::club::calendar::Instant;
use uuid::Uuid;

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Kind {
    HandOut,
    TakeBack,
}

impl Kind {
    pub const fn code(self) -> &'static str {
        match self {
            Self::HandOut => "hand_out",
            Self::TakeBack => "take_back",
        }
    }

    pub fn from_code(code: &str) -> Option<Self> {
        [Self::HandOut, Self::TakeBack]
            .into_iter()
            .find(|each| each.code() == code)
    }
}

#[derive(Clone, Debug, Default, sqlx::FromRow)]
pub struct Gathering {
    pub kind: String,
    pub borrower_id: Option<Uuid>,
    /// None: nobody is named, or the person was erased.
    pub borrower_name: Option<String>,
    /// Numbers, a blank between two; adapters with their count: `P-014 A-01x3`.
    pub items: String,
    pub due: String,
    pub purpose: String,
}

impl Gathering {
    pub fn kind(&self) -> Kind {
        Kind::from_code(&self.kind).unwrap_or(Kind::TakeBack)
    }

    pub fn numbers(&self) -> Vec<&str> {
        self.items.split_whitespace().collect()
    }
}

/// One that was begun, or added to, since.
pub async fn of_session(
    conn: &mut Conn,
    session_id: Uuid,
    since: Instant,
) -> Result<Option<Gathering>> {
    row!(
        conn,
        Gathering,
        "SELECT g.kind, g.borrower_id, p.name AS borrower_name, g.items, g.due, g.purpose FROM gathering g \
         LEFT JOIN person p ON p.id = g.borrower_id WHERE g.session_id = $1 AND g.at_ms >= $2",
        session_id,
        since
    )
}

/// In place of what was gathered on that device before.
pub async fn put(tx: &mut Tx, session_id: Uuid, what: &Gathering, at: Instant) -> Result<()> {
    change!(
        tx,
        "INSERT INTO gathering (session_id, kind, borrower_id, items, due, purpose, at_ms) VALUES ($1, $2, $3, $4, $5, $6, $7) \
         ON CONFLICT (session_id) DO UPDATE SET kind = $2, borrower_id = $3, items = $4, due = $5, purpose = $6, at_ms = $7",
        session_id,
        &what.kind,
        what.borrower_id,
        &what.items,
        &what.due,
        &what.purpose,
        at
    )?;
    Ok(())
}

pub async fn end(tx: &mut Tx, session_id: Uuid) -> Result<()> {
    change!(
        tx,
        "DELETE FROM gathering WHERE session_id = $1",
        session_id
    )?;
    Ok(())
}

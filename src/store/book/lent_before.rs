//! The loans that a pack was on, and who had it, for what is frozen into the incident book.

use crate::club::calendar::Instant;
use crate::store::{Conn, Result, rows};
use uuid::Uuid;

#[derive(Clone, Debug, sqlx::FromRow)]
pub struct Before {
    pub opened_ms: Instant,
    pub closed_ms: Option<Instant>,
    pub due_on: String,
    pub outcome: Option<String>,
    /// None: erased since.
    pub borrower: Option<String>,
}

/// The latest first.
pub async fn of_pack(conn: &mut Conn, pack_id: Uuid, at_most: i64) -> Result<Vec<Before>> {
    rows!(
        conn,
        Before,
        "SELECT le.opened_ms, le.closed_ms, lo.due_on, le.outcome, p.name AS borrower FROM lent le JOIN loan lo ON lo.id = le.loan_id \
         JOIN person p ON p.id = lo.borrower_id WHERE le.pack_id = $1 ORDER BY le.opened_ms DESC, le.id DESC LIMIT $2",
        pack_id,
        at_most
    )
}

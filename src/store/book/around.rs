//! What lies on record of a pack around an instant, for what is frozen into the incident book: the loans that it was on and who had it,
//! and what the log says of it. Readings and charges stand with their own kin.

use crate::club::calendar::Instant;
use crate::store::{Conn, Result, rows};
use uuid::Uuid;

/// Up to an instant, or after it; what is nearest to it comes first.
#[derive(Clone, Copy, Debug)]
pub enum Side {
    UpTo(Instant),
    After(Instant),
}

impl Side {
    /// Of an instant t in ms that lies there, `turn * t >= from`, and what is nearer has the smaller `turn * t`.
    pub const fn turn_and_from(self) -> (i64, i64) {
        match self {
            Self::UpTo(at) => (-1, -at.ms()),
            Self::After(at) => (1, at.ms() + 1),
        }
    }
}

#[derive(Clone, Debug, sqlx::FromRow)]
pub struct Before {
    pub opened_ms: Instant,
    pub closed_ms: Option<Instant>,
    pub due_on: String,
    pub outcome: Option<String>,
    /// None: erased since.
    pub borrower: Option<String>,
}

pub async fn loans(
    conn: &mut Conn,
    pack_id: Uuid,
    side: Side,
    at_most: i64,
) -> Result<Vec<Before>> {
    let (turn, from) = side.turn_and_from();
    rows!(
        conn,
        Before,
        "SELECT le.opened_ms, le.closed_ms, lo.due_on, le.outcome, p.name AS borrower FROM lent le JOIN loan lo ON lo.id = le.loan_id \
         JOIN person p ON p.id = lo.borrower_id WHERE le.pack_id = $1 AND $2 * le.opened_ms >= $3 \
         ORDER BY $2 * le.opened_ms, le.id LIMIT $4",
        pack_id,
        turn,
        from,
        at_most
    )
}

#[derive(Clone, Debug, sqlx::FromRow)]
pub struct Changed {
    pub seq: i64,
    pub at_ms: Instant,
    pub verb: String,
    pub after: String,
}

pub async fn changes(
    conn: &mut Conn,
    pack_id: Uuid,
    side: Side,
    at_most: i64,
) -> Result<Vec<Changed>> {
    let (turn, from) = side.turn_and_from();
    rows!(
        conn,
        Changed,
        "SELECT seq, at_ms, verb, after FROM activity WHERE subject_id = $1 AND $2 * at_ms >= $3 ORDER BY $2 * seq LIMIT $4",
        pack_id,
        turn,
        from,
        at_most
    )
}

//! What whoever sent a report was answered: added to, never changed.

use super::reports::Report;
use crate::club::calendar::Instant;
use crate::ids;
use crate::store::{Conn, Result, Tx, change, rows};
use uuid::Uuid;

/// The name is that of today.
#[derive(Clone, Debug, sqlx::FromRow)]
pub struct Answer {
    pub words: String,
    pub at_ms: Instant,
    pub by_name: Option<String>,
}

pub async fn add(tx: &mut Tx, report_id: Uuid, by: (Uuid, Instant), words: &str) -> Result<()> {
    change!(
        tx,
        "INSERT INTO report_answer (id, report_id, words, at_ms, by_id) VALUES ($1, $2, $3, $4, $5)",
        ids::new_id(),
        report_id,
        words,
        by.1,
        by.0
    )?;
    Ok(())
}

/// The oldest first; of a double those of the report that stays too.
pub async fn to(conn: &mut Conn, report: &Report) -> Result<Vec<Answer>> {
    rows!(
        conn,
        Answer,
        "SELECT a.words, a.at_ms, p.name AS by_name FROM report_answer a LEFT JOIN person p ON p.id = a.by_id \
         WHERE a.report_id = $1 OR a.report_id = $2 ORDER BY a.at_ms, a.id",
        report.id,
        report.merged_into.unwrap_or(report.id)
    )
}

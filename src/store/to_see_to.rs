//! What of the pool is to see to besides the packs, in one query: overdue loans, and places where a check is due. What of it needs
//! somebody, and how badly, is the club's rule.

use super::{Conn, Result, rows};
use crate::club::calendar::Day;
use uuid::Uuid;

/// One thing of it; what a kind has no use for is None.
#[derive(Clone, Debug, sqlx::FromRow)]
pub struct Besides {
    /// `loan`, `extinguisher`, `detector`.
    pub what: String,
    /// Of the loan, the place.
    pub id: Uuid,
    /// Number of what is out, name of the place.
    pub name: String,
    /// Who has it; None where they were erased.
    pub person: Option<String>,
    /// When it is due.
    pub day: Option<String>,
}

/// What a loan has out stands in the order of numbers, packs before kit. `today` in the hall.
pub async fn besides(conn: &mut Conn, today: Day) -> Result<Vec<Besides>> {
    rows!(
        conn,
        Besides,
        "SELECT what, id, name, person, day FROM ( \
         SELECT 'loan' AS what, lo.id, COALESCE(k.number, i.number) AS name, p.name AS person, lo.due_on AS day, \
         CASE WHEN k.id IS NULL THEN 1 ELSE 0 END AS later, COALESCE(k.number_key, i.number_key) AS number_key \
         FROM lent le JOIN loan lo ON lo.id = le.loan_id JOIN person p ON p.id = lo.borrower_id \
         LEFT JOIN pack k ON k.id = le.pack_id LEFT JOIN kit i ON i.id = le.kit_id \
         WHERE le.closed_ms IS NULL AND lo.due_on < $1 \
         UNION ALL SELECT 'extinguisher', id, name, NULL, extinguisher_check_due, 0, 0 FROM place \
         WHERE closed_ms IS NULL AND extinguisher_check_due <= $1 \
         UNION ALL SELECT 'detector', id, name, NULL, detector_check_due, 0, 0 FROM place \
         WHERE closed_ms IS NULL AND detector_check_due <= $1 \
         ) b ORDER BY what, id, later, number_key, name",
        today.to_string()
    )
}

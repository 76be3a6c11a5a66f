//! How a person stands, as the rules of membership ask for it: roles, what they hold, whom they answer for, and how many
//! quartermasters and organisers the club has who can sign in.

use super::{Conn, Result, row};
use crate::club::membership::Standing;
use crate::club::people::Roles;
use uuid::Uuid;

#[derive(sqlx::FromRow)]
struct Columns {
    id: Uuid,
    is_member: bool,
    is_quartermaster: bool,
    is_organiser: bool,
    is_active: bool,
    has_password: bool,
    responsible_id: Option<Uuid>,
    open_loans: i64,
    answers_for: i64,
    quartermasters: i64,
    organisers: i64,
}

pub async fn of(conn: &mut Conn, id: Uuid) -> Result<Option<Standing>> {
    let found = row!(
        conn,
        Columns,
        "SELECT p.id, p.is_member, p.is_quartermaster, p.is_organiser, \
         (p.deactivated_ms IS NULL AND p.erased_ms IS NULL) AS is_active, (p.password_hash IS NOT NULL) AS has_password, \
         p.responsible_id, \
         (SELECT COUNT(*) FROM lent JOIN loan ON loan.id = lent.loan_id \
          WHERE loan.borrower_id = p.id AND lent.closed_ms IS NULL) \
         + (SELECT COUNT(*) FROM care WHERE care.home_id = p.id) AS open_loans, \
         (SELECT COUNT(*) FROM person d WHERE d.responsible_id = p.id AND d.deactivated_ms IS NULL \
          AND d.erased_ms IS NULL) AS answers_for, \
         (SELECT COUNT(*) FROM person q WHERE q.is_quartermaster = TRUE AND q.password_hash IS NOT NULL \
          AND q.deactivated_ms IS NULL AND q.erased_ms IS NULL) AS quartermasters, \
         (SELECT COUNT(*) FROM person o WHERE o.is_organiser = TRUE AND o.password_hash IS NOT NULL \
          AND o.deactivated_ms IS NULL AND o.erased_ms IS NULL) AS organisers \
         FROM person p WHERE p.id = $1",
        id
    )?;
    Ok(found.map(Standing::from))
}

impl From<Columns> for Standing {
    fn from(c: Columns) -> Self {
        Self {
            id: c.id,
            roles: Roles {
                is_member: c.is_member,
                is_quartermaster: c.is_quartermaster,
                is_organiser: c.is_organiser,
            },
            is_active: c.is_active,
            has_password: c.has_password,
            responsible: c.responsible_id,
            open_loans: c.open_loans,
            answers_for: c.answers_for,
            quartermasters: c.quartermasters,
            organisers: c.organisers,
        }
    }
}

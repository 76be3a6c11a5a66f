//! The club's own settings: one row.

use super::{Conn, Result, Tx, change, row};
use crate::bench::typed::Words;
use crate::club::calendar::Instant;
use crate::club::care::rules::CareRules;
use crate::club::hall::Hall;
use crate::club::in_danger::InDanger;
use crate::club::limits::ClubLimits;

#[derive(Clone, Debug, PartialEq, Eq, sqlx::FromRow)]
pub struct Club {
    pub name: String,
    pub time_zone: String,
    pub uses_fahrenheit: bool,
    pub uses_decimal_comma: bool,
    pub pack_prefix: String,
    pub loan_days: i64,
    /// As stored; ask [`Club::limits`].
    #[sqlx(try_from = "String")]
    pub limits: ClubLimits,
    /// As stored; ask [`Club::care`].
    #[sqlx(try_from = "String")]
    pub care: CareRules,
    pub may_members_borrow: bool,
    #[sqlx(try_from = "String")]
    pub hall: Hall,
    #[sqlx(try_from = "String")]
    pub in_danger: InDanger,
    pub is_demo: bool,
    pub started_ms: Instant,
}

impl Club {
    /// What it tightened; the hard stops can't be loosened.
    pub fn limits(&self) -> ClubLimits {
        self.limits.tightened()
    }

    /// Its rules of storage care, within what may be set.
    pub fn care(&self) -> CareRules {
        self.care.tightened()
    }

    /// How it writes numbers.
    pub const fn numbers(&self) -> Words {
        Words {
            has_decimal_comma: self.uses_decimal_comma,
        }
    }
}

pub async fn read(conn: &mut Conn) -> Result<Option<Club>> {
    row!(
        conn,
        Club,
        "SELECT name, time_zone, uses_fahrenheit, uses_decimal_comma, pack_prefix, loan_days, limits, care, \
         may_members_borrow, hall, in_danger, is_demo, started_ms FROM club"
    )
}

pub async fn start(tx: &mut Tx, club: &Club) -> Result<()> {
    change!(
        tx,
        "INSERT INTO club (id, name, time_zone, uses_fahrenheit, uses_decimal_comma, pack_prefix, loan_days, limits, \
         may_members_borrow, is_demo, started_ms, hall, care, in_danger) VALUES (1, $1, $2, $3, $4, $5, $6, $7, $8, $9, $10, $11, $12, $13)",
        &club.name,
        &club.time_zone,
        club.uses_fahrenheit,
        club.uses_decimal_comma,
        &club.pack_prefix,
        club.loan_days,
        club.limits.to_text(),
        club.may_members_borrow,
        club.is_demo,
        club.started_ms,
        club.hall.to_text(),
        club.care.to_text(),
        club.in_danger.to_text()
    )?;
    Ok(())
}

pub async fn save(tx: &mut Tx, club: &Club) -> Result<()> {
    change!(
        tx,
        "UPDATE club SET name = $1, time_zone = $2, uses_fahrenheit = $3, uses_decimal_comma = $4, pack_prefix = $5, \
         loan_days = $6, limits = $7, may_members_borrow = $8, hall = $9, care = $10, in_danger = $11",
        &club.name,
        &club.time_zone,
        club.uses_fahrenheit,
        club.uses_decimal_comma,
        &club.pack_prefix,
        club.loan_days,
        club.limits.to_text(),
        club.may_members_borrow,
        club.hall.to_text(),
        club.care.to_text(),
        club.in_danger.to_text()
    )?;
    Ok(())
}

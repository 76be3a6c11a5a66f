//! Loans: who borrowed, who handed out, until when, for what. What stands on a loan is in `lent`.

use super::{Conn, Result, Tx, change, row, rows};
use crate::club::calendar::{Day, Instant};
use uuid::Uuid;

#[derive(Clone, Debug, sqlx::FromRow)]
pub struct Loan {
    pub id: Uuid,
    pub borrower_id: Uuid,
    pub borrower_name: Option<String>,
    pub handed_by: Uuid,
    pub night_id: Option<Uuid>,
    pub due_on: String,
    pub purpose: String,
    pub opened_ms: Instant,
}

impl Loan {
    pub fn due_day(&self) -> Option<Day> {
        Day::parse(&self.due_on)
    }
}

pub async fn open(tx: &mut Tx, loan: &Loan) -> Result<()> {
    change!(
        tx,
        "INSERT INTO loan (id, borrower_id, handed_by, night_id, due_on, purpose, opened_ms) VALUES ($1, $2, $3, $4, $5, $6, $7)",
        loan.id,
        loan.borrower_id,
        loan.handed_by,
        loan.night_id,
        &loan.due_on,
        &loan.purpose,
        loan.opened_ms
    )?;
    Ok(())
}

pub async fn by_id(conn: &mut Conn, id: Uuid) -> Result<Option<Loan>> {
    row!(
        conn,
        Loan,
        "SELECT l.id, l.borrower_id, p.name AS borrower_name, l.handed_by, l.night_id, l.due_on, l.purpose, l.opened_ms \
         FROM loan l JOIN person p ON p.id = l.borrower_id WHERE l.id = $1",
        id
    )
}

pub async fn set_due(tx: &mut Tx, id: Uuid, due: Day) -> Result<()> {
    change!(
        tx,
        "UPDATE loan SET due_on = $2 WHERE id = $1",
        id,
        due.to_string()
    )?;
    Ok(())
}

/// A thing that is out, with who has it.
#[derive(Clone, Debug, sqlx::FromRow)]
pub struct Out {
    pub lent_id: Uuid,
    pub loan_id: Uuid,
    pub pack_id: Option<Uuid>,
    pub kit_id: Option<Uuid>,
    pub number: String,
    pub what: String,
    pub counted: Option<i64>,
    pub state: Option<String>,
    pub state_words: Option<String>,
    pub borrower_id: Uuid,
    pub borrower_name: Option<String>,
    pub due_on: String,
    pub purpose: String,
    pub opened_ms: Instant,
}

macro_rules! out {
    ($rest:literal) => {
        concat!(
            "SELECT le.id AS lent_id, le.loan_id, le.pack_id, le.kit_id, COALESCE(k.number, i.number) AS number, \
             COALESCE(d.name, i.name) AS what, le.counted, k.state, k.state_words, lo.borrower_id, p.name AS borrower_name, \
             lo.due_on, lo.purpose, le.opened_ms \
             FROM lent le JOIN loan lo ON lo.id = le.loan_id JOIN person p ON p.id = lo.borrower_id \
             LEFT JOIN pack k ON k.id = le.pack_id LEFT JOIN design d ON d.id = k.design_id LEFT JOIN kit i ON i.id = le.kit_id ",
            $rest
        )
    };
}

/// Everything that is out, what is due first on top.
pub async fn all_out(conn: &mut Conn) -> Result<Vec<Out>> {
    rows!(
        conn,
        Out,
        out!(
            "WHERE le.closed_ms IS NULL ORDER BY lo.due_on, LOWER(p.name), lo.id, k.number_key, i.number_key"
        )
    )
}

pub async fn out_with(conn: &mut Conn, person_id: Uuid) -> Result<Vec<Out>> {
    rows!(
        conn,
        Out,
        out!(
            "WHERE le.closed_ms IS NULL AND lo.borrower_id = $1 ORDER BY lo.due_on, lo.id, k.number_key, i.number_key"
        ),
        person_id
    )
}

pub async fn out_on(conn: &mut Conn, loan_id: Uuid) -> Result<Vec<Out>> {
    rows!(
        conn,
        Out,
        out!("WHERE le.closed_ms IS NULL AND le.loan_id = $1 ORDER BY k.number_key, i.number_key"),
        loan_id
    )
}

//! Loans: who borrowed, who handed out, until when, for what. What stands on a loan is in `lent`.

use super::charges::now::{NowRow, now_columns, now_joins};
use super::lent::Outcome;
use super::{Conn, Result, Tx, change, row, rows, rows_among};
use crate::club::calendar::{Day, Instant};
use crate::club::states::Life;
use crate::club::undo;
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
    /// Where it was handed out and who was on duty, when a night was open.
    pub night_place: Option<String>,
    pub on_duty_name: Option<String>,
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
        "SELECT l.id, l.borrower_id, p.name AS borrower_name, l.handed_by, l.night_id, l.due_on, l.purpose, l.opened_ms, \
         pl.name AS night_place, d.name AS on_duty_name FROM loan l JOIN person p ON p.id = l.borrower_id \
         LEFT JOIN night n ON n.id = l.night_id LEFT JOIN place pl ON pl.id = n.place_id LEFT JOIN person d ON d.id = n.on_duty_id \
         WHERE l.id = $1",
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
    pub state_next: Option<String>,
    pub borrower_id: Uuid,
    pub borrower_name: Option<String>,
    /// Who answers for the borrower.
    pub responsible_id: Option<Uuid>,
    pub due_on: String,
    pub purpose: String,
    pub opened_ms: Instant,
    #[sqlx(flatten)]
    pub now: NowRow,
}

impl Out {
    /// How many things it is: of adapters each one.
    pub fn count(&self) -> i64 {
        self.counted.unwrap_or(1)
    }

    /// They have it, or answer for who has.
    pub fn is_with(&self, person_id: Uuid) -> bool {
        self.borrower_id == person_id || self.responsible_id == Some(person_id)
    }
}

/// What is due first on top; packs before kit, which the two databases would order differently.
macro_rules! by_due {
    () => {
        "lo.due_on, LOWER(p.name), lo.id, k.number_key IS NULL, k.number_key, i.number_key, i.number"
    };
}

macro_rules! out {
    ($rest:expr) => {
        out!("", $rest)
    };
    ($more:expr, $rest:expr) => {
        concat!(
            "SELECT le.id AS lent_id, le.loan_id, le.pack_id, le.kit_id, COALESCE(k.number, i.number) AS number, \
             COALESCE(d.name, NULLIF(i.name, ''), i.kind) AS what, le.counted, k.state, k.state_words, k.state_next, lo.borrower_id, p.name AS borrower_name, p.responsible_id, \
             lo.due_on, lo.purpose, le.opened_ms",
            now_columns!(),
            $more,
            " FROM lent le JOIN loan lo ON lo.id = le.loan_id JOIN person p ON p.id = lo.borrower_id \
             LEFT JOIN pack k ON k.id = le.pack_id LEFT JOIN design d ON d.id = k.design_id LEFT JOIN kit i ON i.id = le.kit_id ",
            now_joins!(),
            $rest
        )
    };
}

/// Everything that is out.
pub async fn all_out(conn: &mut Conn) -> Result<Vec<Out>> {
    rows!(
        conn,
        Out,
        out!(concat!("WHERE le.closed_ms IS NULL ORDER BY ", by_due!()))
    )
}

/// What this person has, and then what those have whom they answer for.
pub async fn out_with(conn: &mut Conn, person_id: Uuid) -> Result<Vec<Out>> {
    rows!(
        conn,
        Out,
        out!(
            "WHERE le.closed_ms IS NULL AND (lo.borrower_id = $1 OR p.responsible_id = $1) \
             ORDER BY CASE WHEN lo.borrower_id = $1 THEN 0 ELSE 1 END, lo.due_on, lo.id, k.number_key IS NULL, k.number_key, i.number_key"
        ),
        person_id
    )
}

/// A line of a loan, out or closed, with what undoing its end depends on.
#[derive(Clone, Debug, sqlx::FromRow)]
pub struct LoanLine {
    #[sqlx(flatten)]
    pub out: Out,
    pub closed_ms: Option<Instant>,
    outcome: Option<String>,
    pub life: String,
    pub override_words: Option<String>,
    pub is_out_again: bool,
    pub is_borrower_active: bool,
    /// Of kit: what it put among what is to mend and among what is unchecked.
    pub aside_count: i64,
    pub unchecked_count: i64,
}

impl LoanLine {
    pub const fn is_out(&self) -> bool {
        self.closed_ms.is_none()
    }

    pub fn outcome(&self) -> Option<Outcome> {
        Outcome::from_code(self.outcome.as_deref()?)
    }

    pub fn for_undo(&self) -> undo::Line {
        let is_back = matches!(self.outcome(), Some(Outcome::Back | Outcome::Unchecked));
        undo::Line {
            taken_back: self.closed_ms.filter(|_| is_back),
            life: Life::from_code(&self.life).unwrap_or(Life::Withdrawn),
            is_out_again: self.is_out_again,
            is_borrower_active: self.is_borrower_active,
        }
    }
}

macro_rules! line {
    ($rest:expr) => {
        out!(
            ", le.closed_ms, le.outcome, le.aside_count, le.unchecked_count, COALESCE(k.life, i.life) AS life, le.override_words, \
             p.deactivated_ms IS NULL AND p.erased_ms IS NULL AS is_borrower_active, \
             CASE WHEN le.counted IS NOT NULL THEN le.counted + COALESCE((SELECT SUM(a.counted) FROM lent a \
              WHERE a.kit_id = le.kit_id AND a.closed_ms IS NULL), 0) + i.unchecked_count - le.unchecked_count \
              + CASE WHEN i.aside_count > le.aside_count THEN i.aside_count - le.aside_count ELSE 0 END > i.owned_count \
             WHEN le.kit_id IS NOT NULL THEN EXISTS (SELECT 1 FROM lent b WHERE b.kit_id = le.kit_id AND (b.opened_ms, b.id) > (le.opened_ms, le.id)) \
             ELSE EXISTS (SELECT 1 FROM lent b WHERE b.pack_id = le.pack_id AND (b.opened_ms, b.id) > (le.opened_ms, le.id)) END AS is_out_again",
            $rest
        )
    };
}

/// Everything that is or was on a loan, what is out first.
pub async fn lines(conn: &mut Conn, loan_id: Uuid) -> Result<Vec<LoanLine>> {
    rows!(
        conn,
        LoanLine,
        line!(
            "WHERE le.loan_id = $1 ORDER BY CASE WHEN le.closed_ms IS NULL THEN 0 ELSE 1 END, k.number_key IS NULL, k.number_key, i.number_key, le.id"
        ),
        loan_id
    )
}

pub async fn line(conn: &mut Conn, lent_id: Uuid) -> Result<Option<LoanLine>> {
    row!(conn, LoanLine, line!("WHERE le.id = $1"), lent_id)
}

/// These lines, in no order.
pub async fn lines_among(conn: &mut Conn, ids: &[Uuid]) -> Result<Vec<LoanLine>> {
    if ids.is_empty() {
        return Ok(Vec::new());
    }
    rows_among!(conn, LoanLine, line!("WHERE le.id IN ("), ids, ")")
}

/// Everything that is out, in the order of `all_out`, and behind it what came back since then, the latest first.
pub async fn out_and_back_since(conn: &mut Conn, since: Instant) -> Result<Vec<LoanLine>> {
    rows!(
        conn,
        LoanLine,
        line!(concat!(
            "WHERE le.closed_ms IS NULL OR (le.closed_ms >= $1 AND le.outcome IN ('back', 'unchecked')) \
             ORDER BY le.closed_ms DESC NULLS FIRST, ",
            by_due!(),
            ", le.id"
        )),
        since
    )
}

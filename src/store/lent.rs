//! What stands on loans: packs, numbered kit, counts of adapters. A unique index keeps a numbered thing on one at most.

use super::{Conn, Result, Tx, change, row, rows, rows_among};
use crate::club::calendar::Instant;
use crate::club::kit::Stock;
use crate::ids;
use uuid::Uuid;

#[derive(Clone, Debug, sqlx::FromRow)]
pub struct Lent {
    pub id: Uuid,
    pub loan_id: Uuid,
    pub pack_id: Option<Uuid>,
    pub kit_id: Option<Uuid>,
    pub counted: Option<i64>,
    pub opened_ms: Instant,
    pub override_words: Option<String>,
    pub closed_ms: Option<Instant>,
    pub closed_by: Option<Uuid>,
    pub outcome: Option<String>,
    /// Of kit: how many were to mend when they came back, and how many nobody at the table saw.
    pub aside_count: i64,
    pub unchecked_count: i64,
}

/// How a lent thing's loan ended.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Outcome {
    Back,
    Unchecked,
    Lost,
    PassedOn,
    /// Somebody forgot to book it in; it was taken back and handed out in one step.
    Forgotten,
}

impl Outcome {
    pub const ALL: [Self; 5] = [
        Self::Back,
        Self::Unchecked,
        Self::Lost,
        Self::PassedOn,
        Self::Forgotten,
    ];

    pub fn from_code(code: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|each| each.code() == code)
    }

    pub const fn code(self) -> &'static str {
        match self {
            Self::Back => "back",
            Self::Unchecked => "unchecked",
            Self::Lost => "lost",
            Self::PassedOn => "passed_on",
            Self::Forgotten => "forgotten",
        }
    }
}

pub async fn open(tx: &mut Tx, lent: &Lent) -> Result<()> {
    change!(
        tx,
        "INSERT INTO lent (id, loan_id, pack_id, kit_id, counted, opened_ms, override_words) VALUES ($1, $2, $3, $4, $5, $6, $7)",
        lent.id,
        lent.loan_id,
        lent.pack_id,
        lent.kit_id,
        lent.counted,
        lent.opened_ms,
        &lent.override_words
    )?;
    Ok(())
}

pub async fn by_id(conn: &mut Conn, id: Uuid) -> Result<Option<Lent>> {
    row!(
        conn,
        Lent,
        "SELECT id, loan_id, pack_id, kit_id, counted, opened_ms, override_words, closed_ms, closed_by, outcome, \
         aside_count, unchecked_count FROM lent WHERE id = $1",
        id
    )
}

pub async fn open_on(conn: &mut Conn, loan_id: Uuid) -> Result<Vec<Lent>> {
    rows!(
        conn,
        Lent,
        "SELECT id, loan_id, pack_id, kit_id, counted, opened_ms, override_words, closed_ms, closed_by, outcome, \
         aside_count, unchecked_count FROM lent WHERE loan_id = $1 AND closed_ms IS NULL ORDER BY opened_ms, id",
        loan_id
    )
}

pub async fn close(tx: &mut Tx, id: Uuid, outcome: Outcome, by: Uuid, at: Instant) -> Result<bool> {
    let closed = change!(
        tx,
        "UPDATE lent SET closed_ms = $2, closed_by = $3, outcome = $4 WHERE id = $1 AND closed_ms IS NULL",
        id,
        at,
        by,
        outcome.code()
    )?;
    Ok(closed == 1)
}

/// Opens a closed one again; the unique index refuses when the thing went out since.
pub async fn reopen(tx: &mut Tx, id: Uuid) -> Result<()> {
    change!(
        tx,
        "UPDATE lent SET closed_ms = NULL, closed_by = NULL, outcome = NULL WHERE id = $1",
        id
    )?;
    Ok(())
}

/// What of a line of kit was to mend or unchecked when it came back.
pub async fn note_back(tx: &mut Tx, id: Uuid, aside: i64, unchecked: i64) -> Result<()> {
    change!(
        tx,
        "UPDATE lent SET aside_count = $2, unchecked_count = $3 WHERE id = $1",
        id,
        aside,
        unchecked
    )?;
    Ok(())
}

/// Everything of it that had come back unchecked was looked over.
pub async fn looked_over(tx: &mut Tx, kit_id: Uuid) -> Result<()> {
    change!(
        tx,
        "UPDATE lent SET unchecked_count = 0 WHERE kit_id = $1 AND unchecked_count > 0",
        kit_id
    )?;
    Ok(())
}

/// Nothing of it that lies here is to mend any more.
pub async fn mended(tx: &mut Tx, kit_id: Uuid) -> Result<()> {
    change!(
        tx,
        "UPDATE lent SET aside_count = 0 WHERE kit_id = $1 AND aside_count > 0 AND closed_ms IS NOT NULL",
        kit_id
    )?;
    Ok(())
}

/// A part of a counted line becomes a line of its own, the line keeps the rest. Gives back the new line's id.
pub async fn split_off(tx: &mut Tx, line: &Lent, count: i64) -> Result<Uuid> {
    change!(
        tx,
        "UPDATE lent SET counted = counted - $2 WHERE id = $1",
        line.id,
        count
    )?;
    let part = Lent {
        id: ids::new_id(),
        counted: Some(count),
        ..line.clone()
    };
    open(tx, &part).await?;
    Ok(part.id)
}

/// Who had the pack last, on an open loan or the latest closed one.
pub async fn last_holder(conn: &mut Conn, pack_id: Uuid) -> Result<Option<Uuid>> {
    let found = row!(
        conn,
        (Uuid,),
        "SELECT lo.borrower_id FROM lent le JOIN loan lo ON lo.id = le.loan_id WHERE le.pack_id = $1 \
         ORDER BY le.opened_ms DESC, le.id DESC LIMIT 1",
        pack_id
    )?;
    Ok(found.map(|(id,)| id))
}

/// A piece of kit as lending needs it: what is owned and how much of it is out.
#[derive(Clone, Debug, sqlx::FromRow)]
pub struct KitRow {
    pub id: Uuid,
    pub number: String,
    pub kind: String,
    pub life: String,
    pub set_aside_words: Option<String>,
    pub owned_count: i64,
    pub aside_count: i64,
    pub unchecked_count: i64,
    pub out_count: i64,
    /// Who has it and since when: for a thing with a number.
    pub holder_name: Option<String>,
    pub out_since_ms: Option<Instant>,
}

impl KitRow {
    pub const fn stock(&self) -> Stock {
        Stock {
            owned: self.owned_count,
            out: self.out_count,
            aside: self.aside_count,
            unchecked: self.unchecked_count,
        }
    }

    pub fn is_counted(&self) -> bool {
        self.kind == "adapter"
    }
}

/// One piece of kit, or none; the words after it say which.
macro_rules! kit_at_table {
    ($which:literal) => {
        concat!(
            "SELECT i.id, i.number, i.kind, i.life, i.set_aside_words, i.owned_count, i.aside_count, i.unchecked_count, \
             CAST(COALESCE((SELECT SUM(COALESCE(le.counted, 1)) FROM lent le WHERE le.kit_id = i.id AND le.closed_ms IS NULL), 0) AS BIGINT) AS out_count, \
             (SELECT p.name FROM lent le JOIN loan lo ON lo.id = le.loan_id JOIN person p ON p.id = lo.borrower_id \
              WHERE le.kit_id = i.id AND le.closed_ms IS NULL AND le.counted IS NULL) AS holder_name, \
             (SELECT le.opened_ms FROM lent le WHERE le.kit_id = i.id AND le.closed_ms IS NULL AND le.counted IS NULL) AS out_since_ms \
             FROM kit i WHERE ",
            $which
        )
    };
}

pub async fn kit_at_table(conn: &mut Conn, number: &str) -> Result<Option<KitRow>> {
    row!(conn, KitRow, kit_at_table!("i.number = $1"), number)
}

pub async fn kit_at_table_by_id(conn: &mut Conn, id: Uuid) -> Result<Option<KitRow>> {
    row!(conn, KitRow, kit_at_table!("i.id = $1"), id)
}

/// Labels of kit with this running number: of each kind one at most.
pub async fn kit_numbered(conn: &mut Conn, key: i64) -> Result<Vec<String>> {
    let found = rows!(
        conn,
        (String,),
        "SELECT number FROM kit WHERE number_key = $1 ORDER BY number",
        key
    )?;
    Ok(found.into_iter().map(|(number,)| number).collect())
}

/// A loan line as the end of an errand tells it, with how many things its loan has had, and what became of them.
/// What was passed on stands on another loan and is not counted here.
#[derive(Clone, Debug, sqlx::FromRow)]
pub struct ErrandLine {
    pub id: Uuid,
    pub loan_id: Uuid,
    pub counted: Option<i64>,
    pub is_closed: bool,
    /// How many of it were to mend when they came back.
    pub aside_count: i64,
    /// Kit only.
    pub kit_id: Option<Uuid>,
    pub kit_number: Option<String>,
    pub in_all: i64,
    pub still_out: i64,
    pub lost: i64,
}

macro_rules! things {
    ($which:literal) => {
        concat!(
            "(SELECT CAST(COALESCE(SUM(COALESCE(a.counted, 1)), 0) AS BIGINT) FROM lent a WHERE a.loan_id = le.loan_id AND ",
            $which,
            ")"
        )
    };
}

pub async fn errand(conn: &mut Conn, lines: &[Uuid]) -> Result<Vec<ErrandLine>> {
    if lines.is_empty() {
        return Ok(Vec::new());
    }
    rows_among!(
        conn,
        ErrandLine,
        concat!(
            "SELECT le.id, le.loan_id, le.counted, le.closed_ms IS NOT NULL AS is_closed, le.aside_count, le.kit_id, i.number AS kit_number, ",
            things!("COALESCE(a.outcome, '') <> 'passed_on'"),
            " AS in_all, ",
            things!("a.closed_ms IS NULL"),
            " AS still_out, ",
            things!("a.outcome = 'lost'"),
            " AS lost FROM lent le LEFT JOIN kit i ON i.id = le.kit_id WHERE le.id IN ("
        ),
        lines,
        ") ORDER BY i.number_key, i.number, le.id"
    )
}

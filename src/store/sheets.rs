//! Spreadsheets on their way in, each seen by nobody but who sent it.

use super::{Conn, Result, StoreError, Tx, change, row, rows};
use crate::club::calendar::Instant;
use crate::club::sheet::{Choices, Holds};
use serde::{Deserialize, Serialize};
use uuid::Uuid;

/// So many a person may have on their way, and so many carried out; the oldest goes when one more comes.
pub const MOST_KEPT: i64 = 5;

#[derive(Clone, Debug, sqlx::FromRow)]
pub struct Sheet {
    pub id: Uuid,
    pub person_id: Uuid,
    pub holds: String,
    pub name: String,
    /// Empty once it was carried out.
    pub text: String,
    choices: String,
    done: Option<String>,
    pub at_ms: Instant,
}

/// What came of a sheet that was carried out.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
#[serde(default)]
pub struct Done {
    pub packs: usize,
    pub designs: usize,
    pub kit: usize,
    pub changed: usize,
    pub left: usize,
    /// The running numbers of the first and last pack.
    pub first_and_last: Option<(String, String)>,
    /// A place in which more energy lies now than it may hold.
    pub over: Option<Uuid>,
}

impl Sheet {
    pub fn new(id: Uuid, person_id: Uuid, holds: Holds, at: Instant) -> Self {
        Self {
            id,
            person_id,
            holds: holds.code().to_owned(),
            name: String::new(),
            text: String::new(),
            choices: "{}".to_owned(),
            done: None,
            at_ms: at,
        }
    }

    pub fn holds(&self) -> Option<Holds> {
        Holds::from_code(&self.holds)
    }

    pub fn choices(&self) -> Result<Choices> {
        read(&self.choices)
    }

    pub fn done(&self) -> Result<Option<Done>> {
        self.done.as_deref().map(read).transpose()
    }
}

fn read<T: for<'t> Deserialize<'t>>(text: &str) -> Result<T> {
    serde_json::from_str(text).map_err(|error| StoreError::Internal(error.to_string()))
}

fn to_json(value: &impl Serialize) -> Result<String> {
    serde_json::to_string(value).map_err(|error| StoreError::Internal(error.to_string()))
}

/// The person's own sheet of this id.
pub async fn own(conn: &mut Conn, id: Uuid, person_id: Uuid) -> Result<Option<Sheet>> {
    row!(
        conn,
        Sheet,
        "SELECT id, person_id, holds, name, text, choices, done, at_ms FROM sheet WHERE id = $1 AND person_id = $2",
        id,
        person_id
    )
}

/// Those on their way, latest first: id, name and when it came.
pub async fn on_their_way(
    conn: &mut Conn,
    person_id: Uuid,
) -> Result<Vec<(Uuid, String, Instant)>> {
    rows!(
        conn,
        (Uuid, String, Instant),
        "SELECT id, name, at_ms FROM sheet WHERE person_id = $1 AND done IS NULL ORDER BY at_ms DESC, id DESC",
        person_id
    )
}

pub async fn add(tx: &mut Tx, sheet: &Sheet, choices: &Choices) -> Result<()> {
    change!(
        tx,
        "INSERT INTO sheet (id, person_id, holds, name, text, choices, done, at_ms) VALUES ($1, $2, $3, $4, $5, $6, NULL, $7)",
        sheet.id,
        sheet.person_id,
        &sheet.holds,
        &sheet.name,
        &sheet.text,
        to_json(choices)?,
        sheet.at_ms
    )?;
    // Those carried out and those on their way are counted apart: neither pushes out the other.
    change!(
        tx,
        "DELETE FROM sheet WHERE person_id = $1 AND done IS NULL AND id NOT IN \
         (SELECT id FROM sheet WHERE person_id = $1 AND done IS NULL ORDER BY at_ms DESC, id DESC LIMIT $2)",
        sheet.person_id,
        MOST_KEPT
    )?;
    change!(
        tx,
        "DELETE FROM sheet WHERE person_id = $1 AND done IS NOT NULL AND id NOT IN \
         (SELECT id FROM sheet WHERE person_id = $1 AND done IS NOT NULL ORDER BY at_ms DESC, id DESC LIMIT $2)",
        sheet.person_id,
        MOST_KEPT
    )?;
    Ok(())
}

pub async fn choose(tx: &mut Tx, id: Uuid, choices: &Choices) -> Result<()> {
    let choices = to_json(choices)?;
    change!(
        tx,
        "UPDATE sheet SET choices = $2 WHERE id = $1",
        id,
        choices
    )?;
    Ok(())
}

/// What it said is on record now; its text goes.
pub async fn finish(tx: &mut Tx, id: Uuid, done: &Done) -> Result<()> {
    let done = to_json(done)?;
    change!(
        tx,
        "UPDATE sheet SET text = '', done = $2 WHERE id = $1",
        id,
        done
    )?;
    Ok(())
}

pub async fn remove(tx: &mut Tx, id: Uuid) -> Result<()> {
    change!(tx, "DELETE FROM sheet WHERE id = $1", id)?;
    Ok(())
}

pub async fn sweep(tx: &mut Tx, before: Instant) -> Result<()> {
    change!(tx, "DELETE FROM sheet WHERE at_ms < $1", before)?;
    Ok(())
}

//! Findings: what stands against a pack until somebody answers it, and what stood before.

use super::book::looks::{awaited_report, not_so_report};
use super::care::{InCare, in_care};
use super::{Conn, Result, Tx, change, rows};
use crate::club::calendar::Instant;
use crate::club::verdict::{Gravity, Rule};
use uuid::Uuid;

#[derive(Clone, Debug, sqlx::FromRow)]
pub struct Found {
    pub id: Uuid,
    pub pack_id: Uuid,
    pub rule: String,
    pub gravity: String,
    pub words: String,
    pub next_words: String,
    pub reading_id: Option<Uuid>,
    pub found_ms: Instant,
    pub found_by: Option<Uuid>,
    pub last_holder_id: Option<Uuid>,
    pub closed_ms: Option<Instant>,
    pub closed_by: Option<Uuid>,
    pub closed_words: Option<String>,
}

impl Found {
    pub fn rule(&self) -> Option<Rule> {
        Rule::from_code(&self.rule)
    }

    /// A gravity this program does not know is taken for the gravest that can be released.
    pub fn gravity(&self) -> Gravity {
        Gravity::from_code(&self.gravity).unwrap_or(Gravity::Danger)
    }
}

/// `is_to_tell`: by mail and to phones, at once.
pub async fn add(tx: &mut Tx, found: &Found, is_to_tell: bool) -> Result<()> {
    change!(
        tx,
        "INSERT INTO finding (id, pack_id, rule, gravity, words, next_words, reading_id, found_ms, found_by, last_holder_id, is_to_tell) \
         VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9, $10, $11)",
        found.id,
        found.pack_id,
        &found.rule,
        &found.gravity,
        &found.words,
        &found.next_words,
        found.reading_id,
        found.found_ms,
        found.found_by,
        found.last_holder_id,
        is_to_tell
    )?;
    Ok(())
}

/// The same finding, as grave as it was, in other words.
pub async fn reword(tx: &mut Tx, id: Uuid, (words, next): (&str, &str)) -> Result<()> {
    let sql = "UPDATE finding SET words = $2, next_words = $3 WHERE id = $1 AND closed_ms IS NULL";
    change!(tx, sql, id, words, next)?;
    Ok(())
}

/// Of the pack `$1`, oldest first.
macro_rules! of_pack {
    ($which:literal) => {
        concat!(
            "SELECT id, pack_id, rule, gravity, words, next_words, reading_id, found_ms, found_by, last_holder_id, closed_ms, \
             closed_by, closed_words FROM finding WHERE pack_id = $1 AND ",
            $which,
            " ORDER BY found_ms, id"
        )
    };
}

/// What is open against a pack, oldest first.
pub async fn open(conn: &mut Conn, pack_id: Uuid) -> Result<Vec<Found>> {
    rows!(conn, Found, of_pack!("closed_ms IS NULL"), pack_id)
}

/// What a reading said of its pack, closed or not.
pub async fn of_reading(
    conn: &mut Conn,
    (pack_id, reading_id): (Uuid, Uuid),
) -> Result<Vec<Found>> {
    rows!(
        conn,
        Found,
        of_pack!("reading_id = $2"),
        pack_id,
        reading_id
    )
}

/// What is read of it from now on; it stays as grave as it is.
pub async fn say(tx: &mut Tx, id: Uuid, said: (&str, &str)) -> Result<()> {
    change!(
        tx,
        "UPDATE finding SET words = $2, next_words = $3 WHERE id = $1",
        id,
        said.0,
        said.1
    )?;
    Ok(())
}

pub async fn close(tx: &mut Tx, id: Uuid, by: Uuid, words: &str, at: Instant) -> Result<()> {
    change!(
        tx,
        "UPDATE finding SET closed_ms = $2, closed_by = $3, closed_words = $4 WHERE id = $1 AND closed_ms IS NULL",
        id,
        at,
        by,
        words
    )?;
    Ok(())
}

/// A pack and one finding that is open against it, if there is one.
#[derive(sqlx::FromRow)]
struct PackAndFinding {
    #[sqlx(flatten)]
    care: InCare,
    f_id: Option<Uuid>,
    f_rule: Option<String>,
    f_gravity: Option<String>,
    f_words: Option<String>,
    f_next_words: Option<String>,
    f_reading_id: Option<Uuid>,
    f_found_ms: Option<Instant>,
    f_found_by: Option<Uuid>,
    f_last_holder_id: Option<Uuid>,
    f_by_name: Option<String>,
    f_report_id: Option<Uuid>,
    f_not_so_id: Option<Uuid>,
    state_by_name: Option<String>,
}

/// A pack with all that is open against it, oldest first, and who found each; names are those of today.
pub struct OnePack {
    pub care: InCare,
    pub open: Vec<(Found, Option<String>)>,
    /// Finding, and the report of danger that somebody must look at before it is closed.
    pub awaited: Vec<(Uuid, Uuid)>,
    /// Finding, and the report that told of it and was not so; of doubles the one that stays.
    pub not_so: Vec<(Uuid, Uuid)>,
    /// Who brought it into its state.
    pub state_by_name: Option<String>,
}

impl PackAndFinding {
    fn found(self) -> Option<(Found, Option<String>)> {
        let found = Found {
            id: self.f_id?,
            pack_id: self.care.pack.id,
            rule: self.f_rule?,
            gravity: self.f_gravity?,
            words: self.f_words?,
            next_words: self.f_next_words?,
            reading_id: self.f_reading_id,
            found_ms: self.f_found_ms?,
            found_by: self.f_found_by,
            last_holder_id: self.f_last_holder_id,
            closed_ms: None,
            closed_by: None,
            closed_words: None,
        };
        Some((found, self.f_by_name))
    }
}

/// The pack of this number, in one statement.
pub async fn with_pack(conn: &mut Conn, number: &str) -> Result<Option<OnePack>> {
    let rows = rows!(
        conn,
        PackAndFinding,
        in_care!(
            concat!(
                ", f.id AS f_id, f.rule AS f_rule, f.gravity AS f_gravity, f.words AS f_words, f.next_words AS f_next_words, \
             f.reading_id AS f_reading_id, f.found_ms AS f_found_ms, f.found_by AS f_found_by, \
             f.last_holder_id AS f_last_holder_id, fb.name AS f_by_name, sb.name AS state_by_name, ",
                awaited_report!("f.id"),
                " AS f_report_id, ",
                not_so_report!("f.id"),
                " AS f_not_so_id"
            ),
            "LEFT JOIN finding f ON f.pack_id = k.id AND f.closed_ms IS NULL LEFT JOIN person fb ON fb.id = f.found_by \
             LEFT JOIN person sb ON sb.id = k.state_by ",
            "WHERE k.number = $1 ORDER BY f.found_ms, f.id"
        ),
        number
    )?;
    let Some(first) = rows.first() else {
        return Ok(None);
    };
    Ok(Some(OnePack {
        care: first.care.clone(),
        state_by_name: first.state_by_name.clone(),
        awaited: rows
            .iter()
            .filter_map(|row| Some((row.f_id?, row.f_report_id?)))
            .collect(),
        not_so: rows
            .iter()
            .filter_map(|row| Some((row.f_id?, row.f_not_so_id?)))
            .collect(),
        open: rows.into_iter().filter_map(PackAndFinding::found).collect(),
    }))
}

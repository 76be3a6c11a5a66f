//! The log of every change: who, when, what, before and after. Append-only; each entry commits to the one before it,
//! so that an edit, a deletion or a swap shows. Stores ids, not names: erasing a person leaves it whole.

use super::{Conn, Result, StoreError, Tx, change, row, rows};
use crate::club::calendar::Instant;
use crate::ids;
use uuid::Uuid;

#[derive(Clone, Debug)]
pub struct Entry<'a> {
    pub at: Instant,
    /// None: the program itself.
    pub by: Option<Uuid>,
    pub verb: &'a str,
    /// What kind of thing changed: pack, kit, person, loan, place, design, club, night.
    pub subject: &'a str,
    pub subject_id: Uuid,
    /// JSON, `null` where there was nothing.
    pub before: String,
    pub after: String,
}

#[derive(Clone, Debug, sqlx::FromRow)]
pub struct Logged {
    pub seq: i64,
    pub at_ms: Instant,
    pub by_id: Option<Uuid>,
    pub verb: String,
    pub subject: String,
    pub subject_id: Uuid,
    pub before: String,
    pub after: String,
    pub hash: String,
}

pub async fn add(tx: &mut Tx, entry: &Entry<'_>) -> Result<()> {
    let head = row!(
        tx,
        (i64, String),
        "SELECT log_seq, log_hash FROM turn WHERE id = 1"
    )?;
    let (last_seq, last_hash) =
        head.ok_or_else(|| StoreError::Internal("the turn row is missing".to_owned()))?;
    let seq = last_seq + 1;
    let hash = link(&last_hash, seq, entry);
    change!(
        tx,
        "INSERT INTO activity (seq, at_ms, by_id, verb, subject, subject_id, before, after, hash) \
         VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9)",
        seq,
        entry.at,
        entry.by,
        entry.verb,
        entry.subject,
        entry.subject_id,
        &entry.before,
        &entry.after,
        &hash
    )?;
    change!(
        tx,
        "UPDATE turn SET log_seq = $1, log_hash = $2 WHERE id = 1",
        seq,
        &hash
    )?;
    Ok(())
}

/// SHA-256 over the previous link and every field, each with its length, so that no two entries read alike.
fn link(previous: &str, seq: i64, entry: &Entry<'_>) -> String {
    let by = entry.by.map_or_else(String::new, |id| id.to_string());
    let fields = [
        previous,
        &seq.to_string(),
        &entry.at.ms().to_string(),
        &by,
        entry.verb,
        entry.subject,
        &entry.subject_id.to_string(),
        &entry.before,
        &entry.after,
    ];
    let text: Vec<String> = fields
        .iter()
        .map(|field| format!("{}:{field}", field.len()))
        .collect();
    ids::digest(&text.join(","))
}

/// The number of the first entry that does not commit to the one before it, or the head's when the end was cut off;
/// None when the chain holds.
pub async fn first_break(conn: &mut Conn) -> Result<Option<i64>> {
    let mut last_seq = 0;
    let mut last_hash = String::new();
    loop {
        let part = after(conn, last_seq, 1000).await?;
        for logged in &part {
            let entry = Entry {
                at: logged.at_ms,
                by: logged.by_id,
                verb: &logged.verb,
                subject: &logged.subject,
                subject_id: logged.subject_id,
                before: logged.before.clone(),
                after: logged.after.clone(),
            };
            if logged.seq != last_seq + 1 || logged.hash != link(&last_hash, logged.seq, &entry) {
                return Ok(Some(last_seq + 1));
            }
            last_seq = logged.seq;
            last_hash.clone_from(&logged.hash);
        }
        if part.is_empty() {
            let head = head(conn).await?;
            // Written meanwhile by others: there is more to look at. Cut off: there is not.
            let has_grown = head.0 > last_seq && !after(conn, last_seq, 1).await?.is_empty();
            if !has_grown {
                return Ok((head != (last_seq, last_hash)).then_some(last_seq + 1));
            }
        }
    }
}

/// Number and hash of the last entry.
pub async fn head(conn: &mut Conn) -> Result<(i64, String)> {
    let found = row!(
        conn,
        (i64, String),
        "SELECT log_seq, log_hash FROM turn WHERE id = 1"
    )?;
    found.ok_or_else(|| StoreError::Internal("the turn row is missing".to_owned()))
}

async fn after(conn: &mut Conn, seq: i64, at_most: i64) -> Result<Vec<Logged>> {
    rows!(
        conn,
        Logged,
        "SELECT seq, at_ms, by_id, verb, subject, subject_id, before, after, hash FROM activity WHERE seq > $1 ORDER BY seq LIMIT $2",
        seq,
        at_most
    )
}

/// Latest first, before `seq` (from the end: `i64::MAX`).
pub async fn latest(conn: &mut Conn, before_seq: i64, at_most: i64) -> Result<Vec<Told>> {
    rows!(
        conn,
        Told,
        "SELECT a.seq, a.at_ms, a.verb, a.subject, a.subject_id, a.before, a.after, a.by_id, p.name AS by_name \
         FROM activity a LEFT JOIN person p ON p.id = a.by_id WHERE a.seq < $1 ORDER BY a.seq DESC LIMIT $2",
        before_seq,
        at_most
    )
}

/// An entry as it is told: with the name its id has today.
#[derive(Clone, Debug, sqlx::FromRow)]
pub struct Told {
    pub seq: i64,
    pub at_ms: Instant,
    pub verb: String,
    pub subject: String,
    pub subject_id: Uuid,
    pub before: String,
    pub after: String,
    by_id: Option<Uuid>,
    by_name: Option<String>,
}

impl Told {
    /// Their name of today; that they were erased; or, for what nobody of the club did, the console.
    pub fn by(&self) -> &str {
        match (&self.by_name, self.by_id) {
            (Some(name), _) => name,
            (None, Some(_)) => "(erased)",
            (None, None) => "the console",
        }
    }
}

pub async fn of_subject(
    conn: &mut Conn,
    subject_id: Uuid,
    before_seq: i64,
    at_most: i64,
) -> Result<Vec<Told>> {
    rows!(
        conn,
        Told,
        "SELECT a.seq, a.at_ms, a.verb, a.subject, a.subject_id, a.before, a.after, a.by_id, p.name AS by_name \
         FROM activity a LEFT JOIN person p ON p.id = a.by_id WHERE a.subject_id = $1 AND a.seq < $2 ORDER BY a.seq DESC LIMIT $3",
        subject_id,
        before_seq,
        at_most
    )
}

#[derive(Clone, Debug, sqlx::FromRow)]
pub struct Standing {
    pub subject_id: Uuid,
    pub after: String,
}

/// What each pack's last entry at or before `at` said of it.
pub async fn packs_as_they_stood(conn: &mut Conn, at: Instant) -> Result<Vec<Standing>> {
    rows!(
        conn,
        Standing,
        "SELECT a.subject_id, a.after FROM activity a JOIN \
         (SELECT MAX(seq) AS seq FROM activity WHERE subject = 'pack' AND at_ms <= $1 GROUP BY subject_id) last ON last.seq = a.seq",
        at
    )
}

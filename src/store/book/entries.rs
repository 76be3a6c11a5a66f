//! The incident book as it is kept: each entry's one text and digest, what is about people beside it, and the head in the
//! row that each write takes first. Added to, never changed: the guards refuse it.

use crate::club::book::chain::{Head, Kept, Written};
use crate::club::book::digest::Digest;
use crate::club::book::part::{KeptPart, Part};
use crate::store::{Conn, Result, StoreError, Tx, change, row, rows};

pub async fn head(conn: &mut Conn) -> Result<Head> {
    let found = row!(
        conn,
        (i64, String, i64),
        "SELECT book_count, book_hash, book_at_ms FROM turn WHERE id = 1"
    )?;
    head_of(found.ok_or_else(no_turn)?)
}

fn no_turn() -> StoreError {
    StoreError::Internal("the turn row is missing".to_owned())
}

fn head_of((count, hash, at_ms): (i64, String, i64)) -> Result<Head> {
    if count == 0 && hash.is_empty() {
        return Ok(Head::EMPTY);
    }
    let hash = Digest::parse(&hash).map_err(|_| {
        StoreError::Internal("the head of the incident book is no digest".to_owned())
    })?;
    Ok(Head { count, hash, at_ms })
}

/// Behind the last one, which `written` names; the head moves with it. `incident`: empty where it is of none.
pub async fn append(tx: &mut Tx, incident: &str, written: &Written) -> Result<()> {
    change!(
        tx,
        "INSERT INTO book_entry (seq, incident, text, hash) VALUES ($1, $2, $3, $4)",
        written.head.count,
        incident,
        &written.kept.text,
        &written.kept.hash
    )?;
    for kept in &written.parts {
        change!(
            tx,
            "INSERT INTO book_part (seq, name, salt, words) VALUES ($1, $2, $3, $4)",
            kept.seq,
            &kept.part.name,
            &kept.part.salt,
            &kept.part.words
        )?;
    }
    change!(
        tx,
        "UPDATE turn SET book_count = $1, book_hash = $2, book_at_ms = $3 WHERE id = 1",
        written.head.count,
        written.head.hash.to_string(),
        written.head.at_ms
    )?;
    Ok(())
}

fn kept((text, hash): (String, String)) -> Kept {
    Kept { text, hash }
}

/// In their order, with the head of the same instant.
pub async fn all(conn: &mut Conn) -> Result<(Vec<Kept>, Head)> {
    let found = rows!(
        conn,
        (Option<String>, Option<String>, i64, String, i64),
        "SELECT e.text, e.hash, t.book_count, t.book_hash, t.book_at_ms FROM turn t LEFT JOIN book_entry e ON TRUE \
         ORDER BY e.seq"
    )?;
    let Some((_, _, count, hash, at_ms)) = found.first().cloned() else {
        return Err(no_turn());
    };
    let all = found
        .into_iter()
        .filter_map(|(text, hash, ..)| Some(kept((text?, hash?))));
    Ok((all.collect(), head_of((count, hash, at_ms))?))
}

pub async fn of_incident(conn: &mut Conn, incident: &str) -> Result<Vec<Kept>> {
    let found = rows!(
        conn,
        (String, String),
        "SELECT text, hash FROM book_entry WHERE incident = $1 ORDER BY seq",
        incident
    )?;
    Ok(found.into_iter().map(kept).collect())
}

/// How many incidents were opened.
pub async fn incident_count(conn: &mut Conn) -> Result<i64> {
    let found = row!(
        conn,
        (i64,),
        "SELECT COUNT(DISTINCT incident) FROM book_entry WHERE incident <> ''"
    )?;
    Ok(found.map_or(0, |(count,)| count))
}

/// One incident's, and what is kept beside them.
pub async fn told(conn: &mut Conn, incident: &str) -> Result<(Vec<Kept>, Vec<KeptPart>)> {
    let found = rows!(
        conn,
        (
            i64,
            String,
            String,
            Option<String>,
            Option<String>,
            Option<String>
        ),
        "SELECT e.seq, e.text, e.hash, p.name, p.salt, p.words FROM book_entry e LEFT JOIN book_part p ON p.seq = e.seq \
         WHERE e.incident = $1 ORDER BY e.seq, p.name",
        incident
    )?;
    let (mut entries, mut parts, mut last) = (Vec::new(), Vec::new(), 0);
    for (seq, text, hash, name, salt, words) in found {
        if seq != last {
            entries.push(Kept { text, hash });
            last = seq;
        }
        if let (Some(name), Some(salt), Some(words)) = (name, salt, words) {
            let part = Part { name, salt, words };
            parts.push(KeptPart { seq, part });
        }
    }
    Ok((entries, parts))
}

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

/// Behind the last one, which `written` names; the head moves with it.
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
        "SELECT COUNT(DISTINCT incident) FROM book_entry"
    )?;
    Ok(found.map_or(0, |(count,)| count))
}

fn part((seq, name, salt, words): (i64, String, String, String)) -> KeptPart {
    KeptPart {
        seq,
        part: Part { name, salt, words },
    }
}

pub async fn parts(conn: &mut Conn) -> Result<Vec<KeptPart>> {
    let found = rows!(
        conn,
        (i64, String, String, String),
        "SELECT seq, name, salt, words FROM book_part ORDER BY seq, name"
    )?;
    Ok(found.into_iter().map(part).collect())
}

pub async fn parts_of(conn: &mut Conn, incident: &str) -> Result<Vec<KeptPart>> {
    let found = rows!(
        conn,
        (i64, String, String, String),
        "SELECT p.seq, p.name, p.salt, p.words FROM book_part p JOIN book_entry e ON e.seq = p.seq WHERE e.incident = $1 \
         ORDER BY p.seq, p.name",
        incident
    )?;
    Ok(found.into_iter().map(part).collect())
}

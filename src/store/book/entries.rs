//! The incident book as it is kept: each entry's one text and digest, what is about people beside it, and the head in the
//! row that each write takes first. Added to, never changed: the guards refuse it.

use super::actions::from_own;
use crate::club::book::chain::{Head, Kept, Written};
use crate::club::book::digest::Digest;
use crate::club::book::filed::Place;
use crate::club::book::part::{KeptPart, Part};
use crate::club::book::whom::Checklist;
use crate::store::{Conn, Result, StoreError, Tx, change, row, rows};
use std::collections::BTreeSet;
use uuid::Uuid;

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

/// Each entry and where it is kept, in their order, with the head of the same instant.
pub struct All {
    pub entries: Vec<Kept>,
    pub places: Vec<Place>,
    pub head: Head,
}

#[derive(sqlx::FromRow)]
struct OfAll {
    seq: Option<i64>,
    incident: Option<String>,
    text: Option<String>,
    hash: Option<String>,
    book_count: i64,
    book_hash: String,
    book_at_ms: i64,
}

pub async fn all(conn: &mut Conn) -> Result<All> {
    let found = rows!(
        conn,
        OfAll,
        "SELECT e.seq, e.incident, e.text, e.hash, t.book_count, t.book_hash, t.book_at_ms \
         FROM turn t LEFT JOIN book_entry e ON TRUE ORDER BY e.seq"
    )?;
    let first = found.first().ok_or_else(no_turn)?;
    let head = head_of((first.book_count, first.book_hash.clone(), first.book_at_ms))?;
    let each = found.into_iter().filter_map(|one| {
        let (seq, incident) = (one.seq?, one.incident?);
        Some((kept((one.text?, one.hash?)), Place { seq, incident }))
    });
    let (entries, places) = each.unzip();
    Ok(All {
        entries,
        places,
        head,
    })
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

/// Incidents of which an entry names this pack, and perhaps others: whoever asks reads them.
pub async fn incidents_naming(conn: &mut Conn, number: &str) -> Result<Vec<String>> {
    let found = rows!(
        conn,
        (String,),
        "SELECT DISTINCT incident FROM book_entry WHERE incident <> '' AND text LIKE $1 ORDER BY incident",
        format!("%\"called\":\"{number}\"%")
    )?;
    Ok(found.into_iter().map(|(incident,)| incident).collect())
}

/// Who must or may be told of an incident, as the club set it.
pub async fn checklist(conn: &mut Conn) -> Result<Checklist> {
    let found = row!(conn, (String,), "SELECT whom_to_tell FROM club")?;
    Ok(found.map_or_else(Checklist::default, |(text,)| text.into()))
}

pub async fn keep_checklist(tx: &mut Tx, list: &Checklist) -> Result<()> {
    let text = if list.is_set() {
        list.to_text()
    } else {
        String::new()
    };
    change!(tx, "UPDATE club SET whom_to_tell = $1", text)?;
    Ok(())
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

/// What the pages of the book tell, of one instant.
pub struct Told {
    pub entries: Vec<Kept>,
    /// Entries of the whole book that are of no incident: they say what was erased, of these too.
    pub erasures: Vec<Kept>,
    pub parts: Vec<KeptPart>,
    /// Photos and files that are still there: the number of the entry, and the digest.
    pub files: BTreeSet<(i64, Digest)>,
    /// Of the whole book.
    pub book_ends: Head,
    /// Who must or may be told.
    pub checklist: Checklist,
}

#[derive(sqlx::FromRow)]
struct OfPage {
    seq: i64,
    incident: String,
    text: String,
    hash: String,
    name: Option<String>,
    salt: Option<String>,
    words: Option<String>,
    book_count: i64,
    book_hash: String,
    book_at_ms: i64,
    whom_to_tell: String,
}

macro_rules! of_page {
    ($where:expr) => {
        concat!(
            "SELECT e.seq, e.incident, e.text, e.hash, p.name, p.salt, p.words, t.book_count, t.book_hash, t.book_at_ms, c.whom_to_tell \
             FROM book_entry e JOIN turn t ON t.id = 1 JOIN club c ON TRUE LEFT JOIN (SELECT seq, name, salt, words FROM book_part \
             UNION ALL SELECT seq, sha256, NULL, NULL FROM book_file) p ON p.seq = e.seq ",
            $where,
            " ORDER BY e.seq, p.name"
        )
    };
}

/// Of one incident, or of the whole book; nothing where there is no such incident.
pub async fn told(conn: &mut Conn, incident: Option<&str>) -> Result<Told> {
    let asked = of_page!("WHERE $1 = '' OR e.incident = $1 OR e.incident = ''");
    let found = rows!(conn, OfPage, asked, incident.unwrap_or_default())?;
    told_of(found, incident.is_some())
}

/// Of the incidents after which something is to be done by this person.
pub async fn told_of_own(conn: &mut Conn, person_id: Uuid) -> Result<Told> {
    let asked = of_page!(concat!(
        "WHERE e.incident IN (SELECT a.incident ",
        from_own!("$1"),
        ")"
    ));
    told_of(rows!(conn, OfPage, asked, person_id)?, false)
}

fn told_of(found: Vec<OfPage>, is_of_one: bool) -> Result<Told> {
    let first = found.first();
    let head = first.map(|one| (one.book_count, one.book_hash.clone(), one.book_at_ms));
    let checklist = first.map(|one| one.whom_to_tell.clone().into());
    let mut told = Told {
        entries: Vec::new(),
        erasures: Vec::new(),
        parts: Vec::new(),
        files: BTreeSet::new(),
        book_ends: head.map_or(Ok(Head::EMPTY), head_of)?,
        checklist: checklist.unwrap_or_default(),
    };
    let mut last = 0;
    for one in found {
        if one.seq != last {
            let (is_erasure, entry) = (one.incident.is_empty(), kept((one.text, one.hash)));
            if is_erasure {
                told.erasures.push(entry.clone());
            }
            if !(is_of_one && is_erasure) {
                told.entries.push(entry);
            }
            last = one.seq;
        }
        match (one.name, one.salt, one.words) {
            (Some(name), Some(salt), Some(words)) => {
                let part = Part { name, salt, words };
                told.parts.push(KeptPart { seq: one.seq, part });
            }
            // A file: it has neither salt nor words.
            (Some(sha256), ..) => {
                told.files
                    .extend(Digest::parse(&sha256).map(|sha256| (one.seq, sha256)));
            }
            (None, ..) => {}
        }
    }
    Ok(told)
}

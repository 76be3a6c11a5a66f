//! What in the incident book is about people, kept beside its entries: read whole, linked to who is named in it, and deleted when they
//! are erased. Never changed: the guards refuse it.

use crate::club::book::digest::Digest;
use crate::club::book::filed::{Action, File};
use crate::club::book::part::{KeptPart, Part};
use crate::store::{Conn, Result, Tx, change, each_row, rows};
use uuid::Uuid;

fn part((seq, name, salt, words): (i64, String, String, String)) -> KeptPart {
    KeptPart {
        seq,
        part: Part { name, salt, words },
    }
}

/// They are named in it.
pub async fn link(tx: &mut Tx, kept: &KeptPart, person_id: Uuid) -> Result<()> {
    change!(
        tx,
        "INSERT INTO book_part_person (seq, name, person_id) VALUES ($1, $2, $3)",
        kept.seq,
        &kept.part.name,
        person_id
    )?;
    Ok(())
}

#[derive(sqlx::FromRow)]
struct OfAll {
    seq: i64,
    /// Of a file its digest, of an action its incident.
    name: String,
    salt: String,
    /// Of a file what it is, of an action how it stands.
    words: String,
    by_on: String,
    owner_seq: Option<i64>,
    bytes: Option<Vec<u8>>,
}

/// All that is kept beside the entries.
#[derive(Default)]
pub struct Beside {
    pub parts: Vec<KeptPart>,
    pub files: Vec<File>,
    pub actions: Vec<Action>,
}

/// Files are reckoned one after the other as they come: however many there are, they take no more memory than the largest.
pub async fn all_beside(conn: &mut Conn) -> Result<Beside> {
    let mut beside = Beside::default();
    each_row!(
        conn,
        OfAll,
        "SELECT seq, name, salt, words, '' AS by_on, CAST(NULL AS BIGINT) AS owner_seq, CAST(NULL AS BYTEA) AS bytes FROM book_part \
         UNION ALL SELECT seq, sha256, '', kind, '', NULL, bytes FROM book_file \
         UNION ALL SELECT seq, incident, '', stands, by_on, owner_seq, NULL FROM book_action",
        |one: OfAll| match (one.bytes, one.owner_seq) {
            (Some(bytes), _) => beside.files.push(File {
                seq: one.seq,
                sha256: one.name,
                kind: one.words,
                digest: Digest::of(&bytes),
            }),
            (None, Some(owner_seq)) => beside.actions.push(Action {
                seq: one.seq,
                incident: one.name,
                stands: one.words,
                by_on: one.by_on,
                owner_seq,
            }),
            (None, None) => {
                let part = part((one.seq, one.name, one.salt, one.words));
                beside.parts.push(part);
            }
        }
    )?;
    beside.parts.sort();
    Ok(beside)
}

/// Each part, and whether they were found to be named in it as it was written.
pub async fn beside(conn: &mut Conn, person_id: Uuid) -> Result<Vec<(KeptPart, bool)>> {
    let found = rows!(
        conn,
        (i64, String, String, String, bool),
        "SELECT p.seq, p.name, p.salt, p.words, l.person_id IS NOT NULL FROM book_part p LEFT JOIN book_part_person l \
         ON l.seq = p.seq AND l.name = p.name AND l.person_id = $1 ORDER BY p.seq, p.name",
        person_id
    )?;
    let one = |(seq, name, salt, words, is_named)| (part((seq, name, salt, words)), is_named);
    Ok(found.into_iter().map(one).collect())
}

/// Words and salt are gone, and who was named in it; the entry stays, and with it what it commits to.
pub async fn delete(tx: &mut Tx, seq: i64, name: &str) -> Result<bool> {
    let deleted = change!(
        tx,
        "DELETE FROM book_part WHERE seq = $1 AND name = $2",
        seq,
        name
    )?;
    Ok(deleted == 1)
}

//! What in the incident book is about people, kept beside its entries: read whole, linked to who is named in it, and deleted when they
//! are erased. Never changed: the guards refuse it.

use crate::club::book::digest::Digest;
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
struct Beside {
    seq: i64,
    name: String,
    salt: String,
    words: String,
    /// Of a file.
    bytes: Option<Vec<u8>>,
}

/// A file as it is kept: with which entry, under which digest, and the digest of its bytes.
pub struct KeptFile {
    pub seq: i64,
    pub sha256: String,
    pub digest: Digest,
}

/// All that is kept beside the entries. Files are reckoned one after the other as they come: however many there are, they take
/// no more memory than the largest.
pub async fn and_files(conn: &mut Conn) -> Result<(Vec<KeptPart>, Vec<KeptFile>)> {
    let (mut parts, mut files) = (Vec::new(), Vec::new());
    each_row!(
        conn,
        Beside,
        "SELECT seq, name, salt, words, CAST(NULL AS BYTEA) AS bytes FROM book_part \
         UNION ALL SELECT seq, sha256 AS name, '' AS salt, '' AS words, bytes FROM book_file",
        |one: Beside| match one.bytes {
            None => parts.push(part((one.seq, one.name, one.salt, one.words))),
            Some(bytes) => files.push(KeptFile {
                seq: one.seq,
                sha256: one.name,
                digest: Digest::of(&bytes),
            }),
        }
    )?;
    parts.sort();
    Ok((parts, files))
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

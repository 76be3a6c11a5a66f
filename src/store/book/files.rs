//! Photos and documents that belong to entries of the incident book. The entry names the digest of the bytes that are kept; here are
//! the bytes. They can be erased, never changed: the guards refuse it.

use crate::club::book::digest::Digest;
use crate::store::{Conn, Result, Tx, change, row, rows};

/// Of all files of an incident, in bytes; one more may bring it past this.
pub const MOST_OF_INCIDENT: i64 = 100 * 1024 * 1024;

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Kind {
    Photo,
    Pdf,
    Text,
}

impl Kind {
    /// The word that is stored; never changes.
    pub const fn code(self) -> &'static str {
        match self {
            Self::Photo => "photo",
            Self::Pdf => "pdf",
            Self::Text => "text",
        }
    }

    /// As it is served, whatever it was sent as.
    pub const fn content_type(self) -> &'static str {
        match self {
            Self::Photo => "image/jpeg",
            Self::Pdf => "application/pdf",
            Self::Text => "text/plain; charset=utf-8",
        }
    }

    /// What the name of such a file ends with.
    pub const fn ending(self) -> &'static str {
        match self {
            Self::Photo => "jpg",
            Self::Pdf => "pdf",
            Self::Text => "txt",
        }
    }

    pub fn from_code(code: &str) -> Option<Self> {
        let all = [Self::Photo, Self::Pdf, Self::Text];
        all.into_iter().find(|each| each.code() == code)
    }
}

pub struct NewFile {
    pub kind: Kind,
    pub bytes: Vec<u8>,
    pub sha256: Digest,
    /// Of what was sent, where that is not what is kept.
    pub original_sha256: Option<Digest>,
}

impl NewFile {
    /// A photo as it was made anew.
    pub fn photo(original_sha256: String, bytes: Vec<u8>) -> Self {
        Self {
            original_sha256: Digest::parse(&original_sha256).ok(),
            ..Self::as_sent(Kind::Photo, bytes)
        }
    }

    pub fn as_sent(kind: Kind, bytes: Vec<u8>) -> Self {
        Self {
            kind,
            sha256: Digest::of(&bytes),
            original_sha256: None,
            bytes,
        }
    }
}

pub async fn add(tx: &mut Tx, seq: i64, file: &NewFile) -> Result<()> {
    change!(
        tx,
        "INSERT INTO book_file (seq, sha256, kind, bytes) VALUES ($1, $2, $3, $4)",
        seq,
        file.sha256.to_string(),
        file.kind.code(),
        file.bytes.as_slice()
    )?;
    Ok(())
}

/// The bytes are gone; the entry keeps its digest.
pub async fn delete(tx: &mut Tx, seq: i64, sha256: &str) -> Result<bool> {
    let sql = "DELETE FROM book_file WHERE seq = $1 AND sha256 = $2";
    Ok(change!(tx, sql, seq, sha256)? == 1)
}

/// How large they are together.
pub async fn bytes_of(conn: &mut Conn, incident: &str) -> Result<i64> {
    let found = row!(
        conn,
        (i64,),
        "SELECT CAST(COALESCE(SUM(LENGTH(f.bytes)), 0) AS BIGINT) FROM book_file f JOIN book_entry e ON e.seq = f.seq \
         WHERE e.incident = $1",
        incident
    )?;
    Ok(found.map_or(0, |(sum,)| sum))
}

/// One that belongs to an entry of this incident.
pub async fn one(conn: &mut Conn, incident: &str, sha256: &str) -> Result<Option<(Kind, Vec<u8>)>> {
    let found = row!(
        conn,
        (String, Vec<u8>),
        "SELECT f.kind, f.bytes FROM book_file f JOIN book_entry e ON e.seq = f.seq WHERE e.incident = $1 AND f.sha256 = $2 LIMIT 1",
        incident,
        sha256
    )?;
    Ok(found.and_then(|(kind, bytes)| Some((Kind::from_code(&kind)?, bytes))))
}

/// As it is given away.
#[derive(Clone, Debug, sqlx::FromRow)]
pub struct Given {
    pub seq: i64,
    pub sha256: String,
    kind: String,
    pub bytes: Vec<u8>,
}

impl Given {
    /// None for a kind that is not ours.
    pub fn kind(&self) -> Option<Kind> {
        Kind::from_code(&self.kind)
    }
}

/// All of the book, or of one incident, in the order of their entries.
pub async fn all(conn: &mut Conn, incident: Option<&str>) -> Result<Vec<Given>> {
    rows!(
        conn,
        Given,
        "SELECT f.seq, f.sha256, f.kind, f.bytes FROM book_file f JOIN book_entry e ON e.seq = f.seq \
         WHERE $1 = '' OR e.incident = $1 ORDER BY f.seq, f.sha256",
        incident.unwrap_or_default()
    )
}

//! Photos of packs: the pictures themselves, and who added them when.

use super::{Conn, Result, Tx, change, row, rows};
use crate::club::calendar::Instant;
use crate::ids;
use uuid::Uuid;

/// A picture made anew, and the digest of what was sent.
pub struct Picture {
    pub original_sha256: String,
    pub width: i64,
    pub height: i64,
    /// JPEG.
    pub large: Vec<u8>,
    pub small: Vec<u8>,
}

/// What is told of a photo without its picture.
#[derive(Clone, Debug, sqlx::FromRow)]
pub struct Photo {
    pub id: Uuid,
    pub pack_id: Uuid,
    pub added_ms: Instant,
    pub added_by: Uuid,
    /// None: erased since.
    pub added_by_name: Option<String>,
    pub original_sha256: String,
    pub width: i64,
    pub height: i64,
}

/// `of`: the pack.
pub async fn add(tx: &mut Tx, of: Uuid, picture: &Picture, by: (Uuid, Instant)) -> Result<()> {
    change!(
        tx,
        "INSERT INTO photo (id, pack_id, added_ms, added_by, original_sha256, width, height, large, small) \
         VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9)",
        ids::new_id(),
        of,
        by.1,
        by.0,
        &picture.original_sha256,
        picture.width,
        picture.height,
        picture.large.as_slice(),
        picture.small.as_slice()
    )?;
    Ok(())
}

/// Latest first.
pub async fn of_pack(conn: &mut Conn, pack_id: Uuid) -> Result<Vec<Photo>> {
    rows!(
        conn,
        Photo,
        "SELECT f.id, f.pack_id, f.added_ms, f.added_by, p.name AS added_by_name, f.original_sha256, f.width, f.height \
         FROM photo f LEFT JOIN person p ON p.id = f.added_by WHERE f.pack_id = $1 ORDER BY f.added_ms DESC, f.id DESC",
        pack_id
    )
}

pub async fn large(conn: &mut Conn, id: Uuid, number: &str) -> Result<Option<Vec<u8>>> {
    let found = row!(
        conn,
        (Vec<u8>,),
        "SELECT f.large FROM photo f JOIN pack k ON k.id = f.pack_id WHERE f.id = $1 AND k.number = $2",
        id,
        number
    )?;
    Ok(found.map(|(picture,)| picture))
}

pub async fn small(conn: &mut Conn, id: Uuid, number: &str) -> Result<Option<Vec<u8>>> {
    let found = row!(
        conn,
        (Vec<u8>,),
        "SELECT f.small FROM photo f JOIN pack k ON k.id = f.pack_id WHERE f.id = $1 AND k.number = $2",
        id,
        number
    )?;
    Ok(found.map(|(picture,)| picture))
}

pub async fn remove(tx: &mut Tx, id: Uuid) -> Result<()> {
    change!(tx, "DELETE FROM photo WHERE id = $1", id)?;
    Ok(())
}

//! How packs were got rid of for good: made harmless how, handed in where and when. One per pack; nothing of it is changed.

use crate::club::calendar::Instant;
use crate::store::photos::Picture;
use crate::store::{Conn, Result, Tx, change, row};
use uuid::Uuid;

#[derive(Clone, Debug, sqlx::FromRow)]
pub struct Disposal {
    pub pack_id: Uuid,
    pub harmless: String,
    pub handed_in: String,
    pub receipt: String,
    pub disposed_on: String,
    pub mass_g: Option<i64>,
    pub at_ms: Instant,
    /// None: erased since.
    pub by_name: Option<String>,
    pub has_photo: bool,
}

pub async fn of_pack(conn: &mut Conn, pack_id: Uuid) -> Result<Option<Disposal>> {
    row!(
        conn,
        Disposal,
        "SELECT d.pack_id, d.harmless, d.handed_in, d.receipt, d.disposed_on, d.mass_g, d.at_ms, p.name AS by_name, \
         d.photo IS NOT NULL AS has_photo FROM disposal d LEFT JOIN person p ON p.id = d.by_id WHERE d.pack_id = $1",
        pack_id
    )
}

pub async fn is_disposed(conn: &mut Conn, pack_id: Uuid) -> Result<bool> {
    let found = row!(
        conn,
        (i64,),
        "SELECT CAST(1 AS BIGINT) FROM disposal WHERE pack_id = $1",
        pack_id
    )?;
    Ok(found.is_some())
}

pub struct NewDisposal<'a> {
    pub pack_id: Uuid,
    pub harmless: &'a str,
    pub handed_in: &'a str,
    pub receipt: &'a str,
    pub disposed_on: &'a str,
    pub mass_g: Option<i64>,
    pub photo: Option<&'a Picture>,
}

pub async fn add(tx: &mut Tx, new: &NewDisposal<'_>, by: (Uuid, Instant)) -> Result<()> {
    change!(
        tx,
        "INSERT INTO disposal (pack_id, harmless, handed_in, receipt, disposed_on, mass_g, at_ms, by_id, original_sha256, photo) \
         VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9, $10)",
        new.pack_id,
        new.harmless,
        new.handed_in,
        new.receipt,
        new.disposed_on,
        new.mass_g,
        by.1,
        by.0,
        new.photo.map(|photo| photo.original_sha256.as_str()),
        new.photo.map(|photo| photo.large.as_slice())
    )?;
    Ok(())
}

pub async fn photo(conn: &mut Conn, number: &str) -> Result<Option<Vec<u8>>> {
    let found = row!(
        conn,
        (Vec<u8>,),
        "SELECT d.photo FROM disposal d JOIN pack k ON k.id = d.pack_id WHERE k.number = $1 AND d.photo IS NOT NULL",
        number
    )?;
    Ok(found.map(|(picture,)| picture))
}

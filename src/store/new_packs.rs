//! Packs as they are registered, and the details about them that may change later.

use super::packs::PackView;
use super::{Conn, Result, Tx, change, row};
use crate::club::calendar::Instant;
pub use crate::club::pack_form::Details;
use uuid::Uuid;

impl Details {
    pub fn of(pack: &PackView) -> Self {
        Self {
            maker: pack.maker.clone(),
            batch: pack.batch.clone(),
            supplier: pack.supplier.clone(),
            price: pack.price.clone(),
            acquired_on: pack.acquired_on.clone(),
            first_used_on: pack.first_used_on.clone(),
            place_id: pack.place_id,
            notes: pack.notes.clone(),
        }
    }
}

#[derive(Clone, Debug)]
pub struct NewPack<'a> {
    pub id: Uuid,
    pub number: String,
    pub number_key: i64,
    pub design_id: Uuid,
    pub details: &'a Details,
    pub state_words: &'a str,
    pub state_next: &'a str,
    pub at: Instant,
    pub by: Uuid,
}

pub async fn add(tx: &mut Tx, pack: &NewPack<'_>) -> Result<()> {
    let details = pack.details;
    change!(
        tx,
        "INSERT INTO pack (id, number, number_key, design_id, maker, batch, supplier, price, acquired_on, first_used_on, \
         place_id, notes, life, state, state_words, state_next, state_ms, state_by, created_ms, seen_ms) \
         VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9, $10, $11, $12, 'in_use', 'not_known', $13, $14, $15, $16, $15, $15)",
        pack.id,
        &pack.number,
        pack.number_key,
        pack.design_id,
        &details.maker,
        &details.batch,
        &details.supplier,
        &details.price,
        &details.acquired_on,
        &details.first_used_on,
        details.place_id,
        &details.notes,
        pack.state_words,
        pack.state_next,
        pack.at,
        pack.by
    )?;
    Ok(())
}

pub async fn save_details(tx: &mut Tx, id: Uuid, details: &Details) -> Result<()> {
    change!(
        tx,
        "UPDATE pack SET maker = $2, batch = $3, supplier = $4, price = $5, acquired_on = $6, first_used_on = $7, \
         place_id = $8, notes = $9 WHERE id = $1",
        id,
        &details.maker,
        &details.batch,
        &details.supplier,
        &details.price,
        &details.acquired_on,
        &details.first_used_on,
        details.place_id,
        &details.notes
    )?;
    Ok(())
}

/// The highest running number ever given out; numbers are never given again.
pub async fn last_number_key(conn: &mut Conn) -> Result<i64> {
    let found = row!(
        conn,
        (i64,),
        "SELECT COALESCE(MAX(number_key), 0) FROM pack"
    )?;
    Ok(found.map_or(0, |(key,)| key))
}

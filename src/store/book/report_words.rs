//! What people wrote in a report, which may name somebody: read to look for names, and put in place once some of it is erased.

use crate::store::{Conn, Result, Tx, change, rows};
use uuid::Uuid;

#[derive(Clone, sqlx::FromRow)]
pub struct Written {
    pub id: Uuid,
    pub words: String,
    pub place_words: String,
    /// How to reach who sent it.
    pub reach: String,
    /// Of who looked.
    pub looked_words: String,
}

impl Written {
    pub fn each(&mut self) -> [&mut String; 4] {
        [
            &mut self.words,
            &mut self.place_words,
            &mut self.reach,
            &mut self.looked_words,
        ]
    }
}

pub async fn all(conn: &mut Conn) -> Result<Vec<Written>> {
    rows!(
        conn,
        Written,
        "SELECT id, words, place_words, reach, looked_words FROM report \
         WHERE words <> '' OR place_words <> '' OR reach <> '' OR looked_words <> ''"
    )
}

/// The digest of what a phone sent goes too: from it, what was erased could be guessed.
pub async fn put(tx: &mut Tx, written: &Written) -> Result<()> {
    change!(
        tx,
        "UPDATE report SET words = $2, place_words = $3, reach = $4, looked_words = $5, \
         phone_hash = CASE WHEN phone_hash IS NULL THEN NULL ELSE '' END WHERE id = $1",
        written.id,
        &written.words,
        &written.place_words,
        &written.reach,
        &written.looked_words
    )?;
    Ok(())
}

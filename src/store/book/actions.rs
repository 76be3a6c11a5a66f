//! What is to be done after incidents, as its entries say it stands. Kept beside the book, so that what is due is found by its day; the
//! book alone says what was told.

use crate::club::book::story::ActionStands;
use crate::club::calendar::Day;
use crate::store::{Result, Tx, change};

/// As it stands now.
pub async fn keep(
    tx: &mut Tx,
    (seq, incident): (i64, &str),
    stands: ActionStands,
    by: Day,
) -> Result<()> {
    change!(
        tx,
        "INSERT INTO book_action (seq, incident, stands, by_on) VALUES ($1, $2, $3, $4) \
         ON CONFLICT (seq) DO UPDATE SET stands = excluded.stands, by_on = excluded.by_on",
        seq,
        incident,
        stands.code(),
        by.to_string()
    )?;
    Ok(())
}

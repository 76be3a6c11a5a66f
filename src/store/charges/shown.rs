//! What cards told of packs, started or not: a charge that went wrong may have gone by a card that nobody started here.

use crate::club::calendar::Instant;
use crate::store::book::around::Side;
use crate::store::{Conn, Result, Tx, change, rows};
use uuid::Uuid;

/// A card as it was shown, first and last in the same words.
#[derive(Clone, Debug, sqlx::FromRow)]
pub struct CardShown {
    pub said: String,
    pub first_ms: Instant,
    pub last_ms: Instant,
}

/// It was shown now: once more, where the same was told of the pack before.
pub async fn keep(tx: &mut Tx, (pack_id, said): (Uuid, &str), now: Instant) -> Result<()> {
    change!(
        tx,
        "INSERT INTO card_shown (pack_id, said, first_ms, last_ms) VALUES ($1, $2, $3, $3) \
         ON CONFLICT (pack_id, said) DO UPDATE SET last_ms = excluded.last_ms",
        pack_id,
        said,
        now
    )?;
    Ok(())
}

/// Those that were shown last before an instant, or first after it, come first.
pub async fn around(
    conn: &mut Conn,
    pack_id: Uuid,
    side: Side,
    at_most: i64,
) -> Result<Vec<CardShown>> {
    let (turn, from) = side.turn_and_from();
    rows!(
        conn,
        CardShown,
        "SELECT said, first_ms, last_ms FROM card_shown WHERE pack_id = $1 AND $2 * first_ms >= $3 \
         ORDER BY CASE WHEN $2 > 0 THEN first_ms WHEN last_ms > -$3 THEN $3 ELSE -last_ms END, said LIMIT $4",
        pack_id,
        turn,
        from,
        at_most
    )
}

/// Those that nobody saw since.
pub async fn sweep(tx: &mut Tx, before: Instant) -> Result<()> {
    change!(tx, "DELETE FROM card_shown WHERE last_ms < $1", before)?;
    Ok(())
}

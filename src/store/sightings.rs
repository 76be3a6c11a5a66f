//! When each pack was last seen.

use super::{Result, Tx, change};
use crate::club::calendar::Instant;
use uuid::Uuid;

/// Somebody saw the pack then; who waited for the turn to write does not take it back to before.
pub async fn note(tx: &mut Tx, pack_id: Uuid, at: Instant) -> Result<()> {
    change!(
        tx,
        "UPDATE pack SET seen_ms = $2 WHERE id = $1 AND seen_ms < $2",
        pack_id,
        at
    )?;
    Ok(())
}

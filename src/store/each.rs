//! Rows handed on one by one as they come, for `each_row!`: a table of any length takes no more memory than a short one.

use futures_util::{Stream, TryStreamExt};

/// The work is done right here, between the rows, and on no thread of its own: it takes microseconds for each. But rows may
/// come faster than they are worked on, and then nothing here would ever wait; so others are let in now and then.
pub async fn hand_on<T>(
    mut rows: impl Stream<Item = Result<T, sqlx::Error>> + Unpin,
    mut work: impl FnMut(T),
) -> Result<(), sqlx::Error> {
    while let Some(row) = rows.try_next().await? {
        work(row);
        tokio::task::coop::consume_budget().await;
    }
    Ok(())
}

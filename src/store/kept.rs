//! The connection with which the gate found out who asks, kept for the page they ask for: giving one back to the
//! pool and taking another costs more than a small query does. For looking only: whoever writes may have to wait long.

use super::Conn;
use std::cell::Cell;

tokio::task_local! {
    static KEPT: Cell<Option<Conn>>;
}

/// The first `Db::read` in `work` is lent `conn`.
pub async fn with<T>(conn: Conn, work: impl Future<Output = T>) -> T {
    KEPT.scope(Cell::new(Some(conn)), work).await
}

pub(super) fn take() -> Option<Conn> {
    KEPT.try_with(Cell::take).ok().flatten()
}

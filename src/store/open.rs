//! How each database is connected to: what is asked of SQLite so that a written register survives a power cut, how long one
//! waits, and how many connections there are.

use super::{OpenError, Pools, Result};
use sqlx::pool::PoolOptions;
use sqlx::postgres::PgConnectOptions;
use sqlx::sqlite::{SqliteConnectOptions, SqliteConnection, SqliteJournalMode, SqliteSynchronous};
use sqlx::{ConnectOptions, Connection, Pool, Postgres};
use std::str::FromStr;
use std::time::Duration;

const WAIT: Duration = Duration::from_secs(5);

/// Connected once: a server that is away, or lets nobody in, is told of now.
pub(super) async fn postgres(url: &str) -> std::result::Result<Pool<Postgres>, OpenError> {
    let options = PgConnectOptions::from_str(url)
        .map_err(|error| OpenError::of(error, ""))?
        // Compiling a query that is asked once takes longer than it saves: of what is due for 10,000 packs, half of the time.
        .options([("lock_timeout", "5s"), ("jit", "off")])
        .log_statements(tracing::log::LevelFilter::Trace);
    let host = options.get_host().to_owned();
    let pool = PoolOptions::new().max_connections(10).acquire_timeout(WAIT);
    pool.connect_with(options)
        .await
        .map_err(|error| OpenError::of(error, &host))
}

pub(super) async fn sqlite(url: &str, may_create: bool) -> Result<Pools> {
    let options = SqliteConnectOptions::from_str(url)?
        .create_if_missing(may_create)
        .journal_mode(SqliteJournalMode::Wal)
        .synchronous(SqliteSynchronous::Full)
        .foreign_keys(true)
        .busy_timeout(WAIT)
        .optimize_on_close(true, None)
        .row_buffer_size(1024);
    // Connections stay open: with the last one the write-ahead log goes, and on a full disk none could be opened again.
    let pool = || {
        PoolOptions::new()
            .acquire_timeout(WAIT)
            .idle_timeout(None)
            .max_lifetime(None)
            .test_before_acquire(false)
    };
    let writer = pool()
        .max_connections(1)
        // A write that finds the disk full is undone by SQLite itself. The driver then fails to undo it, and for good
        // takes the connection to be inside a transaction.
        .before_acquire(|conn: &mut SqliteConnection, _| {
            Box::pin(async { Ok(!conn.is_in_transaction()) })
        })
        .connect_with(options.clone())
        .await?;
    let readers = pool().max_connections(4).connect_lazy_with(
        options
            .create_if_missing(false)
            .pragma("query_only", "ON")
            // KiB: a page reads less, and four of the default's 2,000 are a third of what the program holds.
            .pragma("cache_size", "-512"),
    );
    Ok(Pools::Sqlite { readers, writer })
}

//! The database: one SQL text for SQLite and PostgreSQL. Beside `open`, which connects, the only file that names either.
//! A [`Conn`] reads; a [`Tx`] writes and must be saved. Writes take turns (one writer connection on SQLite, a row taken
//! first on PostgreSQL), so an action reads and writes what nobody changes meanwhile. Decides nothing; knows no HTTP.

pub mod at_hand;
pub mod at_once;
pub mod book;
pub mod calendars;
pub mod care;
pub mod charges;
pub mod charging_kit;
pub mod choices;
pub mod club;
pub mod connectors;
pub mod designs;
mod each;
mod error;
pub mod findings;
pub mod gatherings;
pub mod inductions;
mod instants;
pub mod kept;
pub mod keys;
pub mod kit;
pub mod known;
pub mod labels;
pub mod lent;
pub mod links;
pub mod loans;
pub mod log;
pub mod measured;
pub mod names;
mod new_packs;
pub mod nights;
mod open;
pub mod outbox;
pub mod pack_list;
pub mod packs;
pub mod people;
pub mod phones;
pub mod photos;
pub mod places;
pub mod reach;
pub mod readings;
pub mod reminders;
pub mod sessions;
pub mod sheets;
pub mod sightings;
pub mod standings;
pub mod tablets;
pub mod to_see_to;
pub mod tokens;

pub use error::{OpenError, Result, StoreError};

use sqlx::pool::PoolConnection;
use sqlx::postgres::PgConnection;
use sqlx::sqlite::SqliteConnection;
use sqlx::{Pool, Postgres, Sqlite, Transaction};
use std::sync::Arc;
use std::sync::atomic::{AtomicU64, Ordering};

static MIGRATIONS: sqlx::migrate::Migrator = sqlx::migrate!("./migrations");
/// Guards off, every table emptied, guards on.
const EMPTY_SQLITE: &str = concat!(
    include_str!("../../migrations/guards/sqlite_lift.sql"),
    include_str!("../../migrations/guards/empty.sql"),
    include_str!("../../migrations/guards/sqlite.sql")
);
const EMPTY_POSTGRES: &str = concat!(
    include_str!("../../migrations/guards/postgres_lift.sql"),
    include_str!("../../migrations/guards/empty.sql"),
    include_str!("../../migrations/guards/postgres.sql")
);

#[derive(Clone)]
pub struct Db {
    pools: Pools,
    /// How many statements were run: a page may need three at most, whatever it shows.
    queries: Arc<AtomicU64>,
}

#[derive(Clone)]
enum Pools {
    Sqlite {
        readers: Pool<Sqlite>,
        writer: Pool<Sqlite>,
    },
    Postgres(Pool<Postgres>),
}

/// To read with, or the one inside a [`Tx`].
pub struct Conn {
    kind: Kind,
    queries: Arc<AtomicU64>,
}

enum Kind {
    SqliteRead(PoolConnection<Sqlite>),
    SqliteWrite(Transaction<'static, Sqlite>),
    PostgresRead(PoolConnection<Postgres>),
    PostgresWrite(Transaction<'static, Postgres>),
}

/// The driver's own connection, for the macros below.
pub(crate) enum Driver<'c> {
    Sqlite(&'c mut SqliteConnection),
    Postgres(&'c mut PgConnection),
}

impl Conn {
    pub(crate) fn driver(&mut self) -> Driver<'_> {
        self.queries.fetch_add(1, Ordering::Relaxed);
        match &mut self.kind {
            Kind::SqliteRead(c) => Driver::Sqlite(c),
            Kind::SqliteWrite(c) => Driver::Sqlite(c),
            Kind::PostgresRead(c) => Driver::Postgres(c),
            Kind::PostgresWrite(c) => Driver::Postgres(c),
        }
    }
}

/// A write transaction. Dropping it undoes everything; `save` keeps it.
#[must_use = "a write that is not saved is undone"]
pub struct Tx {
    conn: Conn,
    /// Of the log as this transaction's own entries leave it; None: it made none yet.
    log_head: Option<log::Head>,
}

impl std::ops::Deref for Tx {
    type Target = Conn;
    fn deref(&self) -> &Conn {
        &self.conn
    }
}

impl std::ops::DerefMut for Tx {
    fn deref_mut(&mut self) -> &mut Conn {
        &mut self.conn
    }
}

impl Tx {
    pub async fn save(mut self) -> Result<()> {
        if let Some(head) = self.log_head.take() {
            log::keep_head(&mut self.conn, &head).await?;
        }
        match self.conn.kind {
            Kind::SqliteWrite(tx) => tx.commit().await?,
            Kind::PostgresWrite(tx) => tx.commit().await?,
            Kind::SqliteRead(_) | Kind::PostgresRead(_) => {}
        }
        Ok(())
    }

    /// Empties every table, log and readings with them. Only ever asked when a demo ends.
    pub async fn empty(&mut self) -> Result<()> {
        self.log_head = None;
        match self.driver() {
            Driver::Sqlite(c) => sqlx::raw_sql(EMPTY_SQLITE).execute(c).await.map(|_| ()),
            Driver::Postgres(c) => sqlx::raw_sql(EMPTY_POSTGRES).execute(c).await.map(|_| ()),
        }?;
        Ok(())
    }
}

/// All rows of a query: `rows!(conn, RowStruct, "SELECT …", binds…)`.
macro_rules! rows {
    ($conn:expr, $row:ty, $sql:expr $(, $bind:expr)* $(,)?) => {
        match $conn.driver() {
            $crate::store::Driver::Sqlite(c) => sqlx::query_as::<_, $row>($sql)$(.bind($bind))*.fetch_all(c).await,
            $crate::store::Driver::Postgres(c) => sqlx::query_as::<_, $row>($sql)$(.bind($bind))*.fetch_all(c).await,
        }.map_err($crate::store::StoreError::from)
    };
}

/// Each row of a query as it comes, however many there are: `each_row!(conn, RowStruct, "SELECT …", |row| …)`.
macro_rules! each_row {
    ($conn:expr, $row:ty, $sql:expr, $work:expr) => {
        match $conn.driver() {
            $crate::store::Driver::Sqlite(c) => {
                $crate::store::each::hand_on(sqlx::query_as::<_, $row>($sql).fetch(c), $work).await
            }
            $crate::store::Driver::Postgres(c) => {
                $crate::store::each::hand_on(sqlx::query_as::<_, $row>($sql).fetch(c), $work).await
            }
        }
        .map_err($crate::store::StoreError::from)
    };
}

/// The row of a query, or None.
macro_rules! row {
    ($conn:expr, $row:ty, $sql:expr $(, $bind:expr)* $(,)?) => {
        match $conn.driver() {
            $crate::store::Driver::Sqlite(c) => sqlx::query_as::<_, $row>($sql)$(.bind($bind))*.fetch_optional(c).await,
            $crate::store::Driver::Postgres(c) => sqlx::query_as::<_, $row>($sql)$(.bind($bind))*.fetch_optional(c).await,
        }.map_err($crate::store::StoreError::from)
    };
}

/// All rows of a query with a list of ids in its middle, as placeholders: `rows_among!(conn, RowStruct, "SELECT … IN (", ids, ") …")`.
macro_rules! rows_among {
    ($conn:expr, $row:ty, $head:expr, $ids:expr, $tail:expr) => {
        match $conn.driver() {
            $crate::store::Driver::Sqlite(c) => {
                let mut query = sqlx::QueryBuilder::<sqlx::Sqlite>::new($head);
                let mut list = query.separated(", ");
                $ids.iter().for_each(|id| {
                    list.push_bind(*id);
                });
                query
                    .push($tail)
                    .build_query_as::<$row>()
                    .fetch_all(c)
                    .await
            }
            $crate::store::Driver::Postgres(c) => {
                let mut query = sqlx::QueryBuilder::<sqlx::Postgres>::new($head);
                let mut list = query.separated(", ");
                $ids.iter().for_each(|id| {
                    list.push_bind(*id);
                });
                query
                    .push($tail)
                    .build_query_as::<$row>()
                    .fetch_all(c)
                    .await
            }
        }
        .map_err($crate::store::StoreError::from)
    };
}

/// How many rows a statement changed.
macro_rules! change {
    ($conn:expr, $sql:expr $(, $bind:expr)* $(,)?) => {
        match $conn.driver() {
            $crate::store::Driver::Sqlite(c) => sqlx::query($sql)$(.bind($bind))*.execute(c).await.map(|done| done.rows_affected()),
            $crate::store::Driver::Postgres(c) => sqlx::query($sql)$(.bind($bind))*.execute(c).await.map(|done| done.rows_affected()),
        }.map_err($crate::store::StoreError::from)
    };
}

pub(crate) use {change, each_row, row, rows, rows_among};

impl Db {
    /// Opens and migrates. `may_create` lets a SQLite file come into being: a mistyped address must not.
    pub async fn open(url: &str, may_create: bool) -> std::result::Result<Self, OpenError> {
        let pools = if url.starts_with("postgres://") || url.starts_with("postgresql://") {
            Pools::Postgres(open::postgres(url).await?)
        } else {
            open::sqlite(url, may_create).await?
        };
        let db = Self {
            pools,
            queries: Arc::default(),
        };
        db.migrate().await?;
        db.keep_push_key().await?;
        Ok(db)
    }

    /// From the first start on there is a key.
    async fn keep_push_key(&self) -> Result<()> {
        let known = phones::key(&mut self.read().await?).await?;
        if known.is_some() {
            return Ok(());
        }
        let mut tx = self.write().await?;
        phones::make_key(&mut tx).await?;
        tx.save().await
    }

    async fn migrate(&self) -> Result<()> {
        let failed = |error: sqlx::migrate::MigrateError| StoreError::Internal(error.to_string());
        match &self.pools {
            Pools::Sqlite { writer, .. } => {
                MIGRATIONS.run(writer).await.map_err(failed)?;
                sqlx::raw_sql(include_str!("../../migrations/guards/sqlite.sql"))
                    .execute(writer)
                    .await?;
            }
            Pools::Postgres(pool) => {
                MIGRATIONS.run(pool).await.map_err(failed)?;
                self.guard_postgres(pool).await?;
            }
        }
        Ok(())
    }

    /// Replicas that start together apply the guards one after the other.
    async fn guard_postgres(&self, pool: &Pool<Postgres>) -> Result<()> {
        let mut tx = pool.begin().await?;
        sqlx::query("SELECT id FROM turn FOR UPDATE")
            .execute(&mut *tx)
            .await?;
        sqlx::raw_sql(include_str!("../../migrations/guards/postgres.sql"))
            .execute(&mut *tx)
            .await?;
        tx.commit().await?;
        Ok(())
    }

    pub async fn read(&self) -> Result<Conn> {
        if let Some(conn) = kept::take() {
            return Ok(conn);
        }
        let kind = match &self.pools {
            Pools::Sqlite { readers, .. } => Kind::SqliteRead(readers.acquire().await?),
            Pools::Postgres(pool) => Kind::PostgresRead(pool.acquire().await?),
        };
        Ok(Conn {
            kind,
            queries: self.queries.clone(),
        })
    }

    /// Takes the turn to write; waits five seconds at most.
    pub async fn write(&self) -> Result<Tx> {
        let kind = match &self.pools {
            Pools::Sqlite { writer, .. } => {
                Kind::SqliteWrite(writer.begin_with("BEGIN IMMEDIATE").await?)
            }
            Pools::Postgres(pool) => {
                let mut tx = pool.begin().await?;
                sqlx::query("SELECT id FROM turn FOR UPDATE")
                    .execute(&mut *tx)
                    .await?;
                Kind::PostgresWrite(tx)
            }
        };
        Ok(Tx {
            conn: Conn {
                kind,
                queries: self.queries.clone(),
            },
            log_head: None,
        })
    }

    /// Is the database there and answering?
    pub async fn is_ready(&self) -> bool {
        let Ok(mut conn) = self.read().await else {
            return false;
        };
        row!(conn, (i64,), "SELECT id FROM turn")
            .ok()
            .flatten()
            .is_some()
    }

    pub fn queries_run(&self) -> u64 {
        self.queries.load(Ordering::Relaxed)
    }

    /// What SQLite really runs with, as (journal mode, synchronous level); None on PostgreSQL.
    pub async fn sqlite_durability(&self) -> Result<Option<(String, i64)>> {
        let Pools::Sqlite { writer, .. } = &self.pools else {
            return Ok(None);
        };
        let (mode,): (String,) = sqlx::query_as("PRAGMA journal_mode")
            .fetch_one(writer)
            .await?;
        let (level,): (i64,) = sqlx::query_as("PRAGMA synchronous")
            .fetch_one(writer)
            .await?;
        Ok(Some((mode, level)))
    }

    pub async fn close(&self) {
        match &self.pools {
            Pools::Sqlite { readers, writer } => {
                readers.close().await;
                writer.close().await;
            }
            Pools::Postgres(pool) => pool.close().await,
        }
    }
}

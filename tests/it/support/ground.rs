//! A database for one test: a copy of one that was migrated once, as a file or on the PostgreSQL server that
//! `SANDBUCKET_TEST_POSTGRES` names. Gone when the test is over.

use sandbucket::ids;
use sandbucket::store::Db;
use sha2::{Digest, Sha256};
use sqlx::migrate::Migrator;
use sqlx::postgres::PgConnectOptions;
use sqlx::{AssertSqlSafe, ConnectOptions, Connection, PgConnection, SqliteConnection};
use std::collections::BTreeMap;
use std::path::PathBuf;
use std::time::Duration;
use tokio::sync::{MappedMutexGuard, Mutex, MutexGuard, OnceCell};
use uuid::Uuid;

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Backend {
    Sqlite,
    Postgres,
}

const SERVER: &str = "SANDBUCKET_TEST_POSTGRES";

#[allow(clippy::disallowed_methods)]
pub fn variable(name: &str) -> Option<String> {
    std::env::var(name).ok().filter(|value| !value.is_empty())
}

impl Backend {
    /// Without a server named, the PostgreSQL half fails: what did not look must not count as passed.
    pub fn is_here(self) -> bool {
        self == Self::Sqlite || variable(SERVER).is_some()
    }

    pub fn must_be_here(self) {
        assert!(
            self.is_here(),
            "{SERVER} names no server: ./check starts one, and `cargo test sqlite::` runs the other half alone."
        );
    }
}

pub struct Ground {
    pub url: String,
    place: Place,
}

enum Place {
    Folder(PathBuf),
    Server {
        server: String,
        name: String,
        /// Kept from one statement to the next: connecting takes longer than most of them.
        wire: Mutex<Option<PgConnection>>,
    },
}

/// A connection the program knows nothing of.
enum Wire<'a> {
    Sqlite(SqliteConnection),
    Postgres(MappedMutexGuard<'a, PgConnection>),
}

impl Wire<'_> {
    async fn find(&mut self, sql: &str) -> Vec<String> {
        let sql = AssertSqlSafe(sql.to_owned());
        let rows: Result<Vec<(String,)>, sqlx::Error> = match self {
            Self::Sqlite(conn) => sqlx::query_as(sql).fetch_all(conn).await,
            Self::Postgres(conn) => sqlx::query_as(sql).fetch_all(&mut **conn).await,
        };
        let rows = rows.expect("what was looked for");
        rows.into_iter().map(|(text,)| text).collect()
    }
}

impl Ground {
    pub async fn new(backend: Backend) -> Self {
        match backend {
            Backend::Sqlite => Self::file().await,
            Backend::Postgres => Self::on_the_server(&migrated_database().await).await,
        }
    }

    /// Without a single table.
    pub async fn bare(backend: Backend) -> Self {
        match backend {
            Backend::Sqlite => Self::file_of(b""),
            Backend::Postgres => Self::on_the_server("template0").await,
        }
    }

    async fn file() -> Self {
        static MIGRATED: OnceCell<Vec<u8>> = OnceCell::const_new();
        Self::file_of(MIGRATED.get_or_init(migrated_file).await)
    }

    fn file_of(migrated: &[u8]) -> Self {
        let folder = new_folder();
        let file = folder.join("club.db");
        std::fs::write(&file, migrated).expect("a file for the club");
        Self {
            url: format!("sqlite://{}", file.display()),
            place: Place::Folder(folder),
        }
    }

    /// A copy of the database `origin`, to which nobody may be connected meanwhile.
    async fn on_the_server(origin: &str) -> Self {
        let server = variable(SERVER).expect("the server's address");
        let name = format!("club_{}", ids::new_id().simple());
        execute_postgres(
            &server,
            &format!("CREATE DATABASE {name} TEMPLATE {origin}"),
        )
        .await
        .unwrap_or_else(|error| panic!("{SERVER} is set, but: {error}"));
        Self {
            url: address_of(&server, &name),
            place: Place::Server {
                server,
                name,
                wire: Mutex::default(),
            },
        }
    }

    /// Applies those of `steps` (name and SQL) that were not yet.
    pub async fn migrate(&self, steps: &[(String, String)]) {
        let folder = new_folder();
        for (name, sql) in steps {
            std::fs::write(folder.join(name), sql).expect("a step");
        }
        let migrator = Migrator::new(folder.as_path()).await.expect("the steps");
        let done = match &mut self.wire().await {
            Wire::Sqlite(conn) => migrator.run(conn).await,
            Wire::Postgres(conn) => migrator.run(&mut **conn).await,
        };
        done.expect("migrated");
        let _ = std::fs::remove_dir_all(&folder);
    }

    pub async fn open(&self) -> Db {
        Db::open(&self.url, false).await.expect("an open database")
    }

    /// Rows changed by `sql`, on a connection the program knows nothing of.
    pub async fn run(&self, sql: &str) -> Result<u64, sqlx::Error> {
        let asked = sqlx::raw_sql(AssertSqlSafe(sql.to_owned()));
        match self.wire().await {
            Wire::Sqlite(mut conn) => {
                let done = asked.execute(&mut conn).await?;
                conn.close().await?;
                Ok(done.rows_affected())
            }
            Wire::Postgres(mut conn) => {
                let done = asked.execute(&mut *conn).await;
                if done.is_err() {
                    // What it began is not for the next one to go on with.
                    sqlx::raw_sql("ROLLBACK").execute(&mut *conn).await?;
                }
                Ok(done?.rows_affected())
            }
        }
    }

    /// The first column, as text, of every row that `sql` finds.
    pub async fn find(&self, sql: &str) -> Vec<String> {
        self.wire().await.find(sql).await
    }

    async fn wire(&self) -> Wire<'_> {
        match &self.place {
            Place::Folder(_) => Wire::Sqlite(
                SqliteConnection::connect(&self.url)
                    .await
                    .expect("the file"),
            ),
            Place::Server { wire, .. } => {
                let mut wire = wire.lock().await;
                if wire.is_none() {
                    let new = PgConnection::connect(&self.url).await;
                    *wire = Some(new.expect("the database"));
                }
                Wire::Postgres(MutexGuard::map(wire, |wire| {
                    wire.as_mut().expect("it is there")
                }))
            }
        }
    }

    /// The ids of every row of `table`.
    pub async fn ids(&self, table: &str) -> Vec<Uuid> {
        let id = match &self.place {
            Place::Folder(_) => "HEX(id)",
            Place::Server { .. } => "CAST(id AS TEXT)",
        };
        let found = self
            .find(&format!("SELECT {id} FROM {table} ORDER BY id"))
            .await;
        let ids = found.iter().map(|text| text.parse().expect("an id"));
        ids.collect()
    }

    /// Everything in each table, as text.
    pub async fn contents(&self) -> BTreeMap<String, Vec<String>> {
        let columns = match &self.place {
            Place::Folder(_) => {
                "SELECT m.name || ' quote(\"' || c.name || '\")' FROM sqlite_master m JOIN pragma_table_info(m.name) c \
                 WHERE m.type = 'table' AND m.name NOT LIKE 'sqlite%' ORDER BY m.name, c.cid"
            }
            Place::Server { .. } => {
                "SELECT tablename || ' CAST(\"' || tablename || '\" AS TEXT)' FROM pg_tables WHERE schemaname = CURRENT_SCHEMA()"
            }
        };
        let mut wire = self.wire().await;
        let mut rows: BTreeMap<String, Vec<String>> = BTreeMap::new();
        for column in wire.find(columns).await {
            let (table, text) = column.split_once(' ').expect("table and column");
            rows.entry(table.to_owned())
                .or_default()
                .push(text.to_owned());
        }
        // All tables in one statement: this is asked after each of thousands of requests.
        let of_table = |(table, columns): (&String, &Vec<String>)| {
            let row = columns.join(" || ',' || ");
            format!("SELECT '{table} ' || {row} FROM \"{table}\"")
        };
        let all: Vec<String> = rows.iter().map(of_table).collect();
        rows.values_mut().for_each(Vec::clear);
        if all.is_empty() {
            return rows;
        }
        for row in wire.find(&all.join(" UNION ALL ")).await {
            let (table, text) = row.split_once(' ').expect("table and row");
            rows.entry(table.to_owned())
                .or_default()
                .push(text.to_owned());
        }
        rows.values_mut().for_each(|rows| rows.sort_unstable());
        rows
    }

    /// Does the database find no fault in itself? SQLite checks every page and reference; PostgreSQL reads every row.
    pub async fn is_sound(&self) -> bool {
        match &self.place {
            Place::Folder(_) => {
                let found = self.find("PRAGMA integrity_check").await;
                let orphans = self
                    .find("SELECT \"table\" FROM pragma_foreign_key_check")
                    .await;
                found == ["ok"] && orphans.is_empty()
            }
            Place::Server { .. } => !self.contents().await.is_empty(),
        }
    }

    /// How `id` is written in SQL here.
    pub fn literal(&self, id: Uuid) -> String {
        match &self.place {
            Place::Folder(_) => format!("x'{}'", id.simple()),
            Place::Server { .. } => format!("'{id}'"),
        }
    }

    pub async fn clear(&self) {
        if let Place::Server { server, name, wire } = &self.place {
            if let Some(wire) = wire.lock().await.take() {
                wire.close().await.expect("closed");
            }
            drop_database(server, name)
                .await
                .expect("the database goes");
        }
    }
}

impl Drop for Ground {
    fn drop(&mut self) {
        if let Place::Folder(folder) = &self.place {
            let _ = std::fs::remove_dir_all(folder);
        }
    }
}

/// Who is still connected is thrown out; but whoever is just leaving is waited for, since the server would sleep 100 ms.
async fn drop_database(server: &str, name: &str) -> Result<(), sqlx::Error> {
    let mut conn = PgConnection::connect(server).await?;
    for _ in 0..20 {
        let sql = "SELECT COUNT(*) FROM pg_stat_activity WHERE datname = $1";
        let connected: (i64,) = sqlx::query_as(sql).bind(name).fetch_one(&mut conn).await?;
        if connected.0 == 0 {
            break;
        }
        tokio::time::sleep(Duration::from_millis(1)).await;
    }
    let drop = format!("DROP DATABASE {name} WITH (FORCE)");
    sqlx::raw_sql(AssertSqlSafe(drop))
        .execute(&mut conn)
        .await?;
    conn.close().await
}

async fn execute_postgres(url: &str, sql: &str) -> Result<u64, sqlx::Error> {
    let mut conn = PgConnection::connect(url).await?;
    let done = sqlx::raw_sql(AssertSqlSafe(sql.to_owned()))
        .execute(&mut conn)
        .await?;
    conn.close().await?;
    Ok(done.rows_affected())
}

async fn migrated_file() -> Vec<u8> {
    let folder = new_folder();
    let file = folder.join("migrated.db");
    let db = Db::open(&format!("sqlite://{}", file.display()), true)
        .await
        .expect("a new database");
    db.close().await;
    // A file is whole once nothing waits beside it: under load the last connection was seen to tidy up after the closing.
    let whole = folder.join("whole.db");
    let mut conn = SqliteConnection::connect(&format!("sqlite://{}", file.display()))
        .await
        .expect("the migrated database");
    sqlx::query("VACUUM INTO $1")
        .bind(whole.display().to_string())
        .execute(&mut conn)
        .await
        .expect("a copy");
    conn.close().await.expect("closed");
    let bytes = std::fs::read(&whole).expect("the migrated file");
    let _ = std::fs::remove_dir_all(&folder);
    bytes
}

/// The name of a migrated database that every test copies: made by whoever comes first, kept for the next run.
async fn migrated_database() -> String {
    static NAME: OnceCell<String> = OnceCell::const_new();
    NAME.get_or_init(async || {
        let server = variable(SERVER).expect("the server's address");
        let name = format!("migrated_{}", print_of_the_migrations());
        // One at a time makes it; the lock goes with the connection.
        let mut conn = PgConnection::connect(&server)
            .await
            .unwrap_or_else(|error| panic!("{SERVER} is set, but: {error}"));
        let lock = sqlx::raw_sql("SELECT pg_advisory_lock(5051)");
        lock.execute(&mut conn).await.expect("our turn");
        let is_there: Option<(i32,)> =
            sqlx::query_as("SELECT 1 FROM pg_database WHERE datname = $1")
                .bind(&name)
                .fetch_optional(&mut conn)
                .await
                .expect("the databases");
        if is_there.is_none() {
            migrate_as(&server, &name).await;
        }
        conn.close().await.expect("a lock that ends");
        name
    })
    .await
    .clone()
}

/// Under another name until it is whole.
async fn migrate_as(server: &str, name: &str) {
    let unfinished = format!("{name}_unfinished");
    let drop = format!("DROP DATABASE IF EXISTS {unfinished}");
    execute_postgres(server, &drop).await.expect("a free name");
    let create = format!("CREATE DATABASE {unfinished} TEMPLATE template0");
    execute_postgres(server, &create).await.expect("a database");
    let db = Db::open(&address_of(server, &unfinished), false).await;
    db.expect("a new database").close().await;
    let rename = format!("ALTER DATABASE {unfinished} RENAME TO {name}");
    execute_postgres(server, &rename).await.expect("its name");
}

fn address_of(server: &str, database: &str) -> String {
    let server: PgConnectOptions = server.parse().expect("an address");
    server.database(database).to_url_lossy().to_string()
}

/// Twelve digits that differ wherever what makes a database differs.
fn print_of_the_migrations() -> String {
    let mut files: Vec<PathBuf> = ["migrations", "migrations/guards"]
        .iter()
        .flat_map(|folder| std::fs::read_dir(folder).expect("the migrations"))
        .map(|entry| entry.expect("a file").path())
        .filter(|path| path.is_file())
        .collect();
    files.sort();
    let mut print = Sha256::new();
    for file in files {
        print.update(std::fs::read(file).expect("a migration"));
    }
    let digits = print.finalize();
    digits[..6]
        .iter()
        .map(|byte| format!("{byte:02x}"))
        .collect()
}

/// A folder nobody else has, under the system's temporary one.
#[allow(clippy::disallowed_methods)]
pub fn new_folder() -> PathBuf {
    let folder = std::env::temp_dir().join(format!("sandbucket-{}", ids::new_id().simple()));
    std::fs::create_dir_all(&folder).expect("a folder for a test");
    folder
}

//! A database for one test: a copy of a file migrated once, or a schema of its own on the PostgreSQL server that
//! `SANDBUCKET_TEST_POSTGRES` names. Gone when the test is over.

use sandbucket::ids;
use sandbucket::store::Db;
use sqlx::migrate::Migrator;
use sqlx::{AssertSqlSafe, Connection, PgConnection, SqliteConnection};
use std::collections::BTreeMap;
use std::io::Write;
use std::path::PathBuf;
use std::sync::Once;
use tokio::sync::OnceCell;
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
    /// Without a server named, the PostgreSQL half is not run, and that is said once.
    pub fn is_here(self) -> bool {
        static SAID: Once = Once::new();
        let is_here = self == Self::Sqlite || variable(SERVER).is_some();
        if !is_here {
            // Past the test harness, which keeps what a passing test prints.
            SAID.call_once(|| {
                let _ = writeln!(
                    std::io::stderr(),
                    "{SERVER} is not set: the PostgreSQL half of these tests was NOT run (its tests count as passed without having looked)."
                );
            });
        }
        is_here
    }
}

pub struct Ground {
    pub url: String,
    place: Place,
}

enum Place {
    Folder(PathBuf),
    Schema { server: String, name: String },
}

/// A connection the program knows nothing of.
enum Wire {
    Sqlite(SqliteConnection),
    Postgres(PgConnection),
}

impl Wire {
    async fn find(&mut self, sql: &str) -> Vec<String> {
        let sql = AssertSqlSafe(sql.to_owned());
        let rows: Result<Vec<(String,)>, sqlx::Error> = match self {
            Self::Sqlite(conn) => sqlx::query_as(sql).fetch_all(conn).await,
            Self::Postgres(conn) => sqlx::query_as(sql).fetch_all(conn).await,
        };
        let rows = rows.expect("what was looked for");
        rows.into_iter().map(|(text,)| text).collect()
    }
}

impl Ground {
    pub async fn new(backend: Backend) -> Self {
        match backend {
            Backend::Sqlite => Self::file().await,
            Backend::Postgres => Self::schema().await,
        }
    }

    /// Without a single table.
    pub async fn bare(backend: Backend) -> Self {
        match backend {
            Backend::Sqlite => Self::file_of(b""),
            Backend::Postgres => Self::schema().await,
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

    async fn schema() -> Self {
        let server = variable(SERVER).expect("the server's address");
        let name = format!("club_{}", ids::new_id().simple());
        execute_postgres(&server, &format!("CREATE SCHEMA {name}"))
            .await
            .unwrap_or_else(|error| panic!("{SERVER} is set, but: {error}"));
        let joint = if server.contains('?') { '&' } else { '?' };
        Self {
            url: format!("{server}{joint}options=-csearch_path%3D{name}"),
            place: Place::Schema { server, name },
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
            Wire::Postgres(conn) => migrator.run(conn).await,
        };
        done.expect("migrated");
        let _ = std::fs::remove_dir_all(&folder);
    }

    pub async fn open(&self) -> Db {
        Db::open(&self.url, false).await.expect("an open database")
    }

    /// Rows changed by `sql`, on a connection the program knows nothing of.
    pub async fn run(&self, sql: &str) -> Result<u64, sqlx::Error> {
        match &self.place {
            Place::Folder(_) => {
                let mut conn = SqliteConnection::connect(&self.url).await?;
                let done = sqlx::raw_sql(AssertSqlSafe(sql.to_owned()))
                    .execute(&mut conn)
                    .await?;
                conn.close().await?;
                Ok(done.rows_affected())
            }
            Place::Schema { .. } => execute_postgres(&self.url, sql).await,
        }
    }

    /// The first column, as text, of every row that `sql` finds.
    pub async fn find(&self, sql: &str) -> Vec<String> {
        self.wire().await.find(sql).await
    }

    async fn wire(&self) -> Wire {
        match &self.place {
            Place::Folder(_) => Wire::Sqlite(
                SqliteConnection::connect(&self.url)
                    .await
                    .expect("the file"),
            ),
            Place::Schema { .. } => {
                Wire::Postgres(PgConnection::connect(&self.url).await.expect("the schema"))
            }
        }
    }

    /// The ids of every row of `table`.
    pub async fn ids(&self, table: &str) -> Vec<Uuid> {
        let id = match &self.place {
            Place::Folder(_) => "HEX(id)",
            Place::Schema { .. } => "CAST(id AS TEXT)",
        };
        let found = self
            .find(&format!("SELECT {id} FROM {table} ORDER BY id"))
            .await;
        let ids = found.iter().map(|text| text.parse().expect("an id"));
        ids.collect()
    }

    /// Everything in each table, as text.
    pub async fn contents(&self) -> BTreeMap<String, Vec<String>> {
        let (tables, is_file) = match &self.place {
            Place::Folder(_) => (
                "SELECT name FROM sqlite_master WHERE type = 'table' AND name NOT LIKE 'sqlite%'",
                true,
            ),
            Place::Schema { .. } => (
                "SELECT CAST(tablename AS TEXT) FROM pg_tables WHERE schemaname = CURRENT_SCHEMA()",
                false,
            ),
        };
        let mut contents = BTreeMap::new();
        let mut wire = self.wire().await;
        for table in wire.find(tables).await {
            let whole_row = if is_file {
                let columns =
                    format!("SELECT 'quote(' || name || ')' FROM pragma_table_info('{table}')");
                wire.find(&columns).await.join(" || ',' || ")
            } else {
                format!("CAST({table} AS TEXT)")
            };
            let rows = wire
                .find(&format!("SELECT {whole_row} FROM {table} ORDER BY 1"))
                .await;
            contents.insert(table, rows);
        }
        contents
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
            Place::Schema { .. } => !self.contents().await.is_empty(),
        }
    }

    /// How `id` is written in SQL here.
    pub fn literal(&self, id: Uuid) -> String {
        match &self.place {
            Place::Folder(_) => format!("x'{}'", id.simple()),
            Place::Schema { .. } => format!("'{id}'"),
        }
    }

    pub async fn clear(&self) {
        if let Place::Schema { server, name } = &self.place {
            execute_postgres(server, &format!("DROP SCHEMA {name} CASCADE"))
                .await
                .expect("the schema goes");
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
    let bytes = std::fs::read(&file).expect("the migrated file");
    let _ = std::fs::remove_dir_all(&folder);
    bytes
}

/// A folder nobody else has, under the system's temporary one.
#[allow(clippy::disallowed_methods)]
pub fn new_folder() -> PathBuf {
    let folder = std::env::temp_dir().join(format!("sandbucket-{}", ids::new_id().simple()));
    std::fs::create_dir_all(&folder).expect("a folder for a test");
    folder
}

//! What went wrong in the database, by what can be done about it: a refusal is made of it, it is tried again later,
//! room is made, or somebody must look. Knows both databases' codes; the words for readers are the pages'.

#[derive(Debug, thiserror::Error)]
pub enum StoreError {
    /// Something that must exist once exists already.
    #[error("it exists already")]
    Conflict,
    /// The database did not answer in time; trying again later may help.
    #[error("the database is away: {0}")]
    Unavailable(String),
    /// The disk is full: reading goes on, and writing once there is room again.
    #[error("the database has no room left: {0}")]
    NoRoom(String),
    #[error("the database refused: {0}")]
    Internal(String),
}

/// Why the database can't be opened. Says where it was looked for by the host alone: all else of the address may be part of a
/// mistyped password.
#[derive(Debug, thiserror::Error)]
pub enum OpenError {
    #[error("no PostgreSQL server answers at {host}: look whether it runs, and at host and port")]
    NoServer { host: String },
    #[error("the PostgreSQL server at {host} has no database of that name")]
    NoDatabase { host: String },
    #[error("the PostgreSQL server at {host} refuses that user and password")]
    NotLetIn { host: String },
    #[error("its address can't be read: {0}")]
    Address(String),
    #[error(transparent)]
    Store(#[from] StoreError),
}

impl OpenError {
    pub(super) fn of(error: sqlx::Error, host: &str) -> Self {
        let host = host.to_owned();
        match &error {
            sqlx::Error::PoolTimedOut | sqlx::Error::Io(_) => Self::NoServer { host },
            sqlx::Error::Configuration(inner) => Self::Address(inner.to_string()),
            sqlx::Error::Database(inner) => match inner.code().as_deref() {
                Some("3D000") => Self::NoDatabase { host },
                // Also a user or an address the server lets in nowhere.
                Some("28P01" | "28000") => Self::NotLetIn { host },
                _ => Self::Store(error.into()),
            },
            _ => Self::Store(error.into()),
        }
    }
}

impl From<sqlx::Error> for OpenError {
    fn from(error: sqlx::Error) -> Self {
        Self::Store(error.into())
    }
}

pub type Result<T> = std::result::Result<T, StoreError>;

impl From<sqlx::Error> for StoreError {
    fn from(error: sqlx::Error) -> Self {
        match &error {
            sqlx::Error::Database(inner) if inner.is_unique_violation() => Self::Conflict,
            sqlx::Error::PoolTimedOut | sqlx::Error::PoolClosed | sqlx::Error::Io(_) => {
                Self::Unavailable(error.to_string())
            }
            sqlx::Error::Database(inner) => {
                Self::of_code(inner.code().as_deref(), error.to_string())
            }
            _ => Self::Internal(error.to_string()),
        }
    }
}

impl StoreError {
    fn of_code(code: Option<&str>, words: String) -> Self {
        match code {
            // SQLite: full, and no room for what it shares between connections; PostgreSQL: disk full.
            Some("13" | "4874" | "53100") => Self::NoRoom(words),
            // SQLite: busy and locked; PostgreSQL: lock timeout, shutdown, too many connections, out of memory.
            Some("5" | "6" | "517" | "55P03" | "57P01" | "57P03" | "53300" | "53200") => {
                Self::Unavailable(words)
            }
            _ => Self::Internal(words),
        }
    }
}

//! Why the store did not do what it was asked.

use std::borrow::Cow;
use std::fmt;
use std::sync::Arc;

/// Why the store did not do what it was asked. Cheap to clone: writes that share a commit share its failure.
#[derive(Debug, Clone)]
pub enum StoreError {
    /// Somebody else was first: the head has moved, the invitation is spent, the key is used.
    /// Nothing was changed; read again and decide anew.
    Overtaken,
    /// Nobody would be left with a key to organise; nothing was changed.
    LastOrganiser,
    /// What is stored cannot be what was stored.
    Damaged(String),
    /// Another process has this database open; which, or how that is known.
    InUse(String),
    /// A database that should be filled holds something already; a table that does.
    NotEmpty(String),
    /// There is no room left on the database's disk; nothing was changed.
    Full(Arc<sqlx::Error>),
    /// The database cannot be written at the moment; nothing was changed.
    ReadOnly(Arc<sqlx::Error>),
    /// The disk did not keep what was written: what becomes of it is not known, and nothing more is written.
    Unsynced(Arc<sqlx::Error>),
    /// The database failed.
    Database(Arc<sqlx::Error>),
    /// Migrating it failed.
    Migration(Arc<sqlx::migrate::MigrateError>),
    /// Its files could not be used.
    Files(Arc<std::io::Error>),
    /// A write panicked.
    Panicked(String),
}

impl fmt::Display for StoreError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Overtaken => f.write_str("somebody else was first"),
            Self::LastOrganiser => f.write_str("nobody would be left to organise"),
            Self::Damaged(what) => write!(f, "the database holds what was never stored: {what}"),
            Self::InUse(path) => write!(
                f,
                "another server has the database open ({path}); stop it first, or give this one a database of its own"
            ),
            Self::NotEmpty(table) => write!(
                f,
                "the database is in use: its table {table} is not empty, and nothing is ever overwritten; name a new one"
            ),
            Self::Full(error) => write!(f, "the database has no room left on its disk: {error}"),
            Self::ReadOnly(error) => write!(f, "the database cannot be written: {error}"),
            Self::Unsynced(error) => write!(
                f,
                "the disk did not keep what was written to it: {error}; look at the disk, then at the database with \"fieldpost-server check\", before starting again"
            ),
            Self::Database(error) => write!(f, "the database failed: {error}"),
            Self::Migration(error) => {
                write!(f, "the database could not be brought up to date: {error}")
            }
            Self::Files(error) => write!(f, "the database's files cannot be used: {error}"),
            Self::Panicked(why) => write!(f, "a write panicked: {why}"),
        }
    }
}

impl std::error::Error for StoreError {}

impl StoreError {
    /// Whether the same transaction may succeed if it is run again from its start
    /// (PostgreSQL's serialization failure and deadlock).
    pub(super) fn is_passing(&self) -> bool {
        matches!(self, Self::Database(error) if matches!(code(error).as_deref(), Some("40001" | "40P01")))
    }
}

impl From<sqlx::Error> for StoreError {
    /// Failures are told by kind and code, never by name: a broken uniqueness means that somebody
    /// else was first.
    fn from(error: sqlx::Error) -> Self {
        if let sqlx::Error::Database(cause) = &error
            && cause.is_unique_violation()
        {
            return Self::Overtaken;
        }
        let code = code(&error).map(Cow::into_owned);
        let error = Arc::new(error);
        match code.as_deref() {
            // SQLITE_FULL; SQLITE_IOERR_SHMSIZE; PostgreSQL disk_full
            Some("13" | "4874" | "53100") => Self::Full(error),
            // SQLITE_IOERR_FSYNC, SQLITE_IOERR_DIR_FSYNC
            Some("1034" | "1290") => Self::Unsynced(error),
            // PostgreSQL read_only_sql_transaction
            Some("25006") => Self::ReadOnly(error),
            Some(code) if is_sqlite_read_only(code) => Self::ReadOnly(error),
            _ => Self::Database(error),
        }
    }
}

/// SQLITE_READONLY (8) and its extended codes, whose lowest byte it is. PostgreSQL's have five characters.
fn is_sqlite_read_only(code: &str) -> bool {
    code.len() < 5 && code.parse::<u32>().is_ok_and(|code| code & 0xff == 8)
}

fn code(error: &sqlx::Error) -> Option<Cow<'_, str>> {
    match error {
        sqlx::Error::Database(cause) => cause.code(),
        _ => None,
    }
}

impl From<std::io::Error> for StoreError {
    fn from(error: std::io::Error) -> Self {
        Self::Files(Arc::new(error))
    }
}

impl From<sqlx::migrate::MigrateError> for StoreError {
    fn from(error: sqlx::migrate::MigrateError) -> Self {
        Self::Migration(Arc::new(error))
    }
}

impl From<tokio::task::JoinError> for StoreError {
    fn from(error: tokio::task::JoinError) -> Self {
        Self::Panicked(error.to_string())
    }
}

/// What a store answers.
pub type Stored<T> = Result<T, StoreError>;

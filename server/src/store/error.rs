//! Why the store did not do what it was asked.

use std::borrow::Cow;
use std::sync::Arc;

use fieldpost_command_line::in_plain_words;
use thiserror::Error;

/// Why the store did not do what it was asked. Cheap to clone: writes that share a commit share its failure.
#[derive(Debug, Clone, Error)]
pub enum StoreError {
    /// Somebody else was first: the head has moved, the invitation is spent, the key is used.
    /// Nothing was changed; read again and decide anew.
    #[error("somebody else was first")]
    Overtaken,
    /// The key on whose word it was to be written does not open that any more; nothing was changed.
    #[error("the caller's key has ended")]
    KeyEnded,
    /// Nobody would be left with a key to organise; nothing was changed.
    #[error("nobody would be left to organise")]
    LastOrganiser,
    /// What is stored cannot be what was stored.
    #[error("the database holds what was never stored: {0}")]
    Damaged(String),
    /// Another process has this database open; which, or how that is known.
    #[error(
        "another server has the database open ({0}); stop it first, or give this one a database of its own"
    )]
    InUse(String),
    /// A database that should be filled holds something already; a table that does.
    #[error(
        "the database is in use: its table {0} is not empty, and nothing is ever overwritten; name a new one"
    )]
    NotEmpty(String),
    /// There is no room left on the database's disk; nothing was changed.
    #[error("the database has no room left on its disk: {0}")]
    Full(#[source] Arc<sqlx::Error>),
    /// The database cannot be written at the moment; nothing was changed.
    #[error("the database cannot be written: {0}")]
    ReadOnly(#[source] Arc<sqlx::Error>),
    /// The disk did not keep what was written: what becomes of it is not known, and nothing more is written.
    #[error(
        "the disk did not keep what was written to it: {0}; look at the disk, then at the database with \"fieldpost-server check\", before starting again"
    )]
    Unsynced(#[source] Arc<sqlx::Error>),
    /// The database failed.
    #[error("the database failed: {0}")]
    Database(#[source] Arc<sqlx::Error>),
    /// Migrating it failed.
    #[error("the database could not be brought up to date: {0}")]
    Migration(#[source] Arc<sqlx::migrate::MigrateError>),
    /// Its files could not be used.
    #[error("the database's files cannot be used: {}", in_plain_words(.0))]
    Files(#[source] Arc<std::io::Error>),
    /// A write panicked.
    #[error("a write panicked: {0}")]
    Panicked(#[source] Arc<tokio::task::JoinError>),
    /// A write was answered before it was run.
    #[error("a write that was not run")]
    NotRun,
}

impl StoreError {
    /// Whether the same transaction may succeed if it is run again from its start
    /// (PostgreSQL's serialization failure and deadlock).
    pub(super) fn is_retryable(&self) -> bool {
        matches!(self, Self::Database(error) if matches!(code(error).as_deref(), Some("40001" | "40P01")))
    }
}

impl From<sqlx::Error> for StoreError {
    /// Failures are told apart by kind and code, never by a constraint's name: a broken uniqueness means that somebody
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
        Self::Panicked(Arc::new(error))
    }
}

/// What a store answers.
pub type StoreResult<T> = Result<T, StoreError>;

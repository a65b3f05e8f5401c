//! Games in one SQLite file, held by one process.

#[path = "../queries/mod.rs"]
mod queries;
mod writer;

use std::fs::{File, OpenOptions, TryLockError};
use std::path::{Path, PathBuf};
use std::str::FromStr;
use std::sync::Arc;
use std::time::Duration;

use sqlx::pool::{PoolConnection, PoolOptions};
use sqlx::sqlite::{
    SqliteConnectOptions, SqliteConnection, SqliteJournalMode, SqliteLockingMode, SqliteSynchronous,
};
use sqlx::{ConnectOptions, Connection, Sqlite};

use super::{Append, StoreError, StoreResult, Subscriptions, migrations};
use queries::{Batch, ContextQuery, PostingContextQuery, SnapshotReader, Write};
use writer::Writer;

type Db = Sqlite;
type Backend = SqliteStore;

/// There is one writer: nothing is ever locked.
const SKIP_LOCKED: &str = "";

/// Older versions can corrupt a write-ahead log (fixed in 3.51.3).
const OLDEST_SQLITE: (u32, u32, u32) = (3, 51, 3);
const READERS: u32 = 6;
/// Bytes that the write-ahead log is cut back to after a checkpoint.
const LOG_LIMIT: &str = "67108864";
/// Pages of 4 KB in the write-ahead log from which on a commit folds it into the file. Games that go on change the
/// same pages again and again: the more of that is folded at once, the less is written twice.
const LOG_PAGES: &str = "8192";

/// Games in one SQLite file.
pub struct SqliteStore {
    writer: Writer,
    readers: sqlx::Pool<Sqlite>,
    context_batch: Batch<ContextQuery>,
    posting_context_batch: Batch<PostingContextQuery>,
    subscriptions: Subscriptions,
    /// Held while the store lives, so that no second process migrates or writes the same file.
    _lock: File,
}

impl SqliteStore {
    /// Opens, or makes, the file that `sqlite:PATH` names.
    ///
    /// # Errors
    /// When another process has it, the file or its folder cannot be used, or SQLite is too old.
    pub async fn open(url: &str) -> StoreResult<Self> {
        let options = SqliteConnectOptions::from_str(url)?
            .create_if_missing(true)
            .journal_mode(SqliteJournalMode::Wal)
            .locking_mode(SqliteLockingMode::Normal)
            .synchronous(SqliteSynchronous::Full)
            .foreign_keys(true)
            .statement_cache_capacity(queries::PREPARED)
            .busy_timeout(Duration::from_secs(5))
            .pragma("journal_size_limit", LOG_LIMIT)
            .pragma("wal_autocheckpoint", LOG_PAGES);
        let lock = lock(options.get_filename())?;
        make_private(options.get_filename())?;
        let mut connection = connect(&options).await?;
        migrations::migrator(migrations::SQLITE)
            .run_direct(None, &mut connection, false)
            .await?;
        let subscriptions = Subscriptions::new();
        let writer = Writer::start(options.clone(), connection, subscriptions.clone());
        let readers = PoolOptions::new()
            .max_connections(READERS)
            .acquire_timeout(Duration::from_secs(10))
            .after_connect(|connection, _| Box::pin(assert_durable(connection)))
            .connect_with(options.read_only(true))
            .await?;
        Ok(Self {
            writer,
            context_batch: Batch::start(readers.clone()),
            posting_context_batch: Batch::start(readers.clone()),
            readers,
            subscriptions,
            _lock: lock,
        })
    }

    async fn reading(&self) -> StoreResult<PoolConnection<Sqlite>> {
        Ok(self.readers.acquire().await?)
    }

    async fn write<W: Write>(&self, work: W) -> StoreResult<W::Answer> {
        self.writer.write(work).await
    }

    async fn append_soon(&self, append: Arc<Append>) -> StoreResult<()> {
        self.writer.append(append).await
    }

    fn context_batch(&self) -> &Batch<ContextQuery> {
        &self.context_batch
    }

    fn posting_context_batch(&self) -> &Batch<PostingContextQuery> {
        &self.posting_context_batch
    }

    async fn let_go(&self) {
        self.readers.close().await;
        self.writer.close().await;
    }

    fn game_subscriptions(&self) -> &Subscriptions {
        &self.subscriptions
    }

    async fn until_given_up(&self) -> StoreError {
        self.writer.given_up().await
    }

    async fn frozen(&self) -> StoreResult<SnapshotReader> {
        let mut transaction = self.readers.begin().await?;
        // What it sees is settled by its first read.
        sqlx::query("SELECT 1 FROM games LIMIT 1")
            .fetch_optional(&mut *transaction)
            .await?;
        Ok(SnapshotReader(transaction))
    }

    /// None: the lock is held.
    async fn other_sessions(&self) -> StoreResult<u64> {
        Ok(0)
    }

    async fn verify_files(&self) -> StoreResult<()> {
        let mut connection = self.reading().await?;
        let said: Vec<String> = sqlx::query_scalar("PRAGMA integrity_check")
            .fetch_all(&mut *connection)
            .await?;
        if said != ["ok"] {
            return Err(StoreError::Damaged(said.join("; ")));
        }
        let broken = sqlx::query("PRAGMA foreign_key_check")
            .fetch_all(&mut *connection)
            .await?;
        match broken.len() {
            0 => Ok(()),
            rows => Err(StoreError::Damaged(format!(
                "{rows} rows refer to what is not there"
            ))),
        }
    }
}

/// Writes a file's database, as it is at this moment, into a new file, whether or not a server has it open.
/// What is written is not yet on the disk for good.
///
/// # Errors
/// When either file cannot be used.
pub async fn vacuum_into(url: &str, into: &Path) -> StoreResult<()> {
    let options = SqliteConnectOptions::from_str(url)?
        .read_only(true)
        .busy_timeout(Duration::from_secs(5));
    let mut connection = options.connect().await?;
    make_private(into)?;
    sqlx::query("VACUUM INTO $1")
        .bind(into.display().to_string())
        .execute(&mut connection)
        .await?;
    connection.close().await?;
    Ok(())
}

/// A write has the whole file to itself as it is.
async fn lock_exclusive(_: &mut SqliteConnection) -> StoreResult<()> {
    Ok(())
}

/// The same.
async fn lock_keys(_: &mut SqliteConnection) -> StoreResult<()> {
    Ok(())
}

/// A connection that may write.
async fn connect(options: &SqliteConnectOptions) -> StoreResult<SqliteConnection> {
    let mut connection = options.connect().await?;
    assert_durable(&mut connection).await?;
    Ok(connection)
}

/// Refuses a connection on which an answered posting could still be lost.
async fn assert_durable(connection: &mut SqliteConnection) -> Result<(), sqlx::Error> {
    let version: String = sqlx::query_scalar("SELECT sqlite_version()")
        .fetch_one(&mut *connection)
        .await?;
    let journal: String = sqlx::query_scalar("PRAGMA journal_mode")
        .fetch_one(&mut *connection)
        .await?;
    let synchronous: i64 = sqlx::query_scalar("PRAGMA synchronous")
        .fetch_one(&mut *connection)
        .await?;
    if is_too_old(&version) {
        return Err(unfit(format!("SQLite {version} is too old")));
    }
    if journal != "wal" || synchronous != 2 {
        return Err(unfit(format!(
            "journal_mode is {journal} and synchronous {synchronous}, not wal and 2"
        )));
    }
    Ok(())
}

fn unfit(why: String) -> sqlx::Error {
    sqlx::Error::Configuration(why.into())
}

fn is_too_old(version: &str) -> bool {
    let mut parts = version.split('.').map(|part| part.parse().unwrap_or(0));
    let mut next = || parts.next().unwrap_or(0);
    (next(), next(), next()) < OLDEST_SQLITE
}

fn lock(database: &Path) -> StoreResult<File> {
    if let Some(folder) = database.parent().filter(|f| !f.as_os_str().is_empty()) {
        std::fs::create_dir_all(folder)?;
    }
    let path = lock_path(database);
    let file = OpenOptions::new()
        .create(true)
        .truncate(false)
        .write(true)
        .open(&path)?;
    match file.try_lock() {
        Ok(()) => Ok(file),
        Err(TryLockError::WouldBlock) => {
            Err(StoreError::InUse(format!("its lock is {}", path.display())))
        }
        Err(TryLockError::Error(error)) => Err(error.into()),
    }
}

/// Makes the database's file so that only its owner may read it: it holds what is sealed. SQLite
/// gives the files beside it the same mode.
fn make_private(database: &Path) -> StoreResult<()> {
    let mut options = OpenOptions::new();
    options.create(true).truncate(false).write(true);
    #[cfg(unix)]
    std::os::unix::fs::OpenOptionsExt::mode(&mut options, 0o600);
    options.open(database)?;
    Ok(())
}

fn lock_path(database: &Path) -> PathBuf {
    let mut name = database.as_os_str().to_owned();
    name.push(".lock");
    name.into()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn versions_compare_by_number() {
        assert!(is_too_old("3.51.2"));
        assert!(is_too_old("3.9.9"));
        assert!(!is_too_old("3.51.3"));
        assert!(!is_too_old("3.100.0"));
    }

    #[tokio::test]
    async fn a_second_process_is_told_and_turned_away() {
        let folder = tempfile::tempdir().expect("a folder");
        let url = format!("sqlite:{}", folder.path().join("games.db").display());
        let first = SqliteStore::open(&url).await.expect("opens");
        let second = SqliteStore::open(&url).await.err().expect("is refused");
        assert!(matches!(second, StoreError::InUse(_)), "{second}");
        drop(first);
        SqliteStore::open(&url).await.expect("opens again");
    }
}

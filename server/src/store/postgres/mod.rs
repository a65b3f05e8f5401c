//! Games in PostgreSQL, shared by any number of server processes.

mod append_queue;
mod notifier;
#[path = "../queries/mod.rs"]
mod queries;

use std::str::FromStr;
use std::sync::Arc;
use std::time::Duration;

use sqlx::pool::{PoolConnection, PoolOptions};
use sqlx::postgres::{PgConnectOptions, PgConnection};
use sqlx::{ConnectOptions, Connection, Postgres, Row};
use tracing::debug;

use super::{Append, StoreError, StoreResult, Subscriptions, migrations, mutant};
use append_queue::AppendQueue;
use notifier::Notifier;
use queries::{Batch, ContextQuery, PostingContextQuery, SnapshotReader, Write};

type Db = Postgres;
type Backend = PostgresStore;

const NAME: &str = "fieldpost-server";
/// Rows that somebody else is taking are left to them.
const SKIP_LOCKED: &str = "FOR UPDATE SKIP LOCKED";

/// How a transaction begins in which keys end.
const BEGIN_WITH_KEYS_ALONE: &str = "BEGIN; SELECT pg_advisory_xact_lock(7379540980639231859)";

/// How often a transaction is run when PostgreSQL asks for it to be run again.
const ATTEMPTS_MAX: u32 = 5;
/// How a transaction begins in which no key may end: whoever ends keys takes the same lock alone. Sent with `BEGIN`, it
/// costs no way of its own, and every statement after it sees what ended before. The number is any, as long as every
/// server takes the same: "fieldpos".
const BEGIN_WITH_KEYS_LOCKED: &str =
    "BEGIN; SELECT pg_advisory_xact_lock_shared(7379540980639231859)";

/// Games in PostgreSQL.
pub struct PostgresStore {
    pool: sqlx::Pool<Postgres>,
    /// One session each, for those who ask for many.
    own: [sqlx::Pool<Postgres>; 3],
    notifier: Notifier,
    append_queue: AppendQueue,
    context_batch: Batch<ContextQuery>,
    posting_context_batch: Batch<PostingContextQuery>,
}

impl PostgresStore {
    /// Connects to the database that a `postgres://` URL names and brings it up to date; servers that
    /// start together wait for each other.
    ///
    /// # Errors
    /// When it cannot be reached, or would answer before what it was told is on its disk.
    pub async fn open(url: &str, connections: u32) -> StoreResult<Self> {
        let options = PgConnectOptions::from_str(url)?
            .application_name(&own_name())
            .statement_cache_capacity(queries::PREPARED);
        migrate(&options).await?;
        let pool = PoolOptions::new()
            .max_connections(connections)
            .acquire_timeout(Duration::from_secs(10))
            .test_before_acquire(false)
            .before_acquire(|connection, _| Box::pin(is_fit(connection)))
            .connect_with(options.clone().options(SESSION))
            .await?;
        let own = [(); 3].map(|()| own_session(&options));
        let [append_sessions, context_sessions, posting_sessions] = own.clone();
        let notifier = Notifier::start(options, pool.clone());
        Ok(Self {
            append_queue: AppendQueue::start(append_sessions, pool.clone(), notifier.clone()),
            context_batch: Batch::start(context_sessions),
            posting_context_batch: Batch::start(posting_sessions),
            own,
            pool,
            notifier,
        })
    }

    async fn reading(&self) -> StoreResult<PoolConnection<Postgres>> {
        Ok(self.pool.acquire().await?)
    }

    /// In a task of its own, so that a caller who hangs up cannot cut a transaction in two: a `BEGIN`
    /// cancelled half way leaves a connection on which later writes are answered and then lost.
    async fn write<W: Write>(&self, work: W) -> StoreResult<W::Answer> {
        let (pool, notifier) = (self.pool.clone(), self.notifier.clone());
        tokio::spawn(async move { write_and_announce(&pool, &notifier, "BEGIN", &work).await })
            .await?
    }

    async fn append_soon(&self, append: Arc<Append>) -> StoreResult<()> {
        self.append_queue.append(append).await
    }

    fn context_batch(&self) -> &Batch<ContextQuery> {
        &self.context_batch
    }

    fn posting_context_batch(&self) -> &Batch<PostingContextQuery> {
        &self.posting_context_batch
    }

    async fn let_go(&self) {
        self.notifier.stop();
        for pool in self.own.iter().chain([&self.pool]) {
            pool.close().await;
        }
    }

    fn game_subscriptions(&self) -> &Subscriptions {
        self.notifier.subscriptions()
    }

    /// Never: PostgreSQL ends by itself when its disk fails it.
    async fn until_given_up(&self) -> StoreError {
        std::future::pending().await
    }

    async fn frozen(&self) -> StoreResult<SnapshotReader> {
        let begun = "BEGIN ISOLATION LEVEL REPEATABLE READ, READ ONLY";
        let mut transaction = self.pool.begin_with(begun).await?;
        // What it sees is settled by its first statement.
        sqlx::query("SELECT 1 FROM games LIMIT 1")
            .fetch_optional(&mut *transaction)
            .await?;
        Ok(SnapshotReader(transaction))
    }

    async fn other_sessions(&self) -> StoreResult<u64> {
        let others: i64 = sqlx::query_scalar(
            "SELECT count(*) FROM pg_stat_activity WHERE datname = current_database() \
             AND starts_with(application_name, $1) AND application_name <> current_setting('application_name')",
        )
        .bind(NAME)
        .fetch_one(&mut *self.reading().await?)
        .await?;
        Ok(others.unsigned_abs())
    }

    /// PostgreSQL checks its pages as it reads them, where its host has asked for that.
    #[expect(clippy::unused_async, reason = "SQLite's reads its file")]
    async fn verify_files(&self) -> StoreResult<()> {
        Ok(())
    }
}

/// What sessions are known by in PostgreSQL's own lists, the same for all sessions of one process only.
fn own_name() -> String {
    let drawn: u32 = rand::random();
    format!("{NAME} {} {drawn:08x}", std::process::id())
}

/// What every session is set to: durable whatever the server's default, and never stuck for ever
/// behind a process that has vanished with its machine.
const SESSION: [(&str, &str); 4] = [
    ("synchronous_commit", "on"),
    ("statement_timeout", "30s"),
    ("lock_timeout", "20s"),
    ("idle_in_transaction_session_timeout", "30s"),
];

/// How the statements of many rows are planned: once, and by the keys that all their rows name, whatever the tables
/// held at that moment. A plan made while a table was small would read all of it long after it has grown.
const BY_KEYS: [(&str, &str); 4] = [
    ("plan_cache_mode", "force_generic_plan"),
    ("enable_seqscan", "off"),
    ("enable_hashjoin", "off"),
    ("enable_mergejoin", "off"),
];

/// A session of its own for somebody who asks for many, so that each of those statements is prepared once. It is
/// used by tasks that nobody can cancel: whether it is fit is only asked after it has been idle.
fn own_session(options: &PgConnectOptions) -> sqlx::Pool<Postgres> {
    const IDLE: Duration = Duration::from_secs(1);
    PoolOptions::new()
        .max_connections(1)
        .acquire_timeout(Duration::from_secs(10))
        .test_before_acquire(false)
        .before_acquire(|connection: &mut PgConnection, used| {
            Box::pin(async move {
                match used.idle_for < IDLE && !connection.is_in_transaction() {
                    true => Ok(true),
                    false => is_fit(connection).await,
                }
            })
        })
        .connect_lazy_with(options.clone().options(SESSION).options(BY_KEYS))
}

/// Brings the database up to date under sqlx's advisory lock, on a session without time-outs: whoever
/// starts second waits for as long as the first takes.
async fn migrate(options: &PgConnectOptions) -> StoreResult<()> {
    let mut connection = options.connect().await?;
    let fsync: String = sqlx::query_scalar("SHOW fsync")
        .fetch_one(&mut connection)
        .await?;
    if fsync != "on" {
        return Err(sqlx::Error::Configuration(
            "the PostgreSQL server runs with fsync = off: an answered posting could be lost".into(),
        )
        .into());
    }
    migrations::migrator(migrations::POSTGRES)
        .run_direct(None, &mut connection, false)
        .await?;
    connection.close().await?;
    Ok(())
}

/// Whether a pooled connection is alive and in no transaction. In one that somebody left open
/// `now()` is when it began; asked in the simple protocol, it is else the start of this very statement.
/// (A `ROLLBACK` would do as well, but PostgreSQL logs a warning for each that was not needed.)
async fn is_fit(connection: &mut PgConnection) -> Result<bool, sqlx::Error> {
    if connection.is_in_transaction() {
        return Ok(false);
    }
    let row = sqlx::raw_sql("SELECT now() = statement_timestamp() AS fit")
        .fetch_one(connection)
        .await?;
    row.try_get("fit")
}

/// Writes something in a transaction of its own, begun so, and announces what it appended.
async fn write_and_announce<W: Write>(
    pool: &sqlx::Pool<Postgres>,
    notifier: &Notifier,
    begin: &'static str,
    work: &W,
) -> StoreResult<W::Answer> {
    let answer = write_with_retries(pool, begin, work).await?;
    if let Some((game, number)) = work.news() {
        notifier.announce(game, number);
    }
    Ok(answer)
}

async fn write_with_retries<W: Write>(
    pool: &sqlx::Pool<Postgres>,
    begin: &'static str,
    work: &W,
) -> StoreResult<W::Answer> {
    let mut tries = 1;
    loop {
        match once(pool, begin, work).await {
            Err(error) if error.is_retryable() && tries < ATTEMPTS_MAX => {
                debug!(%error, tries, "a transaction is run again");
                tokio::time::sleep(pause(tries)).await;
                tries += 1;
            }
            outcome => return outcome,
        }
    }
}

async fn once<W: Write>(
    pool: &sqlx::Pool<Postgres>,
    begin: &'static str,
    work: &W,
) -> StoreResult<W::Answer> {
    if mutant::is("no-transaction") {
        return work.write(&mut *pool.acquire().await?).await;
    }
    let mut transaction = pool.begin_with(begin).await?;
    match work.write(&mut transaction).await {
        Ok(answer) => {
            transaction.commit().await?;
            Ok(answer)
        }
        Err(error) => {
            // Its locks are let go before anybody reads again; if it fails, the connection is not fit and goes.
            let _ = transaction.rollback().await;
            Err(error)
        }
    }
}

/// A random time that doubles, so that two who met do not meet again.
fn pause(tries: u32) -> Duration {
    let most = 10_u64 << tries;
    Duration::from_millis(rand::random_range(1..=most))
}

/// Waits until no other transaction is open that asked for the same or for [`lock_keys`].
async fn lock_exclusive(connection: &mut PgConnection) -> StoreResult<()> {
    sqlx::query("SELECT pg_advisory_xact_lock(7379540980639231859)")
        .execute(connection)
        .await?;
    Ok(())
}

/// Waits until no transaction is open in which keys end, and lets none begin. Where both locks are taken, the exclusive
/// one comes first.
async fn lock_keys(connection: &mut PgConnection) -> StoreResult<()> {
    sqlx::query("SELECT pg_advisory_xact_lock_shared(7379540980639231859)")
        .execute(connection)
        .await?;
    Ok(())
}

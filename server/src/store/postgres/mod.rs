//! Games in PostgreSQL, shared by any number of server processes.

mod herald;
#[path = "../queries/mod.rs"]
mod queries;
mod scribe;

use std::str::FromStr;
use std::sync::Arc;
use std::time::Duration;

use sqlx::pool::{PoolConnection, PoolOptions};
use sqlx::postgres::{PgConnectOptions, PgConnection};
use sqlx::{ConnectOptions, Connection, Postgres, Row};
use tracing::debug;

use super::{Append, Bulletin, StoreError, Stored, migrations, mutant};
use herald::Herald;
use queries::{Frozen, PostingVisiting, Together, Visiting, Write};
use scribe::Scribe;

type Db = Postgres;
type Backend = PostgresStore;

const NAME: &str = "fieldpost-server";
/// Rows that somebody else is taking are left to them.
const SKIP_LOCKED: &str = "FOR UPDATE SKIP LOCKED";

/// How often a transaction is run when PostgreSQL asks for it to be run again.
const TRIES: u32 = 5;
/// Any number, as long as every server takes the same: held in a transaction that must be the only one of its kind.
const ALONE: i64 = 0x6669_656c_6470_6f73;

/// Games in PostgreSQL.
pub struct PostgresStore {
    pool: sqlx::Pool<Postgres>,
    /// One session each, for those who ask for many.
    own: [sqlx::Pool<Postgres>; 3],
    herald: Herald,
    scribe: Scribe,
    visitings: Together<Visiting>,
    posting_visitings: Together<PostingVisiting>,
}

impl PostgresStore {
    /// Connects to the database that a `postgres://` URL names and brings it up to date; servers that
    /// start together wait for each other.
    ///
    /// # Errors
    /// When it cannot be reached, or would answer before what it was told is on its disk.
    pub async fn open(url: &str, connections: u32) -> Stored<Self> {
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
        let [scribes, visits, postings] = own.clone();
        let herald = Herald::start(options, pool.clone());
        Ok(Self {
            scribe: Scribe::start(scribes, pool.clone(), herald.clone()),
            visitings: Together::start(visits),
            posting_visitings: Together::start(postings),
            own,
            pool,
            herald,
        })
    }

    async fn reading(&self) -> Stored<PoolConnection<Postgres>> {
        Ok(self.pool.acquire().await?)
    }

    /// In a task of its own, so that a caller who hangs up cannot cut a transaction in two: a `BEGIN`
    /// cancelled half way leaves a connection on which later writes are answered and then lost.
    async fn write<W: Write>(&self, work: W) -> Stored<W::Answer> {
        let (pool, herald) = (self.pool.clone(), self.herald.clone());
        tokio::spawn(async move { alone_and_told(&pool, &herald, &work).await }).await?
    }

    async fn append_soon(&self, append: Arc<Append>) -> Stored<()> {
        self.scribe.append(append).await
    }

    fn visitings(&self) -> &Together<Visiting> {
        &self.visitings
    }

    fn posting_visitings(&self) -> &Together<PostingVisiting> {
        &self.posting_visitings
    }

    async fn let_go(&self) {
        self.herald.stop();
        for pool in self.own.iter().chain([&self.pool]) {
            pool.close().await;
        }
    }

    fn board(&self) -> &Bulletin {
        self.herald.bulletin()
    }

    /// Never: PostgreSQL ends by itself when its disk fails it.
    async fn until_given_up(&self) -> StoreError {
        std::future::pending().await
    }

    async fn frozen(&self) -> Stored<Frozen> {
        let begun = "BEGIN ISOLATION LEVEL REPEATABLE READ, READ ONLY";
        let mut transaction = self.pool.begin_with(begun).await?;
        // What it sees is settled by its first statement.
        sqlx::query("SELECT 1 FROM games LIMIT 1")
            .fetch_optional(&mut *transaction)
            .await?;
        Ok(Frozen(transaction))
    }

    async fn other_sessions(&self) -> Stored<u64> {
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
    async fn verify_files(&self) -> Stored<()> {
        Ok(())
    }
}

/// What sessions are known by in PostgreSQL's own lists, the same for all sessions of one process only.
fn own_name() -> String {
    let drawn = getrandom::u32().unwrap_or_default();
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
async fn migrate(options: &PgConnectOptions) -> Stored<()> {
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

/// Writes something in a transaction of its own and announces what it appended.
async fn alone_and_told<W: Write>(
    pool: &sqlx::Pool<Postgres>,
    herald: &Herald,
    work: &W,
) -> Stored<W::Answer> {
    let answer = as_often_as_needed(pool, work).await?;
    if let Some((game, number)) = work.news() {
        herald.announce(game, number);
    }
    Ok(answer)
}

async fn as_often_as_needed<W: Write>(pool: &sqlx::Pool<Postgres>, work: &W) -> Stored<W::Answer> {
    let mut tries = 1;
    loop {
        match once(pool, work).await {
            Err(error) if error.is_passing() && tries < TRIES => {
                debug!(%error, tries, "a transaction is run again");
                tokio::time::sleep(pause(tries)).await;
                tries += 1;
            }
            outcome => return outcome,
        }
    }
}

async fn once<W: Write>(pool: &sqlx::Pool<Postgres>, work: &W) -> Stored<W::Answer> {
    if mutant::is("no-transaction") {
        return work.write(&mut *pool.acquire().await?).await;
    }
    let mut transaction = pool.begin().await?;
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
    let drawn = getrandom::u64().unwrap_or(most);
    Duration::from_millis(1 + drawn % most)
}

/// Waits until no other transaction that asked for the same is open.
async fn alone(connection: &mut PgConnection) -> Stored<()> {
    sqlx::query("SELECT pg_advisory_xact_lock($1)")
        .bind(ALONE)
        .execute(connection)
        .await?;
    Ok(())
}

//! The one writer of a file: several would only wait for each other, and longer (2.6 s against 0.16 s).
//!
//! Writes queue; those that wait when it is free share one transaction and so one flush to the disk, each of
//! them undone by itself when it fails, so that it leaves no trace and hinders no other. Appends to different
//! games share their statements too: to send one to SQLite's thread costs more than what it does.
//! Nobody is answered before the commit.

use std::collections::{BTreeMap, BTreeSet};
use std::sync::Arc;

use async_trait::async_trait;
use sqlx::Connection;
use sqlx::sqlite::{SqliteConnectOptions, SqliteConnection};
use tokio::sync::{mpsc, oneshot, watch};
use tracing::warn;

use super::connect;
use super::queries::{Write, append_all};
use crate::store::{Append, GameId, StoreError, StoreResult, Subscriptions, mutant};

/// Writes that may share a commit.
const BATCH_MAX: usize = 64;
/// Writes that may queue before whoever brings more has to wait.
const QUEUE_MAX: usize = 1024;

pub(super) struct Writer {
    queue: mpsc::Sender<Request>,
    given_up: watch::Receiver<Option<StoreError>>,
}

enum Request {
    Write(Box<dyn Job>),
    Stop(oneshot::Sender<()>),
}

impl Writer {
    pub(super) fn start(
        options: SqliteConnectOptions,
        connection: SqliteConnection,
        subscriptions: Subscriptions,
    ) -> Self {
        let (queue, requests) = mpsc::channel(QUEUE_MAX);
        let (giving_up, given_up) = watch::channel(None);
        let task = WriterTask {
            giving_up,
            options,
            connection: Some(connection),
            subscriptions,
        };
        tokio::spawn(task.work(requests));
        Self { queue, given_up }
    }

    pub(super) async fn write<W: Write>(&self, work: W) -> StoreResult<W::Answer> {
        let (reply, answer) = oneshot::channel();
        let done = None;
        self.queue(Box::new(Queued { work, done, reply })).await?;
        answer.await.map_err(|_| closed())?
    }

    pub(super) async fn append(&self, append: Arc<Append>) -> StoreResult<()> {
        let (reply, answer) = oneshot::channel();
        let done = None;
        let job = Appending {
            append,
            done,
            reply,
        };
        self.queue(Box::new(job)).await?;
        answer.await.map_err(|_| closed())?
    }

    async fn queue(&self, job: Box<dyn Job>) -> StoreResult<()> {
        let queued = self.queue.send(Request::Write(job)).await;
        queued.map_err(|_| closed())
    }

    /// Waits until a flush has failed. What the system then still holds in memory may count as flushed the next
    /// time although it never was: nothing written from now on could be vouched for.
    pub(super) async fn given_up(&self) -> StoreError {
        let mut given_up = self.given_up.clone();
        let waited = given_up.wait_for(Option::is_some).await;
        let why = waited.ok().and_then(|why| why.clone());
        match why {
            Some(why) => why,
            // It was closed in good order.
            None => std::future::pending().await,
        }
    }

    /// Waits until what has queued is written and the file is let go.
    pub(super) async fn close(&self) {
        let (stopped, wait) = oneshot::channel();
        if self.queue.send(Request::Stop(stopped)).await.is_ok() {
            // An error means that it has stopped.
            let _ = wait.await;
        }
    }
}

fn closed() -> StoreError {
    sqlx::Error::PoolClosed.into()
}

/// A write that waits for its turn, whatever it answers.
#[async_trait]
trait Job: Send {
    /// Writes it; whether it succeeded, as far as it alone is concerned.
    async fn run(&mut self, connection: &mut SqliteConnection) -> Result<(), StoreError>;

    /// Answers it once the fate of its transaction is known.
    fn answer(self: Box<Self>, committed: StoreResult<()>);

    /// What it appended.
    fn news(&self) -> Option<(GameId, u64)>;

    /// The append that it is, if that is all.
    fn append(&self) -> Option<&Arc<Append>> {
        None
    }

    /// Takes what became of its append, written together with others.
    fn set_outcome(&mut self, _: StoreResult<()>) {}
}

struct Queued<W: Write> {
    work: W,
    done: Option<StoreResult<W::Answer>>,
    reply: oneshot::Sender<StoreResult<W::Answer>>,
}

#[async_trait]
impl<W: Write> Job for Queued<W> {
    async fn run(&mut self, connection: &mut SqliteConnection) -> Result<(), StoreError> {
        let done = self.work.write(connection).await;
        let outcome = done.as_ref().map(|_| ()).map_err(Clone::clone);
        self.done = Some(done);
        outcome
    }

    fn answer(self: Box<Self>, committed: StoreResult<()>) {
        // Whoever asked may have gone; the write holds all the same.
        let _ = self.reply.send(outcome(committed, self.done));
    }

    fn news(&self) -> Option<(GameId, u64)> {
        self.work
            .news()
            .filter(|_| matches!(self.done, Some(Ok(_))))
    }
}

/// An append that waits for its turn, alone or with others.
struct Appending {
    append: Arc<Append>,
    done: Option<StoreResult<()>>,
    reply: oneshot::Sender<StoreResult<()>>,
}

#[async_trait]
impl Job for Appending {
    async fn run(&mut self, connection: &mut SqliteConnection) -> Result<(), StoreError> {
        let done = self.append.write(connection).await;
        self.done = Some(done.clone());
        done
    }

    fn answer(self: Box<Self>, committed: StoreResult<()>) {
        // Whoever asked may have gone; the append holds all the same.
        let _ = self.reply.send(outcome(committed, self.done));
    }

    fn news(&self) -> Option<(GameId, u64)> {
        self.append
            .news()
            .filter(|_| matches!(self.done, Some(Ok(()))))
    }

    fn append(&self) -> Option<&Arc<Append>> {
        Some(&self.append)
    }

    fn set_outcome(&mut self, outcome: StoreResult<()>) {
        self.done = Some(outcome);
    }
}

/// What becomes of a write whose transaction's fate is known.
fn outcome<T>(committed: StoreResult<()>, done: Option<StoreResult<T>>) -> StoreResult<T> {
    match (committed, done) {
        (_, Some(Err(own))) => Err(own),
        (Err(shared), _) => Err(shared),
        (Ok(()), Some(done)) => done,
        (Ok(()), None) => Err(StoreError::NotRun),
    }
}

/// Where the writing is done.
struct WriterTask {
    options: SqliteConnectOptions,
    /// Absent after a failure: a connection whose commit failed is in no state to go on.
    connection: Option<SqliteConnection>,
    subscriptions: Subscriptions,
    giving_up: watch::Sender<Option<StoreError>>,
}

impl WriterTask {
    async fn work(mut self, mut requests: mpsc::Receiver<Request>) {
        let mut stopped = None;
        while stopped.is_none() {
            let mut jobs = match requests.recv().await {
                Some(Request::Write(job)) => vec![job],
                Some(Request::Stop(reply)) => {
                    stopped = Some(reply);
                    break;
                }
                None => break,
            };
            let committed = self.together(&mut jobs, &mut requests, &mut stopped).await;
            if let Err(error) = &committed {
                warn!(%error, writes = jobs.len(), "nothing was written");
                self.connection = None;
            }
            if let Err(error @ StoreError::Unsynced(_)) = &committed {
                self.giving_up.send_replace(Some(error.clone()));
            }
            for job in jobs {
                if let (Ok(()), Some((game, number))) = (&committed, job.news()) {
                    self.subscriptions.announce(game, number);
                }
                job.answer(committed.clone());
            }
        }
        if let Some(connection) = self.connection.take() {
            // Closing folds the log into the file; if it cannot, the next start does.
            let _ = connection.close().await;
        }
        if let Some(reply) = stopped {
            let _ = reply.send(());
        }
    }

    /// Writes the jobs, and those that come meanwhile, in one transaction.
    async fn together(
        &mut self,
        jobs: &mut Vec<Box<dyn Job>>,
        requests: &mut mpsc::Receiver<Request>,
        stopped: &mut Option<oneshot::Sender<()>>,
    ) -> StoreResult<()> {
        if let Some(why) = &*self.giving_up.borrow() {
            return Err(why.clone());
        }
        let connection = match &mut self.connection {
            Some(connection) => connection,
            none => none.insert(connect(&self.options).await?),
        };
        if mutant::is("no-transaction") {
            for job in jobs {
                // Each answers for itself.
                let _ = job.run(connection).await;
            }
            return Ok(());
        }
        let mut transaction = Transaction::new(connection);
        let mut written = 0;
        loop {
            while jobs.len() < BATCH_MAX && stopped.is_none() {
                match requests.try_recv() {
                    Ok(Request::Write(job)) => jobs.push(job),
                    Ok(Request::Stop(reply)) => *stopped = Some(reply),
                    Err(_) => break,
                }
            }
            if written == jobs.len() {
                break;
            }
            all(&mut transaction, &mut jobs[written..]).await?;
            written = jobs.len();
        }
        if mutant::is("answer-first") {
            for job in jobs.drain(..) {
                job.answer(Ok(()));
            }
            // As on a slow disk.
            tokio::time::sleep(std::time::Duration::from_millis(20)).await;
        }
        transaction.commit().await
    }
}

/// A transaction in which writes have savepoints. Every statement is a way to SQLite's thread and back, so they
/// are sent together where they follow each other; the last savepoint is let go with the commit.
struct Transaction<'c> {
    connection: &'c mut SqliteConnection,
    state: State,
}

#[derive(Clone, Copy, PartialEq, Eq)]
enum State {
    NotBegun,
    Begun,
    BehindSavepoint,
}

impl<'c> Transaction<'c> {
    fn new(connection: &'c mut SqliteConnection) -> Self {
        let state = State::NotBegun;
        Self { connection, state }
    }

    /// A connection to write with. What is first needs no savepoint, for which SQLite would copy every page that is
    /// written, if `whole`: to undo it is to undo all.
    async fn turn(&mut self, whole: bool) -> StoreResult<&mut SqliteConnection> {
        // Holds the write lock from its start: a transaction that takes it later fails at once when it has
        // read before, whatever the busy timeout.
        let (turned, state) = match self.state {
            State::NotBegun if whole => ("BEGIN IMMEDIATE", State::Begun),
            State::NotBegun => ("BEGIN IMMEDIATE; SAVEPOINT write", State::BehindSavepoint),
            State::Begun => ("SAVEPOINT write", State::BehindSavepoint),
            State::BehindSavepoint => ("RELEASE write; SAVEPOINT write", State::BehindSavepoint),
        };
        execute(self.connection, turned).await?;
        self.state = state;
        Ok(self.connection)
    }

    /// Undoes what was written in this turn. An error here is the whole transaction's: SQLite rolls all of it back
    /// when, for one, the disk is full, and then the savepoint is gone.
    async fn undo(&mut self) -> StoreResult<()> {
        match self.state {
            State::BehindSavepoint => execute(self.connection, "ROLLBACK TO write").await,
            State::Begun | State::NotBegun => {
                self.state = State::NotBegun;
                execute(self.connection, "ROLLBACK").await
            }
        }
    }

    async fn commit(self) -> StoreResult<()> {
        match self.state {
            // All of it was undone, and nothing else came.
            State::NotBegun => Ok(()),
            State::Begun | State::BehindSavepoint => execute(self.connection, "COMMIT").await,
        }
    }
}

/// Runs writes: appends together where they can be, everything else one by one.
async fn all(transaction: &mut Transaction<'_>, jobs: &mut [Box<dyn Job>]) -> StoreResult<()> {
    let mut appends = BTreeMap::new();
    for (place, job) in jobs.iter().enumerate() {
        if let Some(append) = job.append() {
            // Who is second to append to the same game is overtaken, which it finds out by itself.
            appends
                .entry(append.game)
                .or_insert((place, Arc::clone(append)));
        }
    }
    let mut done_together = BTreeSet::new();
    if appends.len() > 1 {
        let (places, appends): (Vec<_>, Vec<_>) = appends.into_values().unzip();
        if let Some(held) = shared(transaction, &appends).await? {
            for (place, held) in places.into_iter().zip(held) {
                jobs[place].set_outcome(held);
                done_together.insert(place);
            }
        }
    }
    for (place, job) in jobs.iter_mut().enumerate() {
        if !done_together.contains(&place) {
            one(transaction, job.as_mut()).await?;
        }
    }
    Ok(())
}

/// Runs appends in one turn; which of them hold, if none stood in the way of all.
async fn shared(
    transaction: &mut Transaction<'_>,
    appends: &[Arc<Append>],
) -> StoreResult<Option<Vec<StoreResult<()>>>> {
    let appends: Vec<&Append> = appends.iter().map(|append| &**append).collect();
    match append_all(transaction.turn(true).await?, &appends).await {
        Ok(held) => Ok(Some(held)),
        Err(why) => {
            transaction.undo().await.map_err(|_| why)?;
            Ok(None)
        }
    }
}

/// Runs one write behind its savepoint.
async fn one(transaction: &mut Transaction<'_>, job: &mut dyn Job) -> StoreResult<()> {
    if let Err(own) = job.run(transaction.turn(false).await?).await {
        transaction.undo().await.map_err(|_| own)?;
    }
    Ok(())
}

async fn execute(connection: &mut SqliteConnection, sql: &'static str) -> StoreResult<()> {
    sqlx::raw_sql(sql).execute(connection).await?;
    Ok(())
}

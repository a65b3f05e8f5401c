//! Readings that come while another is on its way are read together, in one statement: to send a statement
//! and wait for its answer costs more than what it reads. A statement is begun after all who share it have asked,
//! so each is answered with everything that was durable when they did; nothing is cached from one to the next.

use std::time::Duration;

use async_trait::async_trait;
use sqlx::query_builder::Separated;
use sqlx::{Pool, QueryBuilder};
use tokio::sync::{mpsc, oneshot};

use super::{Db, DbConnection, push_rows};
use crate::store::{StoreError, StoreResult};

/// Readings in one statement.
const BATCH_MAX: usize = 64;
/// Readings that may queue before whoever brings more has to wait.
const QUEUE_MAX: usize = 1024;
/// How long a statement may take before its connection is given up.
const TIMEOUT: Duration = Duration::from_secs(30);

/// A query that may share a statement with others of its kind.
#[async_trait]
pub(crate) trait BatchQuery: Send + Sync + Sized + 'static {
    /// What is answered.
    type Answer: Send + 'static;

    /// Reads the answers to several, in their order.
    async fn read(
        queries: &[Self],
        connection: &mut DbConnection,
    ) -> StoreResult<Vec<Self::Answer>>;
}

type Waiting<A> = (A, oneshot::Sender<StoreResult<<A as BatchQuery>::Answer>>);

/// Where queries of one kind gather.
pub(crate) struct Batch<A: BatchQuery> {
    queue: mpsc::Sender<Waiting<A>>,
}

impl<A: BatchQuery> Batch<A> {
    pub(crate) fn start(pool: Pool<Db>) -> Self {
        let (queue, waiting) = mpsc::channel(QUEUE_MAX);
        tokio::spawn(work(pool, waiting));
        Self { queue }
    }

    pub(super) async fn read(&self, query: A) -> StoreResult<A::Answer> {
        let (reply, answer) = oneshot::channel();
        let closed = || StoreError::from(sqlx::Error::PoolClosed);
        self.queue
            .send((query, reply))
            .await
            .map_err(|_| closed())?;
        answer.await.map_err(|_| closed())?
    }
}

async fn work<A: BatchQuery>(pool: Pool<Db>, mut waiting: mpsc::Receiver<Waiting<A>>) {
    let mut taken = Vec::with_capacity(BATCH_MAX);
    while waiting.recv_many(&mut taken, BATCH_MAX).await > 0 {
        let still_there = taken.drain(..).filter(|(_, reply)| !reply.is_closed());
        let (queries, replies): (Vec<_>, Vec<_>) = still_there.unzip();
        // In a task of its own, so that a panic is the trouble of those who share it and of nobody after them.
        let read = tokio::spawn(once(pool.clone(), queries)).await;
        match read.unwrap_or_else(|error| Err(error.into())) {
            Ok(answers) => {
                for (reply, answer) in replies.into_iter().zip(answers) {
                    // Whoever asked may have gone.
                    let _ = reply.send(Ok(answer));
                }
            }
            Err(error) => {
                for reply in replies {
                    let _ = reply.send(Err(error.clone()));
                }
            }
        }
    }
}

async fn once<A: BatchQuery>(pool: Pool<Db>, queries: Vec<A>) -> StoreResult<Vec<A::Answer>> {
    if queries.is_empty() {
        return Ok(Vec::new());
    }
    let read = on_one_connection(&pool, &queries).await;
    match read {
        Ok(Err(_)) => on_one_connection(&pool, &queries).await,
        read => read,
    }
    .unwrap_or_else(Err)
}

/// Reads on a connection that is given up when that fails. The outer error is final: there was no connection, or no
/// answer in time. After the inner one a second try is worth it: the connection may have ended since it was last used.
async fn on_one_connection<A: BatchQuery>(
    pool: &Pool<Db>,
    queries: &[A],
) -> Result<StoreResult<Vec<A::Answer>>, StoreError> {
    let mut connection = pool.acquire().await?;
    let read = tokio::time::timeout(TIMEOUT, A::read(queries, &mut connection)).await;
    if !matches!(read, Ok(Ok(_))) {
        connection.close_on_drop();
    }
    read.map_err(|_| sqlx::Error::PoolTimedOut.into())
}

/// Pushes `(VALUES …)`, a row for each that is asked, of its number and what `push` adds.
pub(super) fn push_queries<T>(
    query: &mut QueryBuilder<Db>,
    queries: &[T],
    mut push: impl FnMut(&mut Separated<'_, Db, &'static str>, Option<&T>),
) {
    let mut number = 0_i64;
    push_rows(query, queries, |row, query| {
        number += 1;
        row.push_bind(number);
        push(row, query);
    });
}

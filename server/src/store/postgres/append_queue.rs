//! Appends that come while others are being written share the next transaction: one flush and a few statements
//! for all of them. Nobody is answered before the commit, and one that was overtaken hinders no other.

use std::collections::BTreeSet;
use std::sync::Arc;

use sqlx::{Pool, Postgres};
use tokio::sync::{mpsc, oneshot};
use tracing::debug;

use super::notifier::Notifier;
use super::queries::{Write, append_all};
use super::{BEGIN_WITH_KEYS_ALONE, BEGIN_WITH_KEYS_LOCKED, write_and_announce};
use crate::store::{Append, StoreError, StoreResult, mutant};

/// Appends that may share a transaction.
const BATCH_MAX: usize = 64;
/// Appends that may queue before whoever brings more has to wait.
const QUEUE_MAX: usize = 1024;

type Queued = (Arc<Append>, oneshot::Sender<StoreResult<()>>);

pub(super) struct AppendQueue {
    queue: mpsc::Sender<Queued>,
}

impl AppendQueue {
    /// Writes what comes together in a session of its own, and what is alone in one of the pool's.
    pub(super) fn start(own: Pool<Postgres>, pool: Pool<Postgres>, notifier: Notifier) -> Self {
        let (queue, queued) = mpsc::channel(QUEUE_MAX);
        tokio::spawn(work(
            Writing {
                own,
                pool,
                notifier,
            },
            queued,
        ));
        Self { queue }
    }

    /// Goes on to its end even if whoever asked does not wait for it.
    pub(super) async fn append(&self, append: Arc<Append>) -> StoreResult<()> {
        let (reply, answer) = oneshot::channel();
        let closed = || StoreError::from(sqlx::Error::PoolClosed);
        self.queue
            .send((append, reply))
            .await
            .map_err(|_| closed())?;
        answer.await.map_err(|_| closed())?
    }
}

/// Where the writing is done.
#[derive(Clone)]
struct Writing {
    own: Pool<Postgres>,
    pool: Pool<Postgres>,
    notifier: Notifier,
}

async fn work(writing: Writing, mut queued: mpsc::Receiver<Queued>) {
    let mut taken = Vec::with_capacity(BATCH_MAX);
    while queued.recv_many(&mut taken, BATCH_MAX).await > 0 {
        // Who is second to append to the same game is overtaken, which it finds out by itself. Keys end alone.
        let mut games = BTreeSet::new();
        let (mut together, seconds): (Vec<_>, Vec<_>) = taken
            .drain(..)
            .partition(|(append, _)| !append.ends_keys() && games.insert(append.game));
        // Whoever else writes to the same games, in another process, comes to them in the same order.
        together.sort_by_key(|(append, _)| append.game);
        // In a task of its own, so that a panic is the trouble of those who share it and of nobody after them.
        let _ = tokio::spawn(writing.clone().all(together)).await;
        writing.each_alone(seconds);
    }
}

impl Writing {
    async fn all(self, queued: Vec<Queued>) {
        if queued.len() == 1 || mutant::is("no-transaction") {
            return self.each_alone(queued);
        }
        let appends: Vec<&Append> = queued.iter().map(|(append, _)| &**append).collect();
        match self.written(&appends).await {
            Ok(Some(held)) => {
                for ((append, reply), held) in queued.into_iter().zip(held) {
                    if held.is_ok() {
                        self.announce(&append);
                    }
                    // Whoever asked may have gone; the append holds all the same.
                    let _ = reply.send(held);
                }
            }
            Ok(None) => self.each_alone(queued),
            Err(error) => {
                for (_, reply) in queued {
                    let _ = reply.send(Err(error.clone()));
                }
            }
        }
    }

    /// Which of the appends hold, once they are durable; none of them does when one stood in the way of all.
    async fn written(&self, appends: &[&Append]) -> StoreResult<Option<Vec<StoreResult<()>>>> {
        let mut transaction = self.own.begin_with(BEGIN_WITH_KEYS_LOCKED).await?;
        match append_all(&mut transaction, appends).await {
            Ok(held) => {
                transaction.commit().await?;
                Ok(Some(held))
            }
            Err(error) => {
                debug!(%error, appends = appends.len(), "appends are written one by one");
                // If it fails, the connection is not fit and goes.
                let _ = transaction.rollback().await;
                Ok(None)
            }
        }
    }

    /// Each in a transaction and a task of its own.
    fn each_alone(&self, queued: Vec<Queued>) {
        for (append, reply) in queued {
            let writing = self.clone();
            tokio::spawn(async move {
                let (pool, notifier) = (&writing.pool, &writing.notifier);
                let begin = match append.ends_keys() {
                    true => BEGIN_WITH_KEYS_ALONE,
                    false => BEGIN_WITH_KEYS_LOCKED,
                };
                let answer = write_and_announce(pool, notifier, begin, &*append).await;
                // Whoever asked may have gone; the append holds all the same.
                let _ = reply.send(answer);
            });
        }
    }

    fn announce(&self, append: &Append) {
        if let Some((game, number)) = append.news() {
            self.notifier.announce(game, number);
        }
    }
}

//! Notifies other processes of what was appended, and is notified by them.
//!
//! `NOTIFY` is a hint and may be lost: when its connection breaks, when the process that appended dies
//! before it has notified, or for ever on a link that went silent. So the heads of watched games are also
//! polled, and the listening connection is asked for a sign of life.

use std::time::Duration;

use sqlx::Postgres;
use sqlx::pool::PoolOptions;
use sqlx::postgres::{PgConnectOptions, PgListener};
use sqlx::{Pool, Row};
use tokio::sync::mpsc;
use tokio::task::AbortHandle;
use tokio::time::{Instant, timeout};
use tracing::{debug, warn};

use crate::store::{GameId, Subscriptions};

const CHANNEL: &str = "fieldpost_appended";
/// How often the heads of watched games are read whatever was received.
const POLL: Duration = Duration::from_secs(5);
/// Silence after which the listening connection is asked whether it lives.
const SILENCE: Duration = Duration::from_secs(30);
/// How long anything here may take before its connection is given up.
const TIMEOUT: Duration = Duration::from_secs(10);
/// Announcements in one notification: less than 8,000 bytes, which PostgreSQL takes.
const BATCH_MAX: usize = 128;

type News = (GameId, u64);

#[derive(Clone)]
pub(super) struct Notifier {
    subscriptions: Subscriptions,
    outbox: mpsc::UnboundedSender<News>,
    tasks: [AbortHandle; 3],
}

impl Notifier {
    pub(super) fn start(options: PgConnectOptions, pool: Pool<Postgres>) -> Self {
        let subscriptions = Subscriptions::new();
        let (outbox, queued) = mpsc::unbounded_channel();
        let tasks = [
            tokio::spawn(notify(options.clone(), queued)).abort_handle(),
            tokio::spawn(listen(options, subscriptions.clone())).abort_handle(),
            tokio::spawn(poll(pool, subscriptions.clone())).abort_handle(),
        ];
        Self {
            subscriptions,
            outbox,
            tasks,
        }
    }

    /// Announces what was appended, here at once and elsewhere soon.
    pub(super) fn announce(&self, game: GameId, number: u64) {
        self.subscriptions.announce(game, number);
        // Nobody notifies any more once the store is being closed.
        let _ = self.outbox.send((game, number));
    }

    pub(super) fn subscriptions(&self) -> &Subscriptions {
        &self.subscriptions
    }

    pub(super) fn stop(&self) {
        for task in &self.tasks {
            task.abort();
        }
    }
}

/// Notifies the other processes. Not within the transaction that appends: PostgreSQL holds one lock over all
/// commits that notify, which would undo their sharing of a flush. And since it is only a hint, it need
/// not be flushed at all.
async fn notify(options: PgConnectOptions, mut queued: mpsc::UnboundedReceiver<News>) {
    let options = options.options([("synchronous_commit", "off"), ("statement_timeout", "10s")]);
    let pool = single(options);
    let mut news = Vec::new();
    while queued.recv_many(&mut news, BATCH_MAX).await > 0 {
        let payload = payload(&news);
        news.clear();
        let notifying = sqlx::query("SELECT pg_notify($1, $2)")
            .bind(CHANNEL)
            .bind(payload)
            .execute(&pool);
        match timeout(TIMEOUT, notifying).await {
            Ok(Ok(_)) => {}
            Ok(Err(error)) => debug!(%error, "other servers were not notified"),
            Err(_) => debug!("other servers were not notified in time"),
        }
    }
}

/// Receives what other processes send, for as long as this one lives.
async fn listen(options: PgConnectOptions, subscriptions: Subscriptions) {
    let pool = single(options);
    loop {
        if let Err(error) = receive(&pool, &subscriptions).await {
            warn!(%error, "notifications of other servers are not received at the moment");
        }
        tokio::time::sleep(Duration::from_secs(1)).await;
    }
}

/// Receives until the connection fails or is silent for too long.
async fn receive(pool: &Pool<Postgres>, subscriptions: &Subscriptions) -> Result<(), sqlx::Error> {
    let mut listener = PgListener::connect_with(pool).await?;
    listener.eager_reconnect(false);
    listener.listen(CHANNEL).await?;
    loop {
        match timeout(SILENCE, listener.try_recv()).await {
            Ok(Ok(Some(received))) => {
                for (game, number) in read(received.payload()) {
                    subscriptions.announce(game, number);
                }
            }
            Ok(Ok(None)) => return Ok(()),
            Ok(Err(error)) => return Err(error),
            Err(_) => {
                let alive = sqlx::query("SELECT 1").execute(&mut listener);
                timeout(TIMEOUT, alive)
                    .await
                    .map_err(|_| sqlx::Error::PoolTimedOut)??;
            }
        }
    }
}

/// Reads the heads of watched games every few seconds.
async fn poll(pool: Pool<Postgres>, subscriptions: Subscriptions) {
    let mut due = Instant::now() + POLL;
    loop {
        tokio::time::sleep_until(due).await;
        due = Instant::now() + POLL;
        match timeout(TIMEOUT, heads(&pool, &subscriptions.watched())).await {
            Ok(Ok(heads)) => {
                for (game, number) in heads {
                    subscriptions.announce(game, number);
                }
            }
            Ok(Err(error)) => debug!(%error, "the heads of watched games were not read"),
            Err(_) => debug!("the heads of watched games were not read in time"),
        }
    }
}

async fn heads(pool: &Pool<Postgres>, games: &[GameId]) -> Result<Vec<News>, sqlx::Error> {
    if games.is_empty() {
        return Ok(Vec::new());
    }
    let ids: Vec<&[u8]> = games.iter().map(|game| &game.0[..]).collect();
    let rows = sqlx::query("SELECT id, head_number FROM games WHERE id = ANY($1)")
        .bind(ids)
        .fetch_all(pool)
        .await?;
    let head = |row: &sqlx::postgres::PgRow| {
        let id: Vec<u8> = row.try_get("id").ok()?;
        let number: i64 = row.try_get("head_number").ok()?;
        Some((GameId(id.try_into().ok()?), u64::try_from(number).ok()?))
    };
    Ok(rows.iter().filter_map(head).collect())
}

/// A pool of one connection for a task of its own.
fn single(options: PgConnectOptions) -> Pool<Postgres> {
    PoolOptions::new()
        .max_connections(1)
        .acquire_timeout(TIMEOUT)
        .max_lifetime(None)
        .idle_timeout(None)
        .connect_lazy_with(options)
}

fn payload(news: &[News]) -> String {
    let queued = news.iter().map(|(game, number)| format!("{game}:{number}"));
    queued.collect::<Vec<_>>().join(" ")
}

fn read(payload: &str) -> impl Iterator<Item = News> {
    payload.split(' ').filter_map(|queued| {
        let (game, number) = queued.split_once(':')?;
        Some((game.parse().ok()?, number.parse().ok()?))
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_is_told_is_heard() {
        let news = [(GameId([0xa5; 16]), 17), (GameId([7; 16]), 1)];
        let read = |payload: &str| read(payload).collect::<Vec<_>>();
        assert_eq!(read(&payload(&news)), news);
        assert_eq!(read(&payload(&news[..1])), news[..1]);
        assert_eq!(read(&format!("a5:17 {}", payload(&news[1..]))), news[1..]);
        assert_eq!(read("a5:17"), []);
        assert_eq!(read(""), []);
    }

    #[test]
    fn the_most_that_is_told_at_once_fits_into_a_notification() {
        let longest = [(GameId([0xff; 16]), u64::MAX); BATCH_MAX];
        assert!(payload(&longest).len() < 8000);
    }
}

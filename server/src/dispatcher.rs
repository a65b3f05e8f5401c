//! The dispatcher delivers the notices that are queued, by the channels that are set up, again and again until each
//! arrives or is given up.
//!
//! A notice is queued in the very transaction of what it tells of. Every server process takes what is due, under a lease
//! in which no other process takes it, and writes down what became of it. A process that dies in between leaves it to
//! the others: a notice is delivered at least once, and nearly always once; it has the same id each time.

use std::collections::BTreeMap;
use std::sync::Arc;
use std::time::Duration;

use jiff::Timestamp;
use tokio::sync::watch;
use tokio::time::timeout;
use tracing::{error, info, warn};

use crate::backoff;
use crate::channels::{Channels, Delivery};
use crate::service::Service;
use crate::store::{NoticeOutcome, Store, StoreError, StoreResult, TakeNotices, TakenNotice};

/// Notices taken at a time. Those to one address are delivered one after the other, in the order of their events.
const BATCH_MAX: u32 = 8;
/// The lease in milliseconds: longer than delivering all of them one after the other may take.
const LEASE_MS: i64 = 300_000;
/// How long one delivery may take.
const TIMEOUT: Duration = Duration::from_secs(30);
/// How often the queue is looked at without being told to.
const POLL: Duration = Duration::from_secs(30);
/// After news, a moment in which more may come.
const SETTLE_TIME: Duration = Duration::from_millis(100);
/// How long a notice that was delivered, or given up, is kept: nobody is sent it twice.
const RETENTION_MS: i64 = 90 * 24 * 60 * 60 * 1000;
/// How often older ones are deleted, in milliseconds.
const CLEANUP_MS: i64 = 60 * 60 * 1000;

/// Delivers what is queued.
pub struct Dispatcher {
    store: Arc<dyn Store>,
    service: Arc<Service>,
    channels: Arc<Channels>,
    attempts_max: u32,
}

impl Dispatcher {
    /// A dispatcher by those channels, which tries each notice at most so many times: 1 to
    /// [`ATTEMPTS_MAX`](crate::backoff::ATTEMPTS_MAX).
    #[must_use]
    pub fn new(
        store: Arc<dyn Store>,
        service: Arc<Service>,
        channels: Arc<Channels>,
        attempts_max: u32,
    ) -> Self {
        Self {
            store,
            service,
            channels,
            attempts_max,
        }
    }

    /// Delivers what is due, until `closing` becomes true.
    pub async fn run(self: Arc<Self>, mut closing: watch::Receiver<bool>) {
        if self.channels.is_empty() {
            return;
        }
        let mut appended = self.store.subscriptions().any_game();
        let mut cleaned_at = 0;
        while !*closing.borrow() {
            let now = Timestamp::now().as_millisecond();
            if now - cleaned_at > CLEANUP_MS {
                cleaned_at = now;
                if let Err(error) = self.store.forget_notices(now - RETENTION_MS).await {
                    warn!(%error, "old notices were not forgotten");
                }
            }
            let pause = match self.round(now).await {
                Ok(0) => self.until_next(now).await,
                Ok(_) => continue,
                Err(error) => {
                    warn!(%error, "notices cannot be reached at the moment");
                    POLL
                }
            };
            tokio::select! {
                () = closed(&mut closing) => break,
                () = tokio::time::sleep(pause) => {}
                () = self.service.queued() => {}
                // The store says no more once it is closed; so is this, then.
                Ok(()) = appended.changed() => tokio::time::sleep(SETTLE_TIME).await,
            }
        }
    }

    /// Delivers some of what is due at a time in milliseconds since 1970; how many were taken.
    ///
    /// # Errors
    /// When the store fails.
    pub async fn round(self: &Arc<Self>, now: i64) -> StoreResult<usize> {
        let channels = self.channels.names();
        // Looked at first: taking is a write, and there is mostly nothing to take.
        let due = self.store.next_notice(&channels).await?;
        if due.is_none_or(|due| due > now) {
            return Ok(0);
        }
        let take = TakeNotices {
            now,
            until: now + LEASE_MS,
            channels,
            limit: BATCH_MAX,
        };
        let taken = self.store.take_notices(&take).await?;
        let count = taken.len();
        let mut by_address: BTreeMap<String, Vec<TakenNotice>> = BTreeMap::new();
        for notice in taken {
            let waiting = by_address.entry(notice.id.address.clone()).or_default();
            waiting.push(notice);
        }
        let deliveries: Vec<_> = by_address
            .into_values()
            .map(|mut notices| {
                notices.sort_by(|one, other| one.id.cmp(&other.id));
                let dispatcher = Arc::clone(self);
                // A task of its own: one that panics takes no other with it.
                tokio::spawn(async move {
                    for notice in notices {
                        dispatcher.dispatch(notice, now).await?;
                    }
                    Ok::<(), StoreError>(())
                })
            })
            .collect();
        for delivery in deliveries {
            delivery.await.map_err(StoreError::from)??;
        }
        Ok(count)
    }

    async fn until_next(&self, now: i64) -> Duration {
        let due = self.store.next_notice(&self.channels.names()).await;
        let wait = due.ok().flatten().map_or(i64::MAX, |due| due - now);
        u64::try_from(wait).map_or(SETTLE_TIME, |wait| {
            Duration::from_millis(wait).clamp(SETTLE_TIME, POLL)
        })
    }

    async fn dispatch(&self, notice: TakenNotice, now: i64) -> StoreResult<()> {
        let delivery = match timeout(TIMEOUT, self.deliver(&notice, now)).await {
            Ok(delivery) => delivery,
            Err(_) => Delivery::Failed {
                trouble: "It took too long.".to_owned(),
                wait: None,
            },
        };
        let outcome = match delivery {
            Delivery::Arrived => NoticeOutcome::Done { at: now },
            Delivery::Gone => {
                info!(channel = notice.to.channel.as_str(), game = %notice.seat.game, "an address wants no more notices");
                return self.store.remove_notice_address(&notice.to.id, now).await;
            }
            Delivery::Hopeless { trouble } => NoticeOutcome::Dead { at: now, trouble },
            Delivery::Failed { trouble, wait } => {
                let jitter = rand::random();
                match backoff::wait(notice.tries, self.attempts_max, wait, jitter) {
                    Some(wait) => NoticeOutcome::Later {
                        due_at: now + i64::try_from(wait.as_millis()).unwrap_or(i64::MAX / 2),
                        trouble,
                    },
                    None => NoticeOutcome::Dead { at: now, trouble },
                }
            }
        };
        log(&notice, &outcome);
        self.store.settle_notice(&notice, &outcome).await
    }

    async fn deliver(&self, notice: &TakenNotice, now: i64) -> Delivery {
        let failed = |trouble: &str| Delivery::Failed {
            trouble: trouble.to_owned(),
            wait: None,
        };
        let Some(channel) = self.channels.get(notice.to.channel) else {
            return failed("This server does not send that way.");
        };
        match self.service.compose(notice).await {
            Ok(Some(message)) => channel.deliver(&message, &notice.to, now).await,
            Ok(None) => Delivery::Arrived,
            Err(error) => {
                error!(game = %notice.seat.game, %error, "the news for a notice cannot be read");
                failed("The news could not be read on the server.")
            }
        }
    }
}

async fn closed(closing: &mut watch::Receiver<bool>) {
    // The sender may be gone; so is the server, then.
    let _ = closing.wait_for(|closing| *closing).await;
}

fn log(notice: &TakenNotice, outcome: &NoticeOutcome) {
    let (game, kind) = (notice.seat.game, notice.id.kind);
    let (channel, tries) = (notice.to.channel.as_str(), notice.tries);
    match outcome {
        NoticeOutcome::Done { .. } => info!(%game, %kind, channel, tries, "notice delivered"),
        NoticeOutcome::Later { trouble, .. } => {
            info!(%game, %kind, channel, tries, trouble, "notice will be tried again");
        }
        NoticeOutcome::Dead { trouble, .. } => {
            warn!(%game, %kind, channel, tries, trouble, "notice given up");
        }
    }
}

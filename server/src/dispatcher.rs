//! The dispatcher delivers the notices that are queued, by the channels that are set up, again and again until each
//! arrives or is given up.
//!
//! A notice is queued in the very transaction of what it tells of. Every server process takes what is due, under a lease
//! in which no other process takes it, and writes down what became of it. A process that dies in between leaves it to
//! the others: a notice is delivered at least once, and nearly always once; it has the same id each time.

use std::collections::{BTreeMap, VecDeque};
use std::future::Future;
use std::sync::Arc;
use std::time::{Duration, Instant};

use jiff::Timestamp;
use tokio::sync::watch;
use tokio::task::JoinSet;
use tokio::time::timeout;
use tracing::{error, info, warn};

use crate::backoff;
use crate::channels::{Channels, Delivery};
use crate::lanes::{Lane, Lanes};
use crate::measuring::MeasuringError;
use crate::service::{Service, ServiceError};
use crate::store::{NoticeOutcome, Store, StoreResult, TakeNotices, TakenNotice};

/// The lease in milliseconds: longer than a lane is kept and one delivery may take.
const LEASE_MS: i64 = 300_000;
/// How long notices to one address are delivered one after the other, in the order of their events, before the rest
/// waits for another lane.
const LANE_TIME: Duration = Duration::from_secs(60);
/// How long one delivery may take.
const TIMEOUT: Duration = Duration::from_secs(30);
/// How often the queue is looked at without being told to.
const POLL: Duration = Duration::from_secs(30);
/// The same while something is being delivered.
const LANE_POLL: Duration = Duration::from_secs(1);
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

    /// Delivers what is due, until `closing` becomes true; then what is on its way, as long as that is waited for.
    pub async fn run(self: Arc<Self>, mut closing: watch::Receiver<bool>) {
        if self.channels.is_empty() {
            return;
        }
        let mut appended = self.store.subscriptions().any_game();
        let mut under_way = UnderWay::default();
        let mut cleaned_at = 0;
        while !*closing.borrow() {
            let now = Timestamp::now().as_millisecond();
            if now - cleaned_at > CLEANUP_MS {
                cleaned_at = now;
                if let Err(error) = self.store.forget_notices(now - RETENTION_MS).await {
                    warn!(%error, "old notices were not forgotten");
                }
            }
            let pause = match self.begin(now, &mut under_way).await {
                // What waits may wait for a lane; that is heard of at once.
                Ok(0) if under_way.is_any() => self.until_next(now).await.max(LANE_POLL),
                Ok(0) => self.until_next(now).await,
                Ok(_) => SETTLE_TIME,
                Err(error) => {
                    warn!(%error, "notices cannot be reached at the moment");
                    POLL
                }
            };
            tokio::select! {
                () = closed(&mut closing) => break,
                () = tokio::time::sleep(pause) => {}
                () = self.service.queued() => {}
                // What waits behind it may go.
                true = under_way.next_ended() => {}
                // The store says no more once it is closed; so is this, then.
                Ok(()) = appended.changed() => tokio::time::sleep(SETTLE_TIME).await,
            }
        }
        while under_way.next_ended().await {}
    }

    /// Delivers some of what is due at a time in milliseconds since 1970, and waits until that is done; how many were taken.
    ///
    /// # Errors
    /// When the store fails.
    pub async fn round(self: &Arc<Self>, now: i64) -> StoreResult<usize> {
        let mut under_way = UnderWay::default();
        let count = self.begin(now, &mut under_way).await?;
        while under_way.next_ended().await {}
        Ok(count)
    }

    /// Begins to deliver what is due, as far as there are lanes for it; how many were taken.
    async fn begin(self: &Arc<Self>, now: i64, under_way: &mut UnderWay) -> StoreResult<usize> {
        let mut count = 0;
        for name in self.channels.names() {
            let Some(channel) = self.channels.get(name) else {
                continue;
            };
            let free = channel.lanes().saturating_sub(under_way.lanes.of(name));
            // Looked at first: taking is a write, and there is mostly nothing to take.
            let due = self.store.next_notice(&[name]).await?;
            if free == 0 || due.is_none_or(|due| due > now) {
                continue;
            }
            let take = TakeNotices {
                now,
                until: now + LEASE_MS,
                channels: vec![name],
                busy: under_way.lanes.addresses(),
                limit: u32::try_from(free).unwrap_or(u32::MAX),
            };
            let taken = self.store.take_notices(&take).await?;
            count += taken.len();
            let mut by_address: BTreeMap<String, Vec<TakenNotice>> = BTreeMap::new();
            for notice in taken {
                let waiting = by_address.entry(notice.id.address.clone()).or_default();
                waiting.push(notice);
            }
            for (address, mut notices) in by_address {
                notices.sort_by(|one, other| one.id.cmp(&other.id));
                let to = notices
                    .first()
                    .map_or("", |notice| notice.to.address.as_str());
                let receiver = (name, channel.receiver(to));
                if under_way.lanes.has_room(&receiver) {
                    let delivering = Arc::clone(self).deliver_all(notices, now);
                    under_way.open(Lane { address, receiver }, delivering);
                } else {
                    count -= notices.len();
                    self.put_back(&notices, now + backoff::lane_wait_ms(rand::random()))
                        .await?;
                }
            }
        }
        Ok(count)
    }

    /// Delivers notices to one address, one after the other; the longest time that one of them took.
    async fn deliver_all(
        self: Arc<Self>,
        notices: Vec<TakenNotice>,
        now: i64,
    ) -> StoreResult<Duration> {
        let (began, mut longest) = (Instant::now(), Duration::ZERO);
        let mut notices = VecDeque::from(notices);
        while let Some(notice) = notices.pop_front() {
            let this_began = Instant::now();
            self.dispatch(notice, now).await?;
            longest = longest.max(this_began.elapsed());
            if began.elapsed() > LANE_TIME {
                self.put_back(notices.make_contiguous(), now).await?;
                break;
            }
        }
        Ok(longest)
    }

    /// Leaves notices that were taken and not tried for later.
    async fn put_back(&self, notices: &[TakenNotice], due_at: i64) -> StoreResult<()> {
        for notice in notices {
            let untried = NoticeOutcome::Untried { due_at };
            self.store.settle_notice(notice, &untried).await?;
        }
        Ok(())
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
            Ok(Some(delivery)) => delivery,
            Ok(None) => return self.put_back(&[notice], now).await,
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

    /// What came of it; none when the server had no time for it, as when it stops: it was not tried then.
    async fn deliver(&self, notice: &TakenNotice, now: i64) -> Option<Delivery> {
        let failed = |trouble: &str| {
            Some(Delivery::Failed {
                trouble: trouble.to_owned(),
                wait: None,
            })
        };
        let Some(channel) = self.channels.get(notice.to.channel) else {
            return failed("This server does not send that way.");
        };
        match self.service.compose(notice).await {
            Ok(Some(message)) => Some(channel.deliver(&message, &notice.to, now).await),
            Ok(None) => Some(Delivery::Arrived),
            Err(ServiceError::Measuring(MeasuringError::Ended)) => None,
            Err(error) => {
                error!(game = %notice.seat.game, %error, "the news for a notice cannot be read");
                failed("The news could not be read on the server.")
            }
        }
    }
}

/// Deliveries that have begun, each in a task of its own: one that panics takes no other with it.
#[derive(Default)]
struct UnderWay {
    lanes: Lanes,
    tasks: JoinSet<StoreResult<Duration>>,
}

impl UnderWay {
    fn open(
        &mut self,
        lane: Lane,
        delivering: impl Future<Output = StoreResult<Duration>> + Send + 'static,
    ) {
        let task = self.tasks.spawn(delivering);
        self.lanes.open(task.id(), lane);
    }

    fn is_any(&self) -> bool {
        !self.tasks.is_empty()
    }

    /// Waits until a lane is free again; false when none is in use.
    async fn next_ended(&mut self) -> bool {
        let (task, longest) = match self.tasks.join_next_with_id().await {
            None => return false,
            Some(Ok((task, Ok(longest)))) => (task, Some(longest)),
            Some(Ok((task, Err(error)))) => {
                warn!(%error, "what became of a notice could not be written down");
                (task, None)
            }
            Some(Err(broken)) => {
                error!(%broken, "a notice was not delivered");
                (broken.id(), None)
            }
        };
        self.lanes.close(task, longest);
        true
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
        NoticeOutcome::Untried { .. } => {}
        NoticeOutcome::Dead { trouble, .. } => {
            warn!(%game, %kind, channel, tries, trouble, "notice given up");
        }
    }
}

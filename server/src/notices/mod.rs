//! Telling what is queued: by e-mail and by webhook, again and again until it arrives or is given up.
//!
//! What is to be told stands in the store since the very transaction of what it tells of. Every server
//! process takes what is due, for a while in which nobody else does, and says what became of it. A process that
//! dies in between leaves it to the others: a notice is told at least once, and nearly always once;
//! it carries the same id each time.

mod ladder;
mod mail;
mod said;
pub(crate) mod signature;
mod webhook;

use std::collections::BTreeMap;
use std::sync::Arc;
use std::time::Duration;

use async_trait::async_trait;
use jiff::Timestamp;
use tokio::sync::watch;
use tokio::time::timeout;
use tracing::{error, info, warn};

use crate::office::{Letter, Office};
use crate::store::{
    Channel, NoticeAddress, Store, StoreError, Stored, TakeNotices, TakenNotice, Told,
};

pub use ladder::TRIES;
pub use mail::{BadMail, Links, Mailer};
pub use webhook::Hooks;

/// Notices taken at a time. Those to one address are told one after the other, in the order of what they tell of.
const SHARE: u32 = 8;
/// How long they are nobody else's, in milliseconds: longer than telling all of them one after the other may take.
const LEASE_MS: i64 = 300_000;
/// How long telling one may take.
const PATIENCE: Duration = Duration::from_secs(30);
/// How often the queue is looked at whatever was heard.
const POLL: Duration = Duration::from_secs(30);
/// After news, a moment in which more may come.
const BREATH: Duration = Duration::from_millis(100);
/// How long what was told is remembered, so that nobody is told it twice; and what was given up.
const MEMORY_MS: i64 = 90 * 24 * 60 * 60 * 1000;
/// How often what is older is forgotten, in milliseconds.
const TIDY_MS: i64 = 60 * 60 * 1000;

/// What came of telling something. Words here name no address: others read them.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Carried {
    /// It arrived.
    Arrived,
    /// It did not, and may yet.
    Failed {
        /// Why.
        trouble: String,
        /// What the other side asked to wait.
        wait: Option<Duration>,
    },
    /// It never will.
    Hopeless {
        /// Why.
        trouble: String,
    },
    /// Nothing is wanted there any more.
    Gone,
}

/// A way for notices to travel.
#[async_trait]
pub trait Carry: Send + Sync {
    /// Tells something at an address, at a time in milliseconds since 1970.
    async fn carry(&self, letter: &Letter, to: &NoticeAddress, now: i64) -> Carried;
}

/// Tells what is queued.
pub struct Courier {
    store: Arc<dyn Store>,
    office: Arc<Office>,
    mail: Option<Arc<dyn Carry>>,
    webhooks: Option<Arc<dyn Carry>>,
    tries: u32,
}

impl Courier {
    /// A courier who tells by those ways that are there, each thing at most so many times.
    #[must_use]
    pub fn new(
        store: Arc<dyn Store>,
        office: Arc<Office>,
        mail: Option<Arc<dyn Carry>>,
        webhooks: Option<Arc<dyn Carry>>,
        tries: u32,
    ) -> Self {
        Self {
            store,
            office,
            mail,
            webhooks,
            tries,
        }
    }

    /// Tells what is due, until told to close.
    pub async fn work(self: Arc<Self>, mut closing: watch::Receiver<bool>) {
        if self.mail.is_none() && self.webhooks.is_none() {
            return;
        }
        let mut anywhere = self.store.bulletin().anywhere();
        let mut tidied = 0;
        while !*closing.borrow() {
            let now = Timestamp::now().as_millisecond();
            if now - tidied > TIDY_MS {
                tidied = now;
                if let Err(error) = self.store.forget_notices(now - MEMORY_MS).await {
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
                () = self.office.queued() => {}
                // The store says no more once it is closed; so is this, then.
                Ok(()) = anywhere.changed() => tokio::time::sleep(BREATH).await,
            }
        }
    }

    /// Tells some of what is due at a time in milliseconds since 1970; how many were taken.
    ///
    /// # Errors
    /// When the store fails.
    pub async fn round(self: &Arc<Self>, now: i64) -> Stored<usize> {
        let (mail, webhook) = (self.mail.is_some(), self.webhooks.is_some());
        // Looked at first: taking is a write, and there is mostly nothing to take.
        let due = self.store.next_notice(mail, webhook).await?;
        if due.is_none_or(|due| due > now) {
            return Ok(0);
        }
        let take = TakeNotices {
            now,
            until: now + LEASE_MS,
            mail,
            webhook,
            limit: SHARE,
        };
        let taken = self.store.take_notices(&take).await?;
        let count = taken.len();
        let mut by_address: BTreeMap<String, Vec<TakenNotice>> = BTreeMap::new();
        for notice in taken {
            let waiting = by_address.entry(notice.id.address.clone()).or_default();
            waiting.push(notice);
        }
        let telling: Vec<_> = by_address
            .into_values()
            .map(|mut notices| {
                notices.sort_by(|one, other| one.id.cmp(&other.id));
                let courier = Arc::clone(self);
                // A task of its own: one that panics takes no other with it.
                tokio::spawn(async move {
                    for notice in notices {
                        courier.tell(notice, now).await?;
                    }
                    Ok::<(), StoreError>(())
                })
            })
            .collect();
        for told in telling {
            told.await.map_err(StoreError::from)??;
        }
        Ok(count)
    }

    async fn until_next(&self, now: i64) -> Duration {
        let due = self
            .store
            .next_notice(self.mail.is_some(), self.webhooks.is_some())
            .await;
        let wait = due.ok().flatten().map_or(i64::MAX, |due| due - now);
        u64::try_from(wait).map_or(BREATH, |wait| {
            Duration::from_millis(wait).clamp(BREATH, POLL)
        })
    }

    async fn tell(&self, notice: TakenNotice, now: i64) -> Stored<()> {
        let carried = match timeout(PATIENCE, self.carried(&notice, now)).await {
            Ok(carried) => carried,
            Err(_) => Carried::Failed {
                trouble: "It took too long.".to_owned(),
                wait: None,
            },
        };
        let told = match carried {
            Carried::Arrived => Told::Done { at: now },
            Carried::Gone => {
                info!(way = notice.to.way.as_str(), game = %notice.seat.game, "an address wants no more notices");
                return self.store.remove_notice_address(&notice.to.id, now).await;
            }
            Carried::Hopeless { trouble } => Told::Dead { at: now, trouble },
            Carried::Failed { trouble, wait } => {
                let chance = f64::from(getrandom::u32().unwrap_or(0)) / f64::from(u32::MAX);
                match ladder::wait(notice.tries, self.tries, wait, chance) {
                    Some(wait) => Told::Later {
                        due_at: now + i64::try_from(wait.as_millis()).unwrap_or(i64::MAX / 2),
                        trouble,
                    },
                    None => Told::Dead { at: now, trouble },
                }
            }
        };
        log(&notice, &told);
        self.store.settle_notice(&notice, &told).await
    }

    async fn carried(&self, notice: &TakenNotice, now: i64) -> Carried {
        let way = match notice.to.way {
            Channel::Mail => &self.mail,
            Channel::Webhook => &self.webhooks,
        };
        let Some(way) = way else {
            return Carried::Failed {
                trouble: "This server does not send that way.".to_owned(),
                wait: None,
            };
        };
        match self.office.letter(notice).await {
            Ok(Some(letter)) => way.carry(&letter, &notice.to, now).await,
            Ok(None) => Carried::Arrived,
            Err(failure) => {
                error!(game = %notice.seat.game, ?failure, "the news for a notice cannot be read");
                Carried::Failed {
                    trouble: "The news could not be read on the server.".to_owned(),
                    wait: None,
                }
            }
        }
    }
}

async fn closed(closing: &mut watch::Receiver<bool>) {
    // Whoever would tell may be gone; so is the server, then.
    let _ = closing.wait_for(|closing| *closing).await;
}

fn log(notice: &TakenNotice, told: &Told) {
    let (game, kind, way) = (notice.seat.game, notice.id.kind, notice.to.way.as_str());
    let tries = notice.tries;
    match told {
        Told::Done { .. } => info!(%game, %kind, way, tries, "a notice was told"),
        Told::Later { trouble, .. } => {
            info!(%game, %kind, way, tries, trouble, "a notice is to be tried again");
        }
        Told::Dead { trouble, .. } => {
            warn!(%game, %kind, way, tries, trouble, "a notice was given up");
        }
    }
}

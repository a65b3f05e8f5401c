//! The service: opens games, hands out seats, takes postings, shows what may be shown.
//!
//! It asks the referee and the store and decides no rule; it knows nothing of HTTP.

mod act;
mod actions;
mod append;
mod cache;
mod caller;
mod changes;
mod checking;
mod context;
mod drafts;
mod drawings;
mod entries;
mod error;
mod games;
mod health;
mod idempotency;
mod instructions;
mod keys;
mod measure;
mod members;
mod names;
mod news;
mod notices;
mod opening;
mod posting;
mod readiness;
mod reading;
mod renewal;
mod rulings;
mod seats;
mod sessions;
mod signing_keys;
mod spectators;
mod summaries;
mod sweep;
#[cfg(test)]
mod tests;
mod validate;

use std::sync::Arc;
use std::time::Duration;

use jiff::{SignedDuration, Timestamp, Unit};
use tokio::sync::Notify;

use crate::channels::Channels;
use crate::measuring::Measuring;
use crate::rate_limiter::RateLimiter;
pub use crate::rendering::{Drawing, DrawingView};
use crate::store::{GameId, Store, StoredGame};

pub use act::{Sent, SentSignature};
pub use cache::FoldedGame;
pub use caller::{Caller, Holder};
pub use checking::{Tested, Tried, Wanted};
pub use context::Credentials;
pub use error::{ServiceError, ServiceResult};
pub use idempotency::IdempotencyKey;
pub use instructions::GivenInstructions;
pub use keys::Renewed;
pub use opening::{Files, Terms, shipped_scenarios};
pub use posting::{Posted, Submission};
pub use reading::WrittenTable;
pub use seats::{Taken, Taking};
pub use sessions::{Entrance, KeysHeld, OpenSession, StartedSession};

use cache::GameCache;
use news::moment;
use readiness::Readiness;

/// How often a change that does not depend on the head is tried again when somebody else was first.
const ATTEMPTS_MAX: usize = 8;

/// How long measuring may take unless something else is said.
const USUAL_DEADLINE: Duration = Duration::from_secs(20);

/// Tells what time it is.
pub type Time = Arc<dyn Fn() -> Timestamp + Send + Sync>;

/// The service over a store.
pub struct Service {
    store: Arc<dyn Store>,
    cache: GameCache,
    invitation_lifetime: SignedDuration,
    time: Time,
    channels: Arc<Channels>,
    key_limiter: RateLimiter<String>,
    check_limiter: RateLimiter<String>,
    measuring: Measuring,
    readiness: Readiness,
    queued: Notify,
}

impl Service {
    /// The service over a store, whose invitations work for so many days. It sends no notices and limits no key.
    #[must_use]
    pub fn new(store: Arc<dyn Store>, invitation_days: u16) -> Self {
        Self {
            cache: GameCache::new(Arc::clone(&store)),
            store,
            invitation_lifetime: SignedDuration::from_hours(24 * i64::from(invitation_days)),
            time: Arc::new(Timestamp::now),
            channels: Arc::default(),
            key_limiter: RateLimiter::new(0),
            check_limiter: RateLimiter::new(0),
            measuring: Measuring::new(USUAL_DEADLINE),
            readiness: Readiness::default(),
            queued: Notify::new(),
        }
    }

    /// The same, with notices by these channels.
    #[must_use]
    pub fn with_channels(self, channels: Arc<Channels>) -> Self {
        Self { channels, ..self }
    }

    /// The same, with so many requests a minute for each key; 0: without limit.
    #[must_use]
    pub fn with_key_limit(self, requests_a_minute: u32) -> Self {
        Self {
            key_limiter: RateLimiter::new(requests_a_minute),
            ..self
        }
    }

    /// The same, with so many sheets tried a minute for each key; 0: without limit.
    #[must_use]
    pub fn with_check_limit(self, checks_a_minute: u32) -> Self {
        Self {
            check_limiter: RateLimiter::new(checks_a_minute),
            ..self
        }
    }

    /// The same, measuring there.
    #[must_use]
    pub fn with_measuring(self, measuring: Measuring) -> Self {
        Self { measuring, ..self }
    }

    /// The same, with another clock than the machine's.
    #[must_use]
    pub fn with_time(self, time: Time) -> Self {
        Self { time, ..self }
    }

    /// Now, to the millisecond.
    fn now(&self) -> Timestamp {
        let now = (self.time)();
        now.round(Unit::Millisecond).unwrap_or(now)
    }

    /// A game, if the caller may read it; a closed game does not show that it exists.
    async fn game_for(&self, caller: &Caller, game: GameId) -> ServiceResult<StoredGame> {
        match self.store.game(game).await? {
            Some(stored_game) if caller.may_read(&stored_game) => {
                self.as_seen_by(caller, stored_game).await
            }
            _ => Err(ServiceError::NoSuchGame),
        }
    }
}

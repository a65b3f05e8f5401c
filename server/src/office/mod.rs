//! The post office: opens games, hands out seats, takes postings, shows what may be shown.
//!
//! It asks the referee and the store and decides no rule; it knows nothing of HTTP.

mod appending;
mod by_post;
mod caller;
mod card;
mod desk;
mod failure;
mod instructions;
mod keys;
mod looking_on;
mod members;
mod names;
mod notices;
mod opening;
mod posting;
mod reading;
mod rulings;
mod seats;
mod sweep;
#[cfg(test)]
mod trials;

use std::sync::Arc;

use fieldpost_rules::game::Game;
use jiff::{SignedDuration, Timestamp, Unit};
use tokio::sync::Notify;

use crate::store::{GameCard, GameId, Moment, Store};

pub use caller::{Caller, Holder, Visitor};
pub use desk::Folded;
pub use failure::{Failure, Outcome};
pub use instructions::GivenInstructions;
pub use keys::Renewed;
pub use notices::{Letter, NoticeRules, stop_token};
pub use opening::{Files, Spectators, shipped_scenarios};
pub use posting::{IdempotencyKey, Posted, Submission};
pub use reading::WrittenTable;
pub use seats::{Taken, Taking};

use desk::Desk;

/// How often a change that does not depend on the head is tried again when somebody else was first.
const TRIES: usize = 8;

/// Tells what time it is.
pub type Time = Arc<dyn Fn() -> Timestamp + Send + Sync>;

/// A post office over a store.
pub struct Office {
    store: Arc<dyn Store>,
    desk: Desk,
    invitations_last: SignedDuration,
    time: Time,
    notice_rules: NoticeRules,
    queued: Notify,
}

impl Office {
    /// A post office over a store, whose invitations last so many days.
    #[must_use]
    pub fn new(store: Arc<dyn Store>, invitation_days: u16) -> Self {
        Self {
            desk: Desk::new(Arc::clone(&store)),
            store,
            invitations_last: SignedDuration::from_hours(24 * i64::from(invitation_days)),
            time: Arc::new(Timestamp::now),
            notice_rules: NoticeRules::default(),
            queued: Notify::new(),
        }
    }

    /// The same post office, which sends these notices.
    #[must_use]
    pub fn with_notices(self, notice_rules: NoticeRules) -> Self {
        Self {
            notice_rules,
            ..self
        }
    }

    /// The same, told the time by something else than the machine's clock.
    #[must_use]
    pub fn with_time(self, time: Time) -> Self {
        Self { time, ..self }
    }

    /// Now, to the millisecond.
    fn now(&self) -> Timestamp {
        let now = (self.time)();
        now.round(Unit::Millisecond).unwrap_or(now)
    }

    /// Whether the store answers.
    ///
    /// # Errors
    /// When it does not.
    pub async fn ping(&self) -> Outcome<()> {
        Ok(self.store.ping().await?)
    }

    /// The card of the game a visitor asks of, as it was when they called, if they may read it.
    async fn card_of(&self, visitor: &Visitor) -> Outcome<GameCard> {
        let caller = &visitor.caller;
        match &visitor.card {
            Some(card) if caller.may_read(card) => self.in_regard_to(caller, card.clone()).await,
            _ => Err(Failure::NoSuchGame),
        }
    }

    /// A game's card, if the caller may read that game; a closed game does not show that it exists.
    async fn card_for(&self, caller: &Caller, game: GameId) -> Outcome<GameCard> {
        match self.store.game(game).await? {
            Some(card) if caller.may_read(&card) => self.in_regard_to(caller, card).await,
            _ => Err(Failure::NoSuchGame),
        }
    }
}

/// Whose turn it is, for lists.
fn moment(game: &Game) -> Outcome<Moment> {
    let ending = game
        .ending()
        .map(serde_json::to_string)
        .transpose()
        .map_err(Failure::unwritable)?;
    Ok(Moment {
        player_turn: game.player_turn(),
        to_move: ending.is_none().then(|| game.player_side().0),
        ending,
    })
}

/// Measures on a thread of its own, so that nobody waits for another's sheet.
async fn measure<T: Send + 'static>(work: impl FnOnce() -> T + Send + 'static) -> Outcome<T> {
    tokio::task::spawn_blocking(work)
        .await
        .map_err(|error| Failure::Panicked(error.to_string()))
}

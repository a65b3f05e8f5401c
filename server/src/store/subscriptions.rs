//! Subscriptions to games: appended entries are announced to whoever watches a game.
//!
//! An announcement is a hint that there is something to read, and may come late or twice; what
//! happened is read from the store. A watcher subscribes first and reads after that:
//!
//! ```ignore
//! let mut subscription = store.subscriptions().subscribe(game);
//! loop {
//!     for entry in store.entries(game, seen, PAGE).await? { seen = entry.number; … }
//!     subscription.wait_beyond(seen).await;
//! }
//! ```
//!
//! Only the greatest number is remembered for each game, so that a slow watcher cannot lag behind: it
//! rereads from the number it saw last. On PostgreSQL, entries appended by another process are
//! announced within moments, and at the latest after the poll's five seconds.

use std::collections::BTreeMap;
use std::sync::{Arc, Mutex, MutexGuard, PoisonError};

use tokio::sync::watch;

use super::GameId;

/// The subscriptions to one store's games.
#[derive(Debug, Clone)]
pub struct Subscriptions {
    senders: Arc<Mutex<Senders>>,
    any_game: watch::Sender<()>,
}

type Senders = BTreeMap<GameId, watch::Sender<u64>>;

impl Subscriptions {
    pub(super) fn new() -> Self {
        Self {
            senders: Arc::default(),
            any_game: watch::Sender::new(()),
        }
    }

    /// Subscribes to a game from now on.
    #[must_use]
    pub fn subscribe(&self, game: GameId) -> Subscription {
        let mut senders = locked(&self.senders);
        let sender = senders.entry(game).or_insert_with(|| watch::Sender::new(0));
        Subscription {
            game,
            number: sender.subscribe(),
            senders: Arc::clone(&self.senders),
        }
    }

    /// Changes whenever something was appended to any game (on PostgreSQL: by any process, as far
    /// as this one is notified). For whoever works off a queue that appends fill.
    #[must_use]
    pub fn any_game(&self) -> watch::Receiver<()> {
        self.any_game.subscribe()
    }

    /// Announces that a game's record has grown to that number.
    pub(super) fn announce(&self, game: GameId, number: u64) {
        if let Some(sender) = locked(&self.senders).get(&game) {
            sender.send_if_modified(|known| {
                let is_news = *known < number;
                *known = number.max(*known);
                is_news
            });
        }
        self.any_game.send_replace(());
    }

    /// The games that somebody is subscribed to.
    pub(super) fn watched(&self) -> Vec<GameId> {
        locked(&self.senders).keys().copied().collect()
    }
}

fn locked(senders: &Mutex<Senders>) -> MutexGuard<'_, Senders> {
    senders.lock().unwrap_or_else(PoisonError::into_inner)
}

/// A subscription to one game.
#[derive(Debug)]
pub struct Subscription {
    game: GameId,
    number: watch::Receiver<u64>,
    senders: Arc<Mutex<Senders>>,
}

impl Subscription {
    /// Waits until entries after that number have been announced; the greatest number announced.
    pub async fn wait_beyond(&mut self, seen: u64) -> u64 {
        let announced = self.number.wait_for(|&number| number > seen).await;
        // The sender outlives its subscriptions.
        announced.map_or(seen, |number| *number)
    }
}

impl Drop for Subscription {
    /// The sender goes with the last subscription.
    fn drop(&mut self) {
        let mut senders = locked(&self.senders);
        if senders
            .get(&self.game)
            .is_some_and(|sender| sender.receiver_count() <= 1)
        {
            senders.remove(&self.game);
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[tokio::test]
    async fn a_watcher_hears_of_its_own_game_and_only_of_what_it_has_not_seen() {
        let subscriptions = Subscriptions::new();
        let (mine, other) = (GameId([1; 16]), GameId([2; 16]));
        let mut watch = subscriptions.subscribe(mine);
        subscriptions.announce(other, 9);
        subscriptions.announce(mine, 3);
        subscriptions.announce(mine, 2);
        assert_eq!(watch.wait_beyond(0).await, 3);
        assert_eq!(watch.wait_beyond(2).await, 3, "and again, until it is seen");
        let waiting = tokio::spawn(async move { watch.wait_beyond(3).await });
        subscriptions.announce(mine, 4);
        assert_eq!(waiting.await.expect("ends"), 4);
    }

    #[tokio::test]
    async fn a_board_goes_with_its_last_watcher() {
        let subscriptions = Subscriptions::new();
        let game = GameId([1; 16]);
        let (first, second) = (subscriptions.subscribe(game), subscriptions.subscribe(game));
        drop(first);
        assert_eq!(subscriptions.watched(), [game]);
        drop(second);
        assert_eq!(subscriptions.watched(), []);
    }

    #[tokio::test]
    async fn an_append_anywhere_is_heard() {
        let subscriptions = Subscriptions::new();
        let mut any_game = subscriptions.any_game();
        subscriptions.announce(GameId([7; 16]), 1);
        any_game.changed().await.expect("heard");
    }
}

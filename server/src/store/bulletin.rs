//! The board on which appended entries are announced to whoever watches a game.
//!
//! An announcement is a hint that there is something to read, and may come late or twice; what
//! happened is read from the store. A watcher subscribes first and reads after that:
//!
//! ```ignore
//! let mut watch = store.bulletin().watch(game);
//! loop {
//!     for entry in store.entries(game, seen, PAGE).await? { seen = entry.number; … }
//!     watch.beyond(seen).await;
//! }
//! ```
//!
//! Only the greatest number is kept for each game, so that a slow watcher cannot lag behind: it
//! rereads from the number it saw last. On PostgreSQL, entries appended by another process are
//! announced within moments, and at the latest after the poll's five seconds.

use std::collections::BTreeMap;
use std::sync::{Arc, Mutex, MutexGuard, PoisonError};

use tokio::sync::watch;

use super::GameId;

/// The board of one store.
#[derive(Debug, Clone)]
pub struct Bulletin {
    boards: Arc<Mutex<Boards>>,
    anywhere: watch::Sender<()>,
}

type Boards = BTreeMap<GameId, watch::Sender<u64>>;

impl Bulletin {
    pub(super) fn new() -> Self {
        Self {
            boards: Arc::default(),
            anywhere: watch::Sender::new(()),
        }
    }

    /// Watches a game from now on.
    #[must_use]
    pub fn watch(&self, game: GameId) -> Watch {
        let mut boards = locked(&self.boards);
        let board = boards.entry(game).or_insert_with(|| watch::Sender::new(0));
        Watch {
            game,
            number: board.subscribe(),
            boards: Arc::clone(&self.boards),
        }
    }

    /// Changes whenever something was appended to any game (on PostgreSQL: by any process, as far
    /// as is heard). For whoever sweeps a queue that appends fill.
    #[must_use]
    pub fn anywhere(&self) -> watch::Receiver<()> {
        self.anywhere.subscribe()
    }

    /// Tells that a game's record has grown to that number.
    pub(super) fn announce(&self, game: GameId, number: u64) {
        if let Some(board) = locked(&self.boards).get(&game) {
            board.send_if_modified(|known| {
                let is_news = *known < number;
                *known = number.max(*known);
                is_news
            });
        }
        self.anywhere.send_replace(());
    }

    /// The games that somebody watches.
    pub(super) fn watched(&self) -> Vec<GameId> {
        locked(&self.boards).keys().copied().collect()
    }
}

fn locked(boards: &Mutex<Boards>) -> MutexGuard<'_, Boards> {
    boards.lock().unwrap_or_else(PoisonError::into_inner)
}

/// Somebody watching a game.
#[derive(Debug)]
pub struct Watch {
    game: GameId,
    number: watch::Receiver<u64>,
    boards: Arc<Mutex<Boards>>,
}

impl Watch {
    /// Waits until entries after that number have been announced; the greatest number announced.
    pub async fn beyond(&mut self, seen: u64) -> u64 {
        let announced = self.number.wait_for(|&number| number > seen).await;
        // The board outlives its watchers.
        announced.map_or(seen, |number| *number)
    }
}

impl Drop for Watch {
    /// A board that nobody else watches is taken down.
    fn drop(&mut self) {
        let mut boards = locked(&self.boards);
        if boards
            .get(&self.game)
            .is_some_and(|board| board.receiver_count() <= 1)
        {
            boards.remove(&self.game);
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[tokio::test]
    async fn a_watcher_hears_of_its_own_game_and_only_of_what_it_has_not_seen() {
        let bulletin = Bulletin::new();
        let (mine, other) = (GameId([1; 16]), GameId([2; 16]));
        let mut watch = bulletin.watch(mine);
        bulletin.announce(other, 9);
        bulletin.announce(mine, 3);
        bulletin.announce(mine, 2);
        assert_eq!(watch.beyond(0).await, 3);
        assert_eq!(watch.beyond(2).await, 3, "and again, until it is seen");
        let waiting = tokio::spawn(async move { watch.beyond(3).await });
        bulletin.announce(mine, 4);
        assert_eq!(waiting.await.expect("ends"), 4);
    }

    #[tokio::test]
    async fn a_board_goes_with_its_last_watcher() {
        let bulletin = Bulletin::new();
        let game = GameId([1; 16]);
        let (first, second) = (bulletin.watch(game), bulletin.watch(game));
        drop(first);
        assert_eq!(bulletin.watched(), [game]);
        drop(second);
        assert_eq!(bulletin.watched(), []);
    }

    #[tokio::test]
    async fn an_append_anywhere_is_heard() {
        let bulletin = Bulletin::new();
        let mut anywhere = bulletin.anywhere();
        bulletin.announce(GameId([7; 16]), 1);
        anywhere.changed().await.expect("heard");
    }
}

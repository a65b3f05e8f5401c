//! When games must be looked at because of their clocks.

use async_trait::async_trait;

use super::{GameId, StoreResult};

/// A game whose clock wakes.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Waking {
    /// The game.
    pub game: GameId,
    /// When it was to be looked at: seconds since 1970, UTC.
    pub wakes_at: i64,
}

/// Clocks that wake.
#[async_trait]
pub trait Clocks {
    /// Up to `limit` games that wake at that second or before, the longest due first.
    async fn waking(&self, by: i64, limit: u32) -> StoreResult<Vec<Waking>>;

    /// Lets a game wake at another time, or no more. Overtaken when somebody else has seen to it: of several
    /// that look, one does it.
    async fn wake_next(&self, waking: &Waking, next: Option<i64>) -> StoreResult<()>;
}

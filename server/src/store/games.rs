//! Games: what is stored of each beside its record, opening them, listing them.

use async_trait::async_trait;
use fieldpost_rules::dice::Bytes32;

use super::{
    Authority, GameId, Head, Invitation, MemberId, Moment, Seat, StoreResult, StoredEntry,
};

/// A game, as far as lists and checks need it.
#[derive(Debug, Clone, PartialEq)]
pub struct StoredGame {
    /// Its id.
    pub id: GameId,
    /// The scenario's name.
    pub name: String,
    /// When it was opened: RFC 3339, UTC.
    pub opened_at: String,
    /// Whether spectators may read without a key.
    pub open_to_all: bool,
    /// Minutes after which spectators see what happened.
    pub spectator_delay_minutes: u32,
    /// The last entry.
    pub head: Head,
    /// How many game turns the scenario lasts.
    pub game_turns: u32,
    /// Whose turn it is.
    pub moment: Moment,
}

/// A game to be opened: itself, its first entries and all that belongs to it.
#[derive(Debug, Clone)]
pub struct Opening {
    /// The game; its head is the last entry below.
    pub game: StoredGame,
    /// The first entries.
    pub entries: Vec<StoredEntry>,
    /// The secret of the first player turn.
    pub secret: Bytes32,
    /// The seats.
    pub seats: Vec<Seat>,
    /// An invitation to each.
    pub invitations: Vec<Invitation>,
}

/// Which games a list is for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Readers {
    /// Every game.
    All,
    /// Those open to all, and this one if any.
    OpenAnd(Option<GameId>),
    /// Those open to all, and those in which this member has a seat.
    Member(MemberId),
}

/// Games.
#[async_trait]
pub trait Games {
    /// Opens a game.
    async fn open_game(&self, by: &Authority, opening: &Opening) -> StoreResult<()>;

    /// A game by its id.
    async fn game(&self, game: GameId) -> StoreResult<Option<StoredGame>>;

    /// Up to `limit` games after `after`, in the order they were opened.
    async fn games(
        &self,
        readers: Readers,
        after: Option<GameId>,
        limit: u32,
    ) -> StoreResult<Vec<StoredGame>>;

    /// Opens or closes a game to spectators.
    async fn set_open_to_all(&self, by: &Authority, game: GameId, open: bool) -> StoreResult<()>;

    /// Sets after how many minutes spectators see what happened.
    async fn set_spectator_delay(
        &self,
        by: &Authority,
        game: GameId,
        minutes: u32,
    ) -> StoreResult<()>;
}

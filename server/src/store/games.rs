//! Games: what is stored of each beside its record, opening them, listing them.

use std::fmt;
use std::str::FromStr;

use async_trait::async_trait;
use fieldpost_rules::dice::Bytes32;

use super::{Invitation, MemberId, Seat, StoreResult, StoredEntry};

/// A game's id: 16 bytes, shown as 32 hexadecimal digits; later games have greater ids.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct GameId(pub [u8; 16]);

impl GameId {
    /// The id of a game opened now.
    #[must_use]
    pub fn fresh() -> Self {
        Self(uuid::Uuid::now_v7().into_bytes())
    }
}

impl fmt::Display for GameId {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&hex::encode(self.0))
    }
}

impl fmt::Debug for GameId {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "GameId({self})")
    }
}

impl FromStr for GameId {
    type Err = hex::FromHexError;

    fn from_str(text: &str) -> Result<Self, Self::Err> {
        let mut bytes = [0; 16];
        hex::decode_to_slice(text, &mut bytes)?;
        Ok(Self(bytes))
    }
}

/// The last entry of a record.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Head {
    /// Its number.
    pub number: u64,
    /// Its hash.
    pub hash: Bytes32,
}

impl From<Head> for fieldpost_wire::Head {
    fn from(head: Head) -> Self {
        Self {
            number: head.number,
            hash: hex::encode(head.hash),
        }
    }
}

/// Whose turn it is, kept beside the record so that lists need not fold it.
#[derive(Debug, Clone, PartialEq)]
pub struct Moment {
    /// The player turn being played, from 1.
    pub player_turn: u64,
    /// The side to post next; absent once the game has ended.
    pub to_move: Option<String>,
    /// How the game ended, JSON.
    pub ending: Option<String>,
}

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
    async fn open_game(&self, opening: &Opening) -> StoreResult<()>;

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
    async fn set_open_to_all(&self, game: GameId, open: bool) -> StoreResult<()>;

    /// Sets after how many minutes spectators see what happened.
    async fn set_spectator_delay(&self, game: GameId, minutes: u32) -> StoreResult<()>;
}

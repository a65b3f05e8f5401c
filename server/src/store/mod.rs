//! Where games are kept: one object-safe trait, a database behind it chosen by URL in [`open`].
//!
//! SQL stands in this room and nowhere else. Everything that must happen together happens in one
//! [`Append`], so that no caller holds a transaction.

mod migrations;
mod sqlite;

use std::fmt;
use std::str::FromStr;
use std::sync::Arc;

use async_trait::async_trait;
use fieldpost_rules::dice::Bytes32;

pub use sqlite::SqliteStore;

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

/// A game's card.
#[derive(Debug, Clone, PartialEq)]
pub struct GameCard {
    /// Its id.
    pub id: GameId,
    /// The scenario's name.
    pub name: String,
    /// When it was opened: RFC 3339, UTC.
    pub opened_at: String,
    /// Whether spectators may read without a key.
    pub open_to_all: bool,
    /// The last entry.
    pub head: Head,
    /// How many game turns the scenario lasts.
    pub game_turns: u32,
    /// Whose turn it is.
    pub moment: Moment,
}

/// One entry of a record as it is stored.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct StoredEntry {
    /// Its number.
    pub number: u64,
    /// Hash of the one before.
    pub previous: Bytes32,
    /// Its hash.
    pub hash: Bytes32,
    /// The bytes hashed.
    pub body: String,
    /// When it was appended: RFC 3339, UTC.
    pub at: String,
}

/// A place at the table.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Seat {
    /// Its id.
    pub id: String,
    /// Its game.
    pub game: GameId,
    /// Order among the game's seats.
    pub place: u32,
    /// Key of the side it plays.
    pub side: String,
    /// That side's name.
    pub side_name: String,
    /// The player's name, once taken.
    pub player: Option<String>,
}

/// An invitation, without its secret.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Invitation {
    /// Its public part.
    pub id: String,
    /// The seat it is for.
    pub seat: String,
    /// SHA-256 of its secret.
    pub secret_hash: Vec<u8>,
    /// RFC 3339, UTC.
    pub issued_at: String,
    /// RFC 3339, UTC.
    pub expires_at: String,
    /// When it was used.
    pub used_at: Option<String>,
    /// When a newer one took its place.
    pub voided_at: Option<String>,
}

/// What a key opens.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Opens {
    /// Everything an organiser may do.
    Organiser,
    /// A seat, given for an invitation.
    Seat {
        /// The seat's id.
        seat: String,
        /// The invitation's id.
        invitation: String,
        /// The server's part in making the key again.
        salt: Vec<u8>,
    },
}

/// A key, without its secret.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct KeyCard {
    /// Its public part.
    pub id: String,
    /// SHA-256 of its secret.
    pub secret_hash: Vec<u8>,
    /// What it opens.
    pub opens: Opens,
    /// When it was made: RFC 3339, UTC.
    pub made_at: String,
    /// From when on it opens nothing.
    pub revoked_at: Option<String>,
}

/// Standing instructions behind a seal.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct SealedInstructions {
    /// Number of the event that holds the seal.
    pub number: u64,
    /// Whose.
    pub side: String,
    /// The seal's nonce.
    pub nonce: Bytes32,
    /// The instructions in canonical JSON.
    pub body: String,
}

/// The answer to an accepted posting.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct StoredAnswer {
    /// Id of the caller's key.
    pub key: String,
    /// As the caller sent it.
    pub idempotency_key: String,
    /// SHA-256 of what was asked.
    pub request_hash: Bytes32,
    /// HTTP status.
    pub status: u16,
    /// The answer's body.
    pub body: String,
    /// When it was given: RFC 3339, UTC.
    pub at: String,
}

/// A game to be opened: its card, its first entry and all that belongs to it.
#[derive(Debug, Clone)]
pub struct Opening {
    /// The card; its head is the entry below.
    pub card: GameCard,
    /// The first entry.
    pub entry: StoredEntry,
    /// The secret of the first player turn.
    pub secret: Bytes32,
    /// The seats.
    pub seats: Vec<Seat>,
    /// An invitation to each.
    pub invitations: Vec<Invitation>,
}

/// What else changes together with appended entries.
#[derive(Debug, Clone)]
pub enum Change {
    /// The secret of `used` has been shown and goes; the next one comes.
    NextSecret {
        /// The player turn whose secret was used.
        used: u64,
        /// The secret of the one after it.
        next: Bytes32,
    },
    /// A seat is taken: its invitation is spent and its key holds from now on.
    TakeSeat {
        /// The seat's id.
        seat: String,
        /// The player's name.
        player: String,
        /// Its key; `opens` names seat and invitation.
        key: KeyCard,
    },
    /// Instructions were sealed.
    Seal(SealedInstructions),
    /// The answer is given again when the same posting comes again.
    Remember(StoredAnswer),
}

/// Entries to be appended to a record, and what changes with them: all or nothing.
#[derive(Debug, Clone)]
pub struct Append {
    /// The game.
    pub game: GameId,
    /// The head they follow; the append fails if it has moved.
    pub after: Head,
    /// The entries, numbered on from it; at least one.
    pub entries: Vec<StoredEntry>,
    /// Whose turn it is after them.
    pub moment: Moment,
    /// What changes with them.
    pub changes: Vec<Change>,
}

/// Why the store did not do what it was asked.
#[derive(Debug)]
pub enum StoreError {
    /// Somebody else was first: the head has moved, the invitation is spent, the key is used.
    /// Nothing was changed; read again and decide anew.
    Overtaken,
    /// What is stored cannot be what was stored.
    Damaged(String),
    /// Another process has this database file open.
    InUse(String),
    /// The database failed.
    Database(sqlx::Error),
    /// Migrating it failed.
    Migration(sqlx::migrate::MigrateError),
    /// Its files could not be used.
    Files(std::io::Error),
}

impl fmt::Display for StoreError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Overtaken => f.write_str("somebody else was first"),
            Self::Damaged(what) => write!(f, "the database holds what was never stored: {what}"),
            Self::InUse(path) => write!(
                f,
                "another server has the database open (its lock is {path}); stop it first, or give this one a database of its own"
            ),
            Self::Database(error) => write!(f, "the database failed: {error}"),
            Self::Migration(error) => {
                write!(f, "the database could not be brought up to date: {error}")
            }
            Self::Files(error) => write!(f, "the database's files cannot be used: {error}"),
        }
    }
}

impl std::error::Error for StoreError {}

impl From<sqlx::Error> for StoreError {
    /// A broken uniqueness means that somebody else was first; conflicts are told by kind, never by name.
    fn from(error: sqlx::Error) -> Self {
        match &error {
            sqlx::Error::Database(cause) if cause.is_unique_violation() => Self::Overtaken,
            _ => Self::Database(error),
        }
    }
}

impl From<std::io::Error> for StoreError {
    fn from(error: std::io::Error) -> Self {
        Self::Files(error)
    }
}

/// What a store answers.
pub type Stored<T> = Result<T, StoreError>;

/// Which games a list is for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Readers {
    /// Every game.
    All,
    /// Those open to all, and this one if any.
    OpenAnd(Option<GameId>),
}

/// A place where games are kept. What is answered `Ok` is durable.
#[async_trait]
pub trait Store: Send + Sync {
    /// Whether the database answers.
    async fn ping(&self) -> Stored<()>;

    /// Lets go of the database.
    async fn close(&self);

    /// Adds an organiser's key if there is none yet; whether it did.
    async fn add_first_organiser(&self, key: &KeyCard) -> Stored<bool>;

    /// A key by its id.
    async fn key(&self, id: &str) -> Stored<Option<KeyCard>>;

    /// The key that was given for an invitation.
    async fn key_for_invitation(&self, invitation: &str) -> Stored<Option<KeyCard>>;

    /// Opens a game.
    async fn open_game(&self, opening: &Opening) -> Stored<()>;

    /// A game's card.
    async fn game(&self, game: GameId) -> Stored<Option<GameCard>>;

    /// Up to `limit` cards of games after `after`, in the order they were opened.
    async fn games(
        &self,
        readers: Readers,
        after: Option<GameId>,
        limit: u32,
    ) -> Stored<Vec<GameCard>>;

    /// Opens or closes a game to spectators.
    async fn set_open_to_all(&self, game: GameId, open: bool) -> Stored<()>;

    /// Up to `limit` entries after number `after`, in order.
    async fn entries(&self, game: GameId, after: u64, limit: u32) -> Stored<Vec<StoredEntry>>;

    /// Number of the entry with that hash.
    async fn number_of(&self, game: GameId, hash: &Bytes32) -> Stored<Option<u64>>;

    /// Appends to a record.
    async fn append(&self, append: &Append) -> Stored<()>;

    /// A game's seats in their order.
    async fn seats(&self, game: GameId) -> Stored<Vec<Seat>>;

    /// A seat by its id.
    async fn seat(&self, id: &str) -> Stored<Option<Seat>>;

    /// Issues an invitation; earlier unused ones to the same seat are void.
    async fn invite(&self, invitation: &Invitation) -> Stored<()>;

    /// An invitation by its id.
    async fn invitation(&self, id: &str) -> Stored<Option<Invitation>>;

    /// The secret kept for a player turn to come.
    async fn secret(&self, game: GameId, player_turn: u64) -> Stored<Option<Bytes32>>;

    /// Every sealed instruction of a game, in the order they were sealed.
    async fn sealed(&self, game: GameId) -> Stored<Vec<SealedInstructions>>;

    /// The answer given before to a caller's idempotency key.
    async fn answer(&self, key: &str, idempotency_key: &str) -> Stored<Option<StoredAnswer>>;
}

/// Opens the store a URL names, makes it if it is not there, and brings it up to date.
///
/// # Errors
/// When the URL names no kind of store that is known, or as the store says.
pub async fn open(url: &str) -> Stored<Arc<dyn Store>> {
    match url.split_once(':').map(|(scheme, _)| scheme) {
        Some("sqlite") => Ok(Arc::new(SqliteStore::open(url).await?)),
        _ => Err(StoreError::Files(std::io::Error::new(
            std::io::ErrorKind::InvalidInput,
            "a database is named as sqlite:PATH",
        ))),
    }
}

//! Records: entries, and everything that changes together with an entry.

use async_trait::async_trait;
use fieldpost_rules::dice::Bytes32;

use super::{Authority, FreedSeat, GameId, Head, Moment, Notice, StoreResult, TakenSeat};

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
    /// The secret of a player turn to come has been shown unused; another takes its place.
    RenewSecret {
        /// The player turn.
        player_turn: u64,
        /// The secret of the attempt that begins.
        secret: Bytes32,
    },
    /// A seat is taken: its invitation is spent and its key holds from now on.
    TakeSeat(TakenSeat),
    /// A seat is free again, with all that [`super::Seats::free_seat`] does.
    FreeSeat(FreedSeat),
    /// Instructions were sealed.
    Seal(SealedInstructions),
    /// The answer is given again when the same posting comes again.
    StoreAnswer(StoredAnswer),
    /// The game's clock must be looked at then, or no more: seconds since 1970, UTC.
    WakeAt(Option<i64>),
    /// Seats are sent a notice of it.
    QueueNotice(Notice),
}

/// Entries to be appended to a record, and what changes with them: all or nothing.
#[derive(Debug, Clone)]
pub struct Append {
    /// The game.
    pub game: GameId,
    /// On whose word.
    pub by: Authority,
    /// The head they follow; the append fails if it has moved.
    pub after: Head,
    /// The entries, numbered on from it; at least one.
    pub entries: Vec<StoredEntry>,
    /// Whose turn it is after them.
    pub moment: Moment,
    /// What changes with them.
    pub changes: Vec<Change>,
}

impl Append {
    /// Whether keys end by it.
    #[must_use]
    pub fn ends_keys(&self) -> bool {
        let mut changes = self.changes.iter();
        changes.any(|change| matches!(change, Change::FreeSeat(_)))
    }
}

/// Records and what is kept beside them.
#[async_trait]
pub trait Records {
    /// Up to `limit` entries after number `after`, in order; fewer where they are long, but one at least if there is one.
    async fn entries(&self, game: GameId, after: u64, limit: u32) -> StoreResult<Vec<StoredEntry>>;

    /// Number of the entry with that hash.
    async fn number_of(&self, game: GameId, hash: &Bytes32) -> StoreResult<Option<u64>>;

    /// The last entry appended before a moment: RFC 3339, UTC, to the second and without its `Z`.
    async fn head_before(&self, game: GameId, second: &str) -> StoreResult<Option<Head>>;

    /// Appends to a record. [`super::StoreError::Overtaken`] when the head has moved, else
    /// [`super::StoreError::KeyEnded`] when whoever asks for it may not any more.
    async fn append(&self, append: &Append) -> StoreResult<()>;

    /// The secret kept for a player turn to come.
    async fn secret(&self, game: GameId, player_turn: u64) -> StoreResult<Option<Bytes32>>;

    /// Every sealed instruction of a game, in the order they were sealed.
    async fn sealed(&self, game: GameId) -> StoreResult<Vec<SealedInstructions>>;

    /// The answer given before to a caller's idempotency key.
    async fn answer(&self, key: &str, idempotency_key: &str) -> StoreResult<Option<StoredAnswer>>;
}

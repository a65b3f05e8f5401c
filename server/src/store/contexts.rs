//! The context of a request: what must be known of its caller before anything is done for them.

use async_trait::async_trait;
use fieldpost_rules::dice::Bytes32;

use super::{
    GameId, Member, SealedInstructions, Seat, StoreResult, StoredAnswer, StoredGame, StoredKey,
    StoredSession,
};

/// By what ids a caller says who they are.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub struct Named<'a> {
    /// The key's.
    pub key: Option<&'a str>,
    /// That of the session under which they name it, if it is not the key itself that they sent.
    pub session: Option<&'a str>,
}

impl<'a> Named<'a> {
    /// A key that was sent itself.
    #[must_use]
    pub fn key(key: &'a str) -> Self {
        Self {
            key: Some(key),
            session: None,
        }
    }
}

/// What is known of a caller and of the game they ask of, all as of one moment after they called.
#[derive(Debug, Clone, PartialEq)]
pub struct ContextRows {
    /// The key they named, good or not.
    pub key: Option<StoredKey>,
    /// The member whose key it is.
    pub member: Option<Member>,
    /// The seat whose key it is.
    pub seat: Option<Seat>,
    /// The game asked of.
    pub game: Option<StoredGame>,
    /// The session they named, good or not, if it holds the key.
    pub session: Option<StoredSession>,
    /// Who holds which of the game's seats, as a text that is the same if and only if nothing of that changed;
    /// not read for a posting.
    pub seating: String,
}

/// The same of somebody who posts a sheet, and what must be known before that is played, all as of one moment.
#[derive(Debug, Clone, PartialEq)]
pub struct PostingContextRows {
    /// The caller and the game.
    pub rows: ContextRows,
    /// What the posting needs.
    pub before: BeforePosting,
}

/// What must be known before a posting is played.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct BeforePosting {
    /// The answer given before to the caller's idempotency key.
    pub answer: Option<StoredAnswer>,
    /// The secret kept for the player turn that the game has come to.
    pub secret: Option<Bytes32>,
    /// Every sealed instruction of the game, in the order they were sealed.
    pub sealed: Vec<SealedInstructions>,
}

/// Who holds which seats, as [`ContextRows::seating`] tells it. The lengths make it impossible for a name to look like
/// another seat.
#[must_use]
pub fn seating_of(seats: &[Seat]) -> String {
    let held = seats.iter().map(|seat| match &seat.player {
        Some(player) => format!("{} {} {player}", seat.place, player.chars().count()),
        None => format!("{} -1 ", seat.place),
    });
    held.collect::<Vec<_>>().join(" ")
}

/// Contexts of requests.
#[async_trait]
pub trait Contexts {
    /// What is known of a caller by what they name, and of a game.
    async fn context_rows(
        &self,
        named: Named<'_>,
        game: Option<GameId>,
    ) -> StoreResult<ContextRows>;

    /// The same, and what must be known before a posting of that key, by the name that its caller gave it.
    async fn posting_context_rows(
        &self,
        named: Named<'_>,
        game: GameId,
        idempotency_key: &str,
    ) -> StoreResult<PostingContextRows>;
}

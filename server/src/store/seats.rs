//! Seats and the invitations to them.

use async_trait::async_trait;

use super::{GameId, Stored};

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

/// Seats and invitations.
#[async_trait]
pub trait Seats {
    /// A game's seats in their order.
    async fn seats(&self, game: GameId) -> Stored<Vec<Seat>>;

    /// A seat by its id.
    async fn seat(&self, id: &str) -> Stored<Option<Seat>>;

    /// Issues an invitation; earlier unused ones to the same seat are void.
    async fn invite(&self, invitation: &Invitation) -> Stored<()>;

    /// An invitation by its id.
    async fn invitation(&self, id: &str) -> Stored<Option<Invitation>>;
}

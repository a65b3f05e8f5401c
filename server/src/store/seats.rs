//! Seats and the invitations to them.

use async_trait::async_trait;

use super::{Authority, GameId, MemberId, StoreResult, StoredKey};

/// A place at the table.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Seat {
    /// Its id.
    pub id: String,
    /// Its game.
    pub game: GameId,
    /// Order among the game's seats.
    pub place: u32,
    /// What its holder is.
    pub role: SeatRole,
    /// The holder's name, once taken.
    pub player: Option<String>,
    /// The member who took it with their own key, which opens it too.
    pub member: Option<MemberId>,
    /// Number of the event since which its holder has it: what was sealed for its side before is not open to them.
    pub reads_after: u64,
    /// Whether its holder called as an organiser when they took it.
    pub by_organiser: bool,
}

/// What the holder of a seat is.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum SeatRole {
    /// Plays a side, alone or with others.
    Player {
        /// Key of the side.
        side: String,
        /// Its name.
        side_name: String,
    },
    /// Decides what is disputed.
    Umpire,
    /// Only reads, also where the game is not open to all.
    Spectator,
}

impl Seat {
    /// Key of the side it plays, if it plays one.
    #[must_use]
    pub fn side(&self) -> Option<&str> {
        self.role.side()
    }
}

impl SeatRole {
    /// Key of the side that is played, if one is.
    #[must_use]
    pub fn side(&self) -> Option<&str> {
        match self {
            Self::Player { side, .. } => Some(side),
            Self::Umpire | Self::Spectator => None,
        }
    }
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

/// A seat taken: its invitation is spent and its key holds from now on.
#[derive(Debug, Clone)]
pub struct TakenSeat {
    /// The seat's id.
    pub seat: String,
    /// The name of who took it.
    pub player: String,
    /// The member who took it with their own key.
    pub member: Option<MemberId>,
    /// Number of the event by which it was taken; 0 if the record tells nothing of it.
    pub number: u64,
    /// Whether they called as an organiser.
    pub by_organiser: bool,
    /// Its key, made from the invitation.
    pub key: StoredKey,
}

/// A seat that is to be free again.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct FreedSeat {
    /// The seat's id.
    pub seat: String,
    /// When: RFC 3339, UTC.
    pub at: String,
    /// The same: milliseconds since 1970.
    pub at_ms: i64,
}

impl FreedSeat {
    /// A seat that is to be free from that moment on.
    #[must_use]
    pub fn at(seat: &str, at: jiff::Timestamp) -> Self {
        Self {
            seat: seat.to_owned(),
            at: at.to_string(),
            at_ms: at.as_millisecond(),
        }
    }
}

/// Seats and invitations.
#[async_trait]
pub trait Seats {
    /// A game's seats in their order.
    async fn seats(&self, game: GameId) -> StoreResult<Vec<Seat>>;

    /// A seat by its id.
    async fn seat(&self, id: &str) -> StoreResult<Option<Seat>>;

    /// The seat that a member took in a game.
    async fn seat_of(&self, member: MemberId, game: GameId) -> StoreResult<Option<Seat>>;

    /// The seats that a member took in any game, those of games opened last first, up to `limit`.
    async fn seats_of(&self, member: MemberId, limit: u32) -> StoreResult<Vec<Seat>>;

    /// Adds a seat to a game that is open, with an invitation to it.
    async fn add_seat(
        &self,
        by: &Authority,
        seat: &Seat,
        invitation: &Invitation,
    ) -> StoreResult<()>;

    /// Takes a seat of which the record tells nothing: an umpire's or a spectator's.
    async fn take_seat(&self, by: &Authority, taken: &TakenSeat) -> StoreResult<()>;

    /// Frees a seat of which the record tells nothing: whoever had it holds it no longer, its keys open nothing, its
    /// invitations are void, and no notices go to its addresses.
    async fn free_seat(&self, by: &Authority, freed: &FreedSeat) -> StoreResult<()>;

    /// Issues an invitation; earlier unused ones to the same seat are void.
    async fn invite(&self, by: &Authority, invitation: &Invitation) -> StoreResult<()>;

    /// An invitation by its id.
    async fn invitation(&self, id: &str) -> StoreResult<Option<Invitation>>;
}

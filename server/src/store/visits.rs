//! Visits: what must be known of whoever calls before anything is done for them.

use async_trait::async_trait;

use super::{GameCard, GameId, KeyCard, Member, Seat, Stored};

/// What is known of a caller and of the game they ask of, all as of one moment after they called.
#[derive(Debug, Clone, PartialEq)]
pub struct Visit {
    /// The key they named, good or not.
    pub key: Option<KeyCard>,
    /// The member whose key it is.
    pub member: Option<Member>,
    /// The seat whose key it is.
    pub seat: Option<Seat>,
    /// The game asked of.
    pub card: Option<GameCard>,
    /// Who holds which of the game's seats, as a text that is the same if and only if nothing of that changed.
    pub seating: String,
}

/// Who holds which seats, as [`Visit::seating`] tells it. The lengths make it impossible for a name to look like
/// another seat.
#[must_use]
pub fn seating_of(seats: &[Seat]) -> String {
    let held = seats.iter().map(|seat| match &seat.player {
        Some(player) => format!("{} {} {player}", seat.place, player.chars().count()),
        None => format!("{} -1 ", seat.place),
    });
    held.collect::<Vec<_>>().join(" ")
}

/// Visits.
#[async_trait]
pub trait Visits {
    /// What is known of the key with that id and of a game.
    async fn visit(&self, key: Option<&str>, game: Option<GameId>) -> Stored<Visit>;
}

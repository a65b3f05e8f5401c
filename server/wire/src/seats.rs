//! Seats: taking them, and what belongs to them alone.

use std::fmt;

use fieldpost_rules::orders::Instructions;
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use super::{GameSummary, Head, Open};

/// Asks for an invitation to a seat that is free: the first of a side, or the one named.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Invite {
    /// Key of the side.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub side: Option<String>,
    /// Or the seat's id.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub seat: Option<String>,
}

/// What the holder of a seat is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum SeatRole {
    /// Plays a side, alone or with others.
    Player,
    /// Decides what is disputed; may have any side's sheets measured.
    Umpire,
    /// Looks on, also where the game is not open to all.
    Spectator,
}

impl SeatRole {
    /// The word on the wire.
    #[must_use]
    pub const fn as_str(self) -> &'static str {
        match self {
            Self::Player => "player",
            Self::Umpire => "umpire",
            Self::Spectator => "spectator",
        }
    }
}

impl fmt::Display for SeatRole {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.as_str())
    }
}

/// Adds a seat to a game.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct AddSeat {
    /// What its holder will be.
    pub role: SeatRole,
    /// A player's side.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub side: Option<String>,
}

/// A seat, and who holds it.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
pub struct SeatSummary {
    /// The seat's id: 16 hexadecimal digits.
    pub seat: String,
    /// What its holder is.
    pub role: Open<SeatRole>,
    /// A player's side.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub side: Option<String>,
    /// The holder's name; null until it is taken.
    pub player: Option<String>,
}

/// The seats of a game.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
pub struct Seating {
    /// In their order.
    pub seats: Vec<SeatSummary>,
}

/// Takes a seat.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct TakeSeat {
    /// The invitation: `id.secret`.
    pub invitation: String,
    /// The name the player goes by: at most 60 characters.
    pub player: String,
    /// The time zone that the side's days count in: a name of the IANA database.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub zone: Option<String>,
}

/// A seat, taken.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct TakenSeat {
    /// The game as it is now.
    pub game: GameSummary,
    /// What its holder is.
    pub role: Open<Role>,
    /// The side; absent for an umpire's or a spectator's seat.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub side: Option<String>,
    /// The player's name.
    pub player: String,
    /// The seat's key: `id.secret`, given this once.
    pub key: String,
}

/// Whose key it is.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
pub struct MySeat {
    /// What its holder is.
    pub role: Open<Role>,
    /// A member's id.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub member: Option<String>,
    /// A seat's game.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub game: Option<String>,
    /// A player's side.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub side: Option<String>,
    /// A seat's or member's name.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub player: Option<String>,
}

/// What the holder of a key is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum Role {
    /// Opens games, issues invitations.
    Organiser,
    /// Plays a side.
    Player,
    /// Decides what is disputed.
    Umpire,
    /// Looks on.
    Spectator,
    /// Belongs to the club.
    Member,
}

impl Role {
    /// The word on the wire.
    #[must_use]
    pub const fn as_str(self) -> &'static str {
        match self {
            Self::Organiser => "organiser",
            Self::Player => "player",
            Self::Umpire => "umpire",
            Self::Spectator => "spectator",
            Self::Member => "member",
        }
    }
}

impl fmt::Display for Role {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.as_str())
    }
}

/// A side's standing instructions, shown to it alone.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct OwnInstructions {
    /// What the side's units do while the other side moves.
    pub instructions: Instructions,
    /// Their seal in the record; null while none were ever given.
    pub seal: Option<String>,
    /// The last entry of the record.
    pub head: Head,
}

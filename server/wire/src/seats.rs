//! Seats: taking them, and what belongs to them alone.

use fieldpost_rules::orders::Instructions;
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use super::Head;
use super::games::GameSummary;
use super::open::Open;
use super::roles::{Role, SeatRole};

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
    /// Public key of the player's device, with which they sign: Ed25519, 32 bytes in lower-case hex. Must be there in a game
    /// that is played with signatures, but for a spectator.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub key: Option<String>,
}

/// A seat, taken.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct TakenSeat {
    /// The game as it is now.
    pub game: GameSummary,
    /// The seat's id: 16 hexadecimal digits. Signatures cover it.
    #[serde(default)]
    pub seat: String,
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
    /// A seat's id.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub seat: Option<String>,
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

/// Seats the organiser as one who rules in a game.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct SeatOrganiser {
    /// The name they go by: at most 60 characters.
    pub player: String,
    /// Public key of their device, as for a seat.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub key: Option<String>,
}

/// A side's standing instructions, shown to it alone.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct OwnInstructions {
    /// What the side's units do while the other side moves; null when it was sealed before the caller had the seat.
    /// Whoever of the side laid it down opens it to them by giving it again.
    pub instructions: Option<Instructions>,
    /// Their seal in the record; null while none were ever given.
    pub seal: Option<String>,
    /// The last entry of the record.
    pub head: Head,
}

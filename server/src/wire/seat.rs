//! Seats: taking them, and what belongs to them alone.

use fieldpost_rules::orders::Instructions;
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use super::{Card, Head};

/// Asks for an invitation to a side's seat.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Invite {
    /// The side.
    pub side: String,
}

/// Takes a seat.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct TakeSeat {
    /// The invitation: `id.secret`.
    pub invitation: String,
    /// The name the player goes by.
    pub player: String,
    /// The time zone that the side's days count in: a name of the IANA database.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub zone: Option<String>,
}

/// A seat, taken.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct TakenSeat {
    /// The game.
    pub game: Card,
    /// The side.
    pub side: String,
    /// The player's name.
    pub player: String,
    /// The seat's key: `id.secret`, given this once.
    pub key: String,
}

/// Whose key it is.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
pub struct MySeat {
    /// What its holder is.
    pub role: Role,
    /// A player's game.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub game: Option<String>,
    /// A player's side.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub side: Option<String>,
    /// A player's name.
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
}

/// A side's standing instructions, shown to it alone.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct OwnInstructions {
    /// What they are.
    pub instructions: Instructions,
    /// Their seal in the record; null while none were ever given.
    pub seal: Option<String>,
    /// The last entry of the record.
    pub head: Head,
}

//! Roles: what the holder of a key or a seat is.

use std::fmt;

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

/// What the holder of a seat is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum SeatRole {
    /// Plays a side, alone or with others.
    Player,
    /// Decides what is disputed; may have any side's sheets measured.
    Umpire,
    /// Only reads, also where the game is not open to all.
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
    /// Only reads.
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

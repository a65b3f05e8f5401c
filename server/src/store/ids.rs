//! Ids of games and members, and where a game's record has come to.

use std::fmt;
use std::str::FromStr;

use fieldpost_rules::dice::Bytes32;

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

impl From<Head> for fieldpost_wire::Head {
    fn from(head: Head) -> Self {
        Self {
            number: head.number,
            hash: hex::encode(head.hash),
        }
    }
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

/// A member's id: 8 bytes, shown as 16 hexadecimal digits.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct MemberId(pub [u8; 8]);

impl fmt::Display for MemberId {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&hex::encode(self.0))
    }
}

impl fmt::Debug for MemberId {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "MemberId({self})")
    }
}

impl FromStr for MemberId {
    type Err = hex::FromHexError;

    fn from_str(text: &str) -> Result<Self, Self::Err> {
        let mut bytes = [0; 8];
        hex::decode_to_slice(text, &mut bytes)?;
        Ok(Self(bytes))
    }
}

//! Bodies of postings: what a seat sends, in the form that is signed, stored and read again by whoever checks a record.

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use crate::orders::TurnSheet;
use crate::verdict::Place;

/// A sheet to be posted.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct PostSheet {
    /// The sheet.
    pub sheet: TurnSheet,
    /// The poster's own number for the dice: 32 bytes in hex.
    pub number: String,
}

/// What is signed and stored of standing instructions while they are sealed.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Seal {
    /// The seal, in hex.
    pub seal: String,
}

/// Takes leave for the caller's side.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct TakeLeave {
    /// The first day in the side's own zone: YYYY-MM-DD.
    pub from: String,
    /// How many days: 1 to 366.
    pub days: u16,
}

/// Lets a side's days count in a time zone.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct SetZone {
    /// A name of the IANA database, as in Europe/Lisbon.
    pub zone: String,
}

/// Asks the umpire.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct RaiseDispute {
    /// Number of the event it is about, if it is about one.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub about: Option<u64>,
    /// What is disputed: up to 1000 characters.
    pub text: String,
}

/// Gives a ruling.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Rule {
    /// Number of the event it is about, if it is about one.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub about: Option<u64>,
    /// The ruling: up to 1000 characters.
    pub text: String,
    /// What is done besides.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub then: Option<Action>,
}

/// What an umpire does.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(tag = "do", rename_all = "kebab-case", deny_unknown_fields)]
pub enum Action {
    /// Gives the side to move more time.
    MoreTime {
        /// Days more: 1 to 365.
        days: u16,
    },
    /// Passes the player turn with units standing.
    Pass,
    /// Ends the battle.
    End {
        /// The winner; null or absent: a draw.
        #[serde(default)]
        winner: Option<String>,
    },
    /// Puts units where they should stand, all of them or none.
    Correct {
        /// Which, and where: each once, at least one.
        #[schemars(length(min = 1))]
        units: Vec<PutUnit>,
    },
    /// Stops every clock.
    Pause,
    /// Lets the clocks run again.
    Resume,
}

/// A unit and where it is put.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct PutUnit {
    /// Key of the unit.
    pub unit: String,
    /// Where its anchor goes, and its bearing.
    pub place: Place,
}

/// Adds a key to the caller's seat, or ends one of its keys.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct NameKey {
    /// The public key: Ed25519, 32 bytes in hex.
    pub key: String,
}

/// Puts a key in the place of those that a seat has lost, or countersigns it.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct NameSeatKey {
    /// Id of the seat.
    pub seat: String,
    /// The public key: Ed25519, 32 bytes in hex.
    pub key: String,
    /// Why, in words; of a replacement only.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub reason: Option<String>,
}

/// Agrees that somebody who plays on the other side rules as well.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct AcceptUmpire {
    /// Id of the seat from which is ruled.
    pub seat: String,
}

//! Games: opening them, listing them.

use fieldpost_rules::game::{ClockRules, Ending};
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use super::Head;

/// Asks for a game to be opened.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct OpenGame {
    /// Key of a scenario that is shipped with the server.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub shipped: Option<String>,
    /// Or files of the organiser's own.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub files: Option<TextFiles>,
    /// Whether spectators may read without a key.
    #[serde(default = "yes")]
    pub open_to_all: bool,
    /// The clock it is played by, if it is.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub clock: Option<ClockRules>,
}

fn yes() -> bool {
    true
}

/// A ruleset and a scenario.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct TextFiles {
    /// The ruleset.
    pub ruleset: TextFile,
    /// The scenario.
    pub scenario: TextFile,
}

/// One file.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct TextFile {
    /// Its name, for faults to be told by.
    pub name: String,
    /// Its text.
    pub text: String,
}

/// Opens a game to spectators or closes it.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct OpenToAll {
    /// Whether spectators may read without a key.
    pub open_to_all: bool,
}

/// A game that was opened.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct OpenedGame {
    /// The game.
    pub game: Card,
    /// An invitation to each seat.
    pub invitations: Vec<GivenInvitation>,
}

/// An invitation as it is given: once.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct GivenInvitation {
    /// The side it is for.
    pub side: String,
    /// The invitation: `id.secret`.
    pub invitation: String,
    /// Until when it works: RFC 3339, UTC.
    pub expires_at: String,
}

/// A game in short.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Card {
    /// Its id.
    pub id: String,
    /// The scenario's name.
    pub name: String,
    /// When it was opened: RFC 3339, UTC.
    pub opened_at: String,
    /// Whether spectators may read without a key.
    pub open_to_all: bool,
    /// The last entry of its record.
    pub head: Head,
    /// The sides, the one that moves first given first.
    pub sides: Vec<SideCard>,
    /// The game turn being played, from 1.
    pub game_turn: u64,
    /// How many there are.
    pub game_turns: u32,
    /// The player turn being played, both sides' counted from 1.
    pub player_turn: u64,
    /// The side to post next; null once the game has ended.
    pub to_move: Option<String>,
    /// How it ended.
    pub ended: Option<Ending>,
}

/// A side and who plays it.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
pub struct SideCard {
    /// Its key.
    pub side: String,
    /// Its name.
    pub name: String,
    /// The player's name; null until the seat is taken.
    pub player: Option<String>,
}

/// Some games.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct GamesPage {
    /// The games, oldest first.
    pub games: Vec<Card>,
    /// Whether there are more after them.
    pub more: bool,
}

/// The scenarios shipped with the server.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
pub struct Scenarios {
    /// One each.
    pub scenarios: Vec<ShippedScenario>,
}

/// A scenario shipped with the server.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
pub struct ShippedScenario {
    /// The key to open it by.
    pub key: String,
    /// Its name.
    pub name: String,
    /// The situation.
    pub about: String,
}

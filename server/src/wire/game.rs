//! Games: opening them, listing them.

use fieldpost_rules::game::{ClockRules, Ending};
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use super::{Head, Role};

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
    /// Minutes after which spectators see what happened: at most 10080, a week.
    #[serde(default, skip_serializing_if = "is_nought")]
    #[schemars(range(max = 10080))]
    pub spectator_delay_minutes: u32,
}

#[expect(clippy::trivially_copy_pass_by_ref, reason = "as serde calls it")]
fn is_nought(number: &u32) -> bool {
    *number == 0
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

/// What spectators may read. What is absent stays as it is.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct ForSpectators {
    /// Whether spectators may read without a key.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub open_to_all: Option<bool>,
    /// Minutes after which spectators see what happened: at most 10080, a week.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[schemars(range(max = 10080))]
    pub spectator_delay_minutes: Option<u32>,
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
    /// What its holder will be.
    pub role: Role,
    /// The side it is for; absent for an umpire's or a spectator's seat.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub side: Option<String>,
    /// The seat it is for.
    pub seat: String,
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
    /// Minutes after which spectators see what happened.
    #[serde(default)]
    pub spectator_delay_minutes: u32,
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
    /// The player's name, the first's if there are several; null until a seat is taken.
    pub player: Option<String>,
    /// Everybody who plays it.
    #[serde(default)]
    pub players: Vec<String>,
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

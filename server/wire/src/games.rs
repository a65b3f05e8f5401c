//! Games: opening them, listing them.

use fieldpost_rules::game::{ClockRules, Ending};
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use super::Head;
use super::open::Open;
use super::roles::Role;

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
    /// Whether whatever a seat does must be signed by a key of that seat.
    #[serde(default, skip_serializing_if = "is_false")]
    pub signed: bool,
}

#[expect(clippy::trivially_copy_pass_by_ref, reason = "as serde calls it")]
fn is_false(flag: &bool) -> bool {
    !flag
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
    /// The file's name, which faults in it are reported with.
    pub name: String,
    /// The file's text, TOML.
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
    /// The game as it is now.
    pub game: GameSummary,
    /// An invitation to each seat.
    pub invitations: Vec<GivenInvitation>,
}

/// An invitation as it is given: once.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct GivenInvitation {
    /// What its holder will be.
    pub role: Open<Role>,
    /// The side it is for; absent for an umpire's or a spectator's seat.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub side: Option<String>,
    /// The seat it is for.
    pub seat: String,
    /// The invitation: `id.secret`.
    pub invitation: String,
    /// Until when it works: RFC 3339, UTC.
    pub expires_at: String,
    /// For the page: the link by which whoever is invited comes in there, its secret in the fragment.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub address: Option<String>,
    /// For the page: the same as a QR code, an SVG picture.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub qr: Option<String>,
}

impl GivenInvitation {
    /// The side it is for, else what its holder will be.
    #[must_use]
    pub fn for_whom(&self) -> String {
        let role = || self.role.to_string();
        self.side.clone().unwrap_or_else(role)
    }
}

/// A game in short.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct GameSummary {
    /// The game's id: 32 hexadecimal digits.
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
    pub sides: Vec<SideSummary>,
    /// The game turn being played, from 1.
    pub game_turn: u64,
    /// How many there are.
    pub game_turns: u32,
    /// The player turn being played, both sides' counted from 1.
    pub player_turn: u64,
    /// The side to post next; null once the game has ended.
    pub to_move: Option<String>,
    /// How it ended; null while it goes on.
    pub ended: Option<Ending>,
}

/// A side and who plays it.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
pub struct SideSummary {
    /// Key of the side, as the scenario has it.
    pub side: String,
    /// Name of the side.
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
    pub games: Vec<GameSummary>,
    /// Whether there are more after them.
    pub more: bool,
}

/// The scenarios shipped with the server.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
pub struct Scenarios {
    /// In the order in which they are listed.
    pub scenarios: Vec<ShippedScenario>,
}

/// A scenario shipped with the server.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
pub struct ShippedScenario {
    /// The key to open it by.
    pub key: String,
    /// Title of the battle.
    pub name: String,
    /// The situation, as the scenario's author tells it.
    pub about: String,
}

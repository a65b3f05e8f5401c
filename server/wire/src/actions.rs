//! The clock, and what players and the umpire do besides posting sheets.

use fieldpost_rules::game::ClockRules;
use fieldpost_rules::verdict::Place;
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use super::{Head, NewsItem};

/// A game's clock.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct ClockPage {
    /// How it runs; null when the game is played without.
    pub rules: Option<ClockRules>,
    /// The side whose clock runs; null until each side has a player, and after the end.
    pub to_move: Option<String>,
    /// When its time is out: RFC 3339, UTC; null while no clock runs.
    pub due: Option<String>,
    /// Whole days left to it.
    pub days_left: Option<i64>,
    /// Whether its time is out.
    pub is_out: bool,
    /// Whether every clock stands.
    pub is_paused: bool,
    /// Both sides.
    pub sides: Vec<ClockSide>,
}

/// What a side has on the clock.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct ClockSide {
    /// Key of the side.
    pub side: String,
    /// The time zone its days count in: a name of the IANA database.
    pub zone: String,
    /// Days saved from turns before.
    pub saved: i64,
    /// Leave taken.
    pub leave: Vec<Leave>,
    /// Days of leave left in this calendar year.
    pub leave_left: i64,
    /// Whether it asks for a pause.
    pub asks_pause: bool,
}

/// Leave that a side has taken.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
pub struct Leave {
    /// The first day: YYYY-MM-DD.
    pub from: String,
    /// How many days, from 1.
    pub days: u16,
    /// The time zone whose days they are, that of the side when it took them: a name of the IANA database.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub zone: String,
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

/// What came of an action.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Done {
    /// The last entry of the record now.
    pub head: Head,
    /// What happened.
    pub news: Vec<NewsItem>,
    /// The clock now.
    pub clock: ClockPage,
}

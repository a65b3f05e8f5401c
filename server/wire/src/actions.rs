//! The clock, and what players and the umpire do besides posting sheets.

use fieldpost_rules::game::ClockRules;
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

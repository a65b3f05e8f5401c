//! Notices: where a seat wants to hear of its game, what could not be told, and what a webhook is sent.

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use super::NewsItem;
use crate::store;

/// What notices are about.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum Topic {
    /// The other side has posted.
    Turns,
    /// The game can begin; it has ended.
    Game,
    /// Disputes and rulings.
    Rulings,
    /// Days that are left; time that is out.
    Clock,
}

impl From<store::Topic> for Topic {
    fn from(topic: store::Topic) -> Self {
        match topic {
            store::Topic::Turns => Self::Turns,
            store::Topic::Game => Self::Game,
            store::Topic::Rulings => Self::Rulings,
            store::Topic::Clock => Self::Clock,
        }
    }
}

impl From<Topic> for store::Topic {
    fn from(topic: Topic) -> Self {
        match topic {
            Topic::Turns => Self::Turns,
            Topic::Game => Self::Game,
            Topic::Rulings => Self::Rulings,
            Topic::Clock => Self::Clock,
        }
    }
}

/// How a notice travels.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum Way {
    /// E-mail.
    Mail,
    /// A signed request to a URL.
    Webhook,
}

impl From<store::Way> for Way {
    fn from(way: store::Way) -> Self {
        match way {
            store::Way::Mail => Self::Mail,
            store::Way::Webhook => Self::Webhook,
        }
    }
}

/// Says where a seat wants to hear of its game. What is absent or null is taken back.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct SetNotices {
    /// An e-mail address.
    #[serde(default)]
    pub mail: Option<String>,
    /// A URL, https.
    #[serde(default)]
    pub webhook: Option<String>,
    /// What is told there; absent: everything.
    #[serde(default)]
    pub topics: Option<Vec<Topic>>,
}

/// Where a seat hears of its game, shown to it alone.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
pub struct OwnNotices {
    /// By e-mail.
    pub mail: Option<OwnAddress>,
    /// By webhook.
    pub webhook: Option<OwnAddress>,
    /// What is told there.
    pub topics: Vec<Topic>,
    /// The ways that this server has.
    pub ways: Vec<Way>,
}

/// One address of a seat.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
pub struct OwnAddress {
    /// The e-mail address or URL.
    pub address: String,
    /// When it was set: RFC 3339, UTC.
    pub since: String,
    /// Why the newest notice that did not arrive did not; absent: all arrived.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub trouble: Option<String>,
    /// Signs what is sent to a webhook; given once, when its URL is set.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub secret: Option<String>,
}

/// Some notices that were given up.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
pub struct DeadNotices {
    /// The notices.
    pub notices: Vec<DeadNotice>,
    /// Whether there are more after them.
    pub more: bool,
}

/// A notice that was given up. The address it was for is its seat's alone to know.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
pub struct DeadNotice {
    /// Names it.
    pub id: String,
    /// The game.
    pub game: String,
    /// The side of the seat it was for; null: it was the umpire's.
    pub side: Option<String>,
    /// The name of the seat's holder.
    pub player: Option<String>,
    /// How it was to travel.
    pub way: Way,
    /// What it tells.
    pub kind: String,
    /// The event it tells of.
    pub number: u64,
    /// How often it was tried.
    pub tries: u32,
    /// When it was queued: RFC 3339, UTC.
    pub queued_at: String,
    /// When it was given up: RFC 3339, UTC.
    pub dead_at: String,
    /// Why the last try failed.
    pub trouble: String,
}

/// Asks for notices that were given up to be tried again.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct TryAgain {
    /// Which; absent: all.
    #[serde(default)]
    pub ids: Option<Vec<String>>,
}

/// How many notices are tried again.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
pub struct TriedAgain {
    /// So many.
    pub again: u64,
}

/// What a webhook is sent.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
pub struct Hook {
    /// `game.your_turn`, `game.opened`, `game.ended`, `game.dispute`, `game.ruling`, `game.reminder`,
    /// `game.time_out`, `notices.welcome`.
    #[serde(rename = "type")]
    pub kind: String,
    /// When it was queued: RFC 3339, UTC.
    pub timestamp: String,
    /// The news.
    pub data: HookData,
}

/// The news that a webhook is sent.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
pub struct HookData {
    /// The game's id.
    pub game: String,
    /// The scenario's name.
    pub name: String,
    /// The side of the seat that is told; null: it is the umpire's.
    pub side: Option<String>,
    /// The event it tells of.
    pub number: u64,
    /// The game turn, from 1.
    pub game_turn: u32,
    /// How many there are.
    pub game_turns: u32,
    /// The side to post next; null once the game has ended.
    pub to_move: Option<String>,
    /// Days left for the player turn, in a reminder.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub days_left: Option<u16>,
    /// Said besides.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub words: Option<String>,
    /// What happened.
    pub news: Vec<NewsItem>,
    /// Whether `news` was left out because it is too long for a webhook: read it from the server.
    pub news_left_out: bool,
}

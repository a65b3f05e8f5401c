//! Notices: where a seat wants to hear of its game, what could not be delivered, and what a webhook is sent.

use std::fmt;
use std::str::FromStr;

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use super::{NewsItem, Open};

/// What notices are about.
#[derive(
    Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize, JsonSchema,
)]
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

impl Topic {
    /// All there are.
    pub const ALL: [Self; 4] = [Self::Turns, Self::Game, Self::Rulings, Self::Clock];

    /// The word on the wire and in the store.
    #[must_use]
    pub const fn as_str(self) -> &'static str {
        match self {
            Self::Turns => "turns",
            Self::Game => "game",
            Self::Rulings => "rulings",
            Self::Clock => "clock",
        }
    }
}

impl FromStr for Topic {
    type Err = UnknownWord;

    fn from_str(word: &str) -> Result<Self, UnknownWord> {
        let mut all = Self::ALL.into_iter();
        all.find(|topic| topic.as_str() == word).ok_or(UnknownWord)
    }
}

impl fmt::Display for Topic {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.as_str())
    }
}

/// How a notice travels.
#[derive(
    Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize, JsonSchema,
)]
#[serde(rename_all = "kebab-case")]
pub enum Channel {
    /// E-mail.
    Mail,
    /// A signed request to a URL.
    Webhook,
}

impl Channel {
    /// All there are, in the order in which they are listed.
    pub const ALL: [Self; 2] = [Self::Mail, Self::Webhook];

    /// The word on the wire and in the store.
    #[must_use]
    pub const fn as_str(self) -> &'static str {
        match self {
            Self::Mail => "mail",
            Self::Webhook => "webhook",
        }
    }
}

impl FromStr for Channel {
    type Err = UnknownWord;

    fn from_str(word: &str) -> Result<Self, UnknownWord> {
        let mut all = Self::ALL.into_iter();
        all.find(|channel| channel.as_str() == word)
            .ok_or(UnknownWord)
    }
}

impl fmt::Display for Channel {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.as_str())
    }
}

/// A word that is none of those known.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct UnknownWord;

impl fmt::Display for UnknownWord {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("an unknown word")
    }
}

impl std::error::Error for UnknownWord {}

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
    /// The topics that go there; absent: all.
    #[serde(default)]
    pub topics: Option<Vec<Topic>>,
}

impl SetNotices {
    /// The address wanted for a channel.
    #[must_use]
    pub fn address(&self, channel: Channel) -> Option<&str> {
        match channel {
            Channel::Mail => self.mail.as_deref(),
            Channel::Webhook => self.webhook.as_deref(),
        }
    }
}

/// Where a seat hears of its game, shown to it alone.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
pub struct OwnNotices {
    /// By e-mail.
    pub mail: Option<OwnAddress>,
    /// By webhook.
    pub webhook: Option<OwnAddress>,
    /// The topics that go there.
    pub topics: Vec<Open<Topic>>,
    /// The channels that this server has.
    pub ways: Vec<Open<Channel>>,
}

impl OwnNotices {
    /// The seat's address for a channel.
    pub fn address_mut(&mut self, channel: Channel) -> &mut Option<OwnAddress> {
        match channel {
            Channel::Mail => &mut self.mail,
            Channel::Webhook => &mut self.webhook,
        }
    }
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
    /// In the order of their ids.
    pub notices: Vec<DeadNotice>,
    /// Whether there are more after them.
    pub more: bool,
}

/// A notice that was given up. The address it was for is its seat's alone to know.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
pub struct DeadNotice {
    /// The notice's id: `ADDRESS.NUMBER.KIND`.
    pub id: String,
    /// The game's id.
    pub game: String,
    /// The side of the seat it was for; null: it was the umpire's.
    pub side: Option<String>,
    /// The name of the seat's holder.
    pub player: Option<String>,
    /// How it was to travel.
    pub way: Open<Channel>,
    /// What it tells.
    pub kind: String,
    /// The event it tells of.
    pub number: u64,
    /// How often it was tried: 1 to 10.
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
    /// The count.
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
    /// The side of the seat that it goes to; null: it is the umpire's.
    pub side: Option<String>,
    /// The event it tells of.
    pub number: u64,
    /// Its hash in hex.
    #[serde(default)]
    pub hash: String,
    /// The same in digits that two people can read to each other.
    #[serde(default)]
    pub read_aloud: String,
    /// The game turn, from 1.
    pub game_turn: u32,
    /// How many there are.
    pub game_turns: u32,
    /// The side to post next; null once the game has ended.
    pub to_move: Option<String>,
    /// Days left for the player turn, in a reminder.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub days_left: Option<u16>,
    /// What is said besides the news.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub words: Option<String>,
    /// What happened.
    pub news: Vec<NewsItem>,
    /// Whether `news` was left out because it is too long for a webhook: read it from the server.
    pub news_left_out: bool,
}

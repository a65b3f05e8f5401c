//! What happened: news, single events, the record.

use fieldpost_rules::game::Event;
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use super::Head;

/// One event in words.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
pub struct NewsItem {
    /// Number of the event, from 1.
    pub number: u64,
    /// When it happened: RFC 3339, UTC.
    pub at: String,
    /// Kind of the event, such as `battle-fought`.
    pub event: String,
    /// What happened, in words; empty where there is nothing to say.
    pub words: String,
}

/// Some news.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
pub struct NewsPage {
    /// The last entry of the record.
    pub head: Head,
    /// The news, oldest first.
    pub news: Vec<NewsItem>,
    /// Whether there is more after them.
    pub more: bool,
}

/// One event, whole.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct EventPage {
    /// Number of the event, from 1.
    pub number: u64,
    /// Hash of the entry before.
    pub previous: String,
    /// Hash of this entry, in hex.
    pub hash: String,
    /// When it happened: RFC 3339, UTC.
    pub at: String,
    /// What happened, as data.
    pub event: Event,
    /// What happened, with every ledger.
    pub words: String,
}

/// One line of an exported record.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
pub struct RecordLine {
    /// Number of the entry.
    pub number: u64,
    /// Hash of the entry, in hex.
    pub hash: String,
    /// The very text that is hashed.
    pub body: String,
}

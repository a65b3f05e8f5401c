//! What travels between this client and a server. The types are the server's own, which take answers of newer servers
//! as well; here stand those that only this client needs.

use fieldpost_rules::orders::TurnSheet;
use fieldpost_rules::verdict::SheetVerdict;
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

pub use fieldpost_wire::{
    AddedMember, AddressSet, Checked, ClockPage, ClockSide, DeadNotice, DeadNotices, Done,
    FreshKey, GameSummary, GamesPage, GivenInvitation, Head, MemberSummary, Members, MySeat,
    NewsItem, OpenedGame, OwnAddress, OwnInstructions, OwnNotices, PostSheet, RevokedKey,
    SeatSummary, Seating, TableUnit, TakenSeat, TriedAgain, Whereabouts,
};

/// Takes a seat.
#[derive(Debug, Clone, Serialize)]
pub struct TakeSeat<'a> {
    /// The invitation.
    pub invitation: &'a str,
    /// The name the player goes by.
    pub player: &'a str,
    /// The time zone that the side's days count in.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub zone: Option<String>,
    /// Public key of this machine for the seat.
    pub key: String,
}

/// A sheet to be measured without being posted.
#[derive(Debug, Clone, Serialize)]
pub struct CheckSheet<'a> {
    /// The sheet.
    pub sheet: &'a TurnSheet,
}

/// The answer to a posting: accepted, or refused as a normal answer.
#[derive(Debug, Clone, Serialize, Deserialize, JsonSchema)]
pub struct Posted {
    /// Whether it was.
    pub accepted: bool,
    /// The last entry of the record, now.
    pub head: Head,
    /// Number of the first event of this posting, if it was accepted.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub first: Option<u64>,
    /// What was measured.
    pub verdict: SheetVerdict,
    /// What happened, if it was accepted.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub news: Vec<NewsItem>,
    /// What was measured in words, if it was refused.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub words: Option<String>,
}

/// Says where a seat wants to hear of its game; what is absent is taken back. Topics of a newer server are sent back as
/// they came.
#[derive(Debug, Clone, Serialize)]
pub struct SetNotices {
    /// An e-mail address.
    pub mail: Option<String>,
    /// A URL.
    pub webhook: Option<String>,
    /// What is told there.
    pub topics: Option<Vec<String>>,
}

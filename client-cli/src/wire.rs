//! What travels between this client and a server: the members that the client reads or sends.
//! Members that it does not know are left alone, so that a newer server can be spoken to.

use fieldpost_rules::game::{ClockRules, Ending};
use fieldpost_rules::orders::{Instructions, TurnSheet};
use fieldpost_rules::verdict::SheetVerdict;
use serde::{Deserialize, Serialize};

/// The last entry of a record.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Head {
    /// Its number.
    pub number: u64,
    /// Its hash in hex: the game's `ETag`.
    pub hash: String,
}

/// A game in short.
#[derive(Debug, Clone, Serialize, Deserialize)]
pub struct Card {
    /// Its id.
    pub id: String,
    /// The scenario's name.
    pub name: String,
    /// When it was opened: RFC 3339, UTC.
    #[serde(default)]
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
#[derive(Debug, Clone, Serialize, Deserialize)]
pub struct SideCard {
    /// Its key.
    pub side: String,
    /// Its name.
    pub name: String,
    /// The first player's name; null until a seat is taken.
    pub player: Option<String>,
    /// Everybody who plays it.
    #[serde(default)]
    pub players: Vec<String>,
}

/// Some games.
#[derive(Debug, Clone, Serialize, Deserialize)]
pub struct GamesPage {
    /// The games, oldest first.
    pub games: Vec<Card>,
    /// Whether there are more after them.
    pub more: bool,
}

/// A game that was opened.
#[derive(Debug, Clone, Serialize, Deserialize)]
pub struct OpenedGame {
    /// The game.
    pub game: Card,
    /// An invitation to each seat.
    pub invitations: Vec<Invitation>,
}

/// An invitation as it is given: once.
#[derive(Debug, Clone, Serialize, Deserialize)]
pub struct Invitation {
    /// What its holder will be.
    #[serde(default = "player")]
    pub role: String,
    /// The side it is for; none for an umpire's or a spectator's seat.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub side: Option<String>,
    /// The seat it is for.
    #[serde(default)]
    pub seat: String,
    /// The invitation itself.
    pub invitation: String,
    /// Until when it works: RFC 3339, UTC.
    pub expires_at: String,
}

fn player() -> String {
    "player".to_owned()
}

impl Invitation {
    /// The side it is for, else what its holder will be.
    #[must_use]
    pub fn for_whom(&self) -> &str {
        self.side.as_deref().unwrap_or(&self.role)
    }
}

/// The seats of a game.
#[derive(Debug, Clone, Serialize, Deserialize)]
pub struct Seating {
    /// In their order.
    pub seats: Vec<SeatCard>,
}

/// A seat, and who holds it.
#[derive(Debug, Clone, Serialize, Deserialize)]
pub struct SeatCard {
    /// Its id.
    pub seat: String,
    /// `player`, `umpire` or `spectator`.
    pub role: String,
    /// A player's side.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub side: Option<String>,
    /// The holder's name; null until it is taken.
    pub player: Option<String>,
}

/// The members of the club.
#[derive(Debug, Clone, Serialize, Deserialize)]
pub struct Members {
    /// By name.
    pub members: Vec<MemberCard>,
}

/// A member of the club.
#[derive(Debug, Clone, Serialize, Deserialize)]
pub struct MemberCard {
    /// Their id.
    pub id: String,
    /// The name they go by.
    pub name: String,
    /// `organiser` or `member`.
    pub role: String,
    /// Since when: RFC 3339, UTC.
    pub joined_at: String,
}

/// A member with a fresh key.
#[derive(Debug, Clone, Serialize, Deserialize)]
pub struct AddedMember {
    /// The member.
    pub member: MemberCard,
    /// Their key, given this once.
    pub key: String,
}

/// A fresh key, given this once.
#[derive(Debug, Clone, Deserialize)]
pub struct FreshKey {
    /// The key.
    pub key: String,
}

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
}

/// A seat, taken.
#[derive(Debug, Clone, Deserialize)]
pub struct TakenSeat {
    /// The game.
    pub game: Card,
    /// What its holder is.
    #[serde(default = "player")]
    pub role: String,
    /// The side; none for an umpire's or a spectator's seat.
    #[serde(default)]
    pub side: Option<String>,
    /// The player's name.
    pub player: String,
    /// The seat's key, given this once.
    pub key: String,
}

/// Whose key it is.
#[derive(Debug, Clone, Deserialize)]
pub struct WhoseKey {
    /// `player`, `umpire`, `spectator`, `member` or `organiser`.
    pub role: String,
    /// A player's game.
    #[serde(default)]
    pub game: Option<String>,
    /// A player's side.
    #[serde(default)]
    pub side: Option<String>,
    /// A player's name.
    #[serde(default)]
    pub player: Option<String>,
}

/// A sheet to be tried.
#[derive(Debug, Clone, Serialize)]
pub struct CheckSheet<'a> {
    /// The sheet.
    pub sheet: &'a TurnSheet,
}

/// A sheet to be posted.
#[derive(Debug, Clone, Serialize, Deserialize)]
pub struct PostSheet {
    /// The sheet.
    pub sheet: TurnSheet,
    /// The poster's own number for the dice: 32 bytes in hex.
    pub number: String,
}

/// The answer to a trial.
#[derive(Debug, Clone, Serialize, Deserialize)]
pub struct Checked {
    /// The head it was tried against.
    pub head: Head,
    /// The sheet as it was understood.
    pub sheet: TurnSheet,
    /// What was measured.
    pub verdict: SheetVerdict,
    /// The same in words.
    pub words: String,
}

/// The answer to a posting: accepted, or refused as a normal answer.
#[derive(Debug, Clone, Serialize, Deserialize)]
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

/// One event in words.
#[derive(Debug, Clone, Serialize, Deserialize)]
pub struct NewsItem {
    /// Its number.
    pub number: u64,
    /// When it happened: RFC 3339, UTC.
    pub at: String,
    /// Its kind.
    pub event: String,
    /// What happened.
    pub words: String,
}

/// A side's standing instructions, shown to it alone.
#[derive(Debug, Clone, Serialize, Deserialize)]
pub struct OwnInstructions {
    /// What they are.
    pub instructions: Instructions,
    /// Their seal in the record; null while none were ever given.
    pub seal: Option<String>,
    /// The last entry of the record.
    pub head: Head,
}

/// A game's clock.
#[derive(Debug, Clone, Serialize, Deserialize)]
pub struct ClockPage {
    /// How it runs; null when the game is played without.
    pub rules: Option<ClockRules>,
    /// The side whose clock runs.
    pub to_move: Option<String>,
    /// When its time is out: RFC 3339, UTC.
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
#[derive(Debug, Clone, Serialize, Deserialize)]
pub struct ClockSide {
    /// Its key.
    pub side: String,
    /// The time zone its days count in.
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

/// Leave.
#[derive(Debug, Clone, Serialize, Deserialize)]
pub struct Leave {
    /// Its first day.
    pub from: String,
    /// How many days.
    pub days: u16,
}

/// What came of something done beside the sheets.
#[derive(Debug, Clone, Serialize, Deserialize)]
pub struct Done {
    /// The last entry of the record now.
    pub head: Head,
    /// What happened.
    pub news: Vec<NewsItem>,
    /// The clock now.
    pub clock: ClockPage,
}

/// Says where a seat wants to hear of its game; what is absent is taken back.
#[derive(Debug, Clone, Serialize)]
pub struct SetNotices {
    /// An e-mail address.
    pub mail: Option<String>,
    /// A URL.
    pub webhook: Option<String>,
    /// What is told there.
    pub topics: Option<Vec<String>>,
}

/// Where a seat hears of its game.
#[derive(Debug, Clone, Serialize, Deserialize)]
pub struct OwnNotices {
    /// By e-mail.
    pub mail: Option<OwnAddress>,
    /// By webhook.
    pub webhook: Option<OwnAddress>,
    /// What is told there.
    pub topics: Vec<String>,
    /// The ways that the server has.
    pub ways: Vec<String>,
}

/// One address of a seat.
#[derive(Debug, Clone, Serialize, Deserialize)]
pub struct OwnAddress {
    /// The e-mail address or URL.
    pub address: String,
    /// When it was set: RFC 3339, UTC.
    pub since: String,
    /// Why the newest notice that did not arrive did not.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub trouble: Option<String>,
    /// Signs what is sent to a webhook; given once.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub secret: Option<String>,
}

/// Some notices that were given up.
#[derive(Debug, Clone, Deserialize)]
pub struct DeadNotices {
    /// The notices.
    pub notices: Vec<DeadNotice>,
    /// Whether there are more after them.
    pub more: bool,
}

/// A notice that was given up.
#[derive(Debug, Clone, Serialize, Deserialize)]
pub struct DeadNotice {
    /// Names it.
    pub id: String,
    /// The game.
    pub game: String,
    /// The side of the seat it was for; absent: it was the umpire's.
    pub side: Option<String>,
    /// The name of the seat's holder.
    pub player: Option<String>,
    /// How it was to travel.
    pub way: String,
    /// What it tells.
    pub kind: String,
    /// How often it was tried.
    pub tries: u32,
    /// When it was given up: RFC 3339, UTC.
    pub dead_at: String,
    /// Why the last try failed.
    pub trouble: String,
}

/// How many notices are tried again.
#[derive(Debug, Clone, Serialize, Deserialize)]
pub struct TriedAgain {
    /// So many.
    pub again: u64,
}

//! What commands answer as JSON, and its schemas: both come from these types.

use std::path::PathBuf;

use fieldpost_rules::game::{Ending, Event};
use fieldpost_rules::orders::TurnSheet;
use fieldpost_rules::verdict::SheetVerdict;
use schemars::{JsonSchema, Schema, schema_for};
use serde::Serialize;
use serde_json::Value;

use crate::wire::{
    ClockPage, Done, GameSummary, GivenInvitation, Head, Members, NewsItem, OwnInstructions,
    Posted, Seating, TableUnit,
};

/// `table`: the table at a moment.
#[derive(Debug, Serialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct TableAnswer {
    /// The scenario's name.
    pub name: String,
    /// Number of the last event that it shows; 0 for a battle at its opening.
    pub after: u64,
    /// The game turn being played, from 1.
    pub game_turn: u32,
    /// How many there are.
    pub game_turns: u32,
    /// The player turn being played, both sides' counted from 1.
    pub player_turn: u64,
    /// Key of the side to post next; null once the game has ended.
    pub to_move: Option<String>,
    /// Every unit of both orders of battle.
    pub units: Vec<TableUnit>,
    /// Points from exits so far, in the order of the sides.
    pub exit_points: [f64; 2],
    /// Key of the side that holds each objective, in the scenario's order.
    pub holders: Vec<Option<String>>,
    /// How it ended; null while it goes on.
    pub ended: Option<Ending>,
    /// The files drawn to, where any were named.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub drawn: Option<Drawn>,
}

/// Files that a picture was drawn to.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct Drawn {
    /// The SVG file.
    pub svg: Option<PathBuf>,
    /// The PNG file.
    pub png: Option<PathBuf>,
}

/// `news`: what happened.
#[derive(Debug, Serialize, JsonSchema)]
pub struct NewsAnswer<'a> {
    /// The last entry of the record.
    pub head: Head,
    /// Number of the event after which it is told.
    pub after: u64,
    /// What happened, the first given first.
    pub news: &'a [NewsItem],
    /// Key of the side to post next; null once the game has ended.
    pub to_move: Option<String>,
    /// Key of the side of the seat acted for; null where there is none.
    pub own: Option<&'a str>,
}

/// `local post` and `local reply`: what happened by it. A sheet that is refused is answered as by `try`.
#[derive(Debug, Serialize, JsonSchema)]
pub struct LocalNewsAnswer<'a> {
    /// The last entry of the record.
    pub head: Head,
    /// What happened, the first given first.
    pub news: &'a [NewsItem],
    /// Key of the side to post next; null once the game has ended.
    pub to_move: Option<String>,
}

/// `event`: one event.
#[derive(Debug, Serialize, JsonSchema)]
pub struct EventAnswer<'a> {
    /// Its number, from 1.
    pub number: u64,
    /// Hash of the entry before it, in hex.
    pub previous: &'a str,
    /// Its hash, in hex.
    pub hash: &'a str,
    /// When it was recorded.
    pub at: &'a str,
    /// The event as the record has it.
    pub event: &'a Event,
    /// The same in words, with everything measured.
    pub words: &'a str,
}

/// `try`: a sheet and what the referee says to it.
#[derive(Debug, Serialize, JsonSchema)]
pub struct TryAnswer<'a> {
    /// The entry after which the table stood so; number 0 for a battle at its opening.
    pub head: &'a Head,
    /// The sheet as it was read.
    pub sheet: &'a TurnSheet,
    /// What was measured.
    pub verdict: &'a SheetVerdict,
}

/// `compare`: a hash to be read aloud.
#[derive(Debug, Serialize, JsonSchema)]
pub struct CompareAnswer<'a> {
    /// Number of the event.
    pub number: u64,
    /// Number of the record's last event.
    pub last: u64,
    /// The event's hash, in hex.
    pub hash: &'a str,
    /// The hash as eight numbers of five digits.
    pub read_aloud: String,
}

/// `audit`: what was checked of a record that holds.
#[derive(Debug, Serialize, JsonSchema)]
pub struct AuditAnswer {
    /// True: one that does not hold is answered with `fault` and exit code 6.
    pub sound: bool,
    /// Entries in the chain.
    pub entries: u64,
    /// Hash of the last, in hex.
    pub head: String,
    /// Player turns played again.
    pub player_turns: u64,
    /// Moves measured again.
    pub moves: u64,
    /// Throws derived again.
    pub throws: u64,
    /// Version of the laws that it was opened under.
    pub opened_under_laws: u32,
    /// Version of the laws that it is judged by now.
    pub laws: u32,
    /// Whether everything that a seat does must be signed.
    pub must_be_signed: bool,
    /// Signatures checked.
    pub signed: u64,
    /// Postings without one.
    pub unsigned: u64,
    /// Entries at which secrets of dice were renewed.
    pub secrets_renewed: Vec<u64>,
    /// Entries signed with a key that is in force on the organiser's word alone.
    pub on_organisers_word: Vec<u64>,
    /// Player turns judged by older laws and not measured again.
    pub player_turns_not_measured: u64,
    /// Moves judged by older laws and not measured again.
    pub moves_not_measured: u64,
}

/// `games`: the games that may be read.
#[derive(Debug, Serialize, JsonSchema)]
pub struct GamesAnswer {
    /// All of them.
    pub games: Vec<GameSummary>,
}

/// `seats`: the seats stored on this machine.
#[derive(Debug, Serialize, JsonSchema)]
pub struct SeatsAnswer<'a> {
    /// All of them, by name.
    pub seats: Vec<StoredSeat<'a>>,
}

/// One stored seat, without its keys.
#[derive(Debug, Serialize, JsonSchema)]
pub struct StoredSeat<'a> {
    /// What it is called here.
    pub name: &'a str,
    /// Whether commands are for it when none is named.
    pub current: bool,
    /// What its holder is: player, umpire, spectator, organiser or member.
    pub role: &'a str,
    /// The server's address.
    pub server: &'a str,
    /// Id of its game.
    pub game: Option<&'a str>,
    /// Name of its game.
    pub game_name: Option<&'a str>,
    /// Key of its side.
    pub side: Option<&'a str>,
    /// Its holder's name.
    pub player: Option<&'a str>,
}

/// `battles`: those that come with this program.
#[derive(Debug, Serialize, JsonSchema)]
pub struct BattlesAnswer {
    /// All of them.
    pub battles: Vec<ShippedBattle>,
}

/// One battle that comes with this program.
#[derive(Debug, Serialize, JsonSchema)]
pub struct ShippedBattle {
    /// What commands call it.
    pub key: String,
    /// Its name.
    pub name: String,
    /// The situation in a few sentences.
    pub about: String,
    /// Name of its ruleset.
    pub ruleset: String,
    /// Units of both sides.
    pub units: usize,
    /// Game turns.
    pub game_turns: u32,
}

/// `settings`: what ruleset and scenario files can hold.
#[derive(Debug, Serialize, JsonSchema)]
pub struct SettingsAnswer {
    /// All of them, or those that hold the word given.
    pub settings: Vec<Setting>,
}

/// One setting.
#[derive(Debug, Serialize, JsonSchema)]
pub struct Setting {
    /// Which file it stands in: ruleset or scenario.
    pub file: &'static str,
    /// Its path in the file.
    pub name: String,
    /// What it takes.
    pub kind: String,
    /// What its number counts.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub unit: Option<String>,
    /// Its default, where it is a value.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub default: Option<Value>,
    /// Whether it must be given.
    pub required: bool,
    /// What it does.
    pub about: String,
}

/// `help`: all commands in groups.
#[derive(Debug, Serialize, JsonSchema)]
pub struct HelpAnswer {
    /// The groups, in the order shown.
    pub groups: Vec<HelpGroup>,
}

/// Commands that belong together.
#[derive(Debug, Serialize, JsonSchema)]
pub struct HelpGroup {
    /// What they are for.
    pub heading: &'static str,
    /// The commands.
    pub commands: Vec<HelpCommand>,
}

/// One command.
#[derive(Debug, Serialize, JsonSchema)]
pub struct HelpCommand {
    /// Its name.
    pub name: &'static str,
    /// What it does in a few words.
    pub about: &'static str,
}

/// `words` and `starter`: a text.
#[derive(Debug, Serialize, JsonSchema)]
pub struct TextAnswer {
    /// The text.
    pub text: &'static str,
}

/// `replay`: what was written.
#[derive(Debug, Serialize, JsonSchema)]
pub struct ReplayAnswer<'a> {
    /// The page.
    pub page: Option<&'a PathBuf>,
    /// The animated picture.
    pub svg: Option<&'a PathBuf>,
    /// Title of each moment shown.
    pub moments: Vec<&'a str>,
}

/// A command whose answer is described, and its schema.
type Described = (&'static str, fn() -> Schema);

/// Every command whose answer is described.
pub const DESCRIBED: [Described; 26] = [
    ("table", || schema_for!(TableAnswer)),
    ("local table", || schema_for!(TableAnswer)),
    ("news", || schema_for!(NewsAnswer<'_>)),
    ("local news", || schema_for!(NewsAnswer<'_>)),
    ("local post", || schema_for!(LocalNewsAnswer<'_>)),
    ("local reply", || schema_for!(LocalNewsAnswer<'_>)),
    ("event", || schema_for!(EventAnswer<'_>)),
    ("local event", || schema_for!(EventAnswer<'_>)),
    ("try", || schema_for!(TryAnswer<'_>)),
    ("local try", || schema_for!(TryAnswer<'_>)),
    ("post", || schema_for!(Posted)),
    ("compare", || schema_for!(CompareAnswer<'_>)),
    ("audit", || schema_for!(AuditAnswer)),
    ("replay", || schema_for!(ReplayAnswer<'_>)),
    ("games", || schema_for!(GamesAnswer)),
    ("seats", || schema_for!(SeatsAnswer<'_>)),
    ("battles", || schema_for!(BattlesAnswer)),
    ("settings", || schema_for!(SettingsAnswer)),
    ("words", || schema_for!(TextAnswer)),
    ("help", || schema_for!(HelpAnswer)),
    ("clock", || schema_for!(ClockPage)),
    ("rule", || schema_for!(Done)),
    ("standing", || schema_for!(OwnInstructions)),
    ("invite", || schema_for!(GivenInvitation)),
    ("seating", || schema_for!(Seating)),
    ("members", || schema_for!(Members)),
];

/// The schema of a command's answer, if it is described.
#[must_use]
pub fn schema_of(command: &str) -> Option<Schema> {
    let found = DESCRIBED.iter().find(|(name, _)| *name == command);
    found.map(|(_, schema)| schema())
}

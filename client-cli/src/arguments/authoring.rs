//! The rules writer's commands, and playing without a server.

use std::path::PathBuf;

use clap::{Args, Subcommand, ValueEnum};

use super::play::{OrderPictures, Pictures, SheetFile};

/// `check`.
#[derive(Debug, Args)]
#[command(
    after_help = "What a file is, is told by what it holds: troops and results make a ruleset, sides and units a scenario,\n\
a map of hexes and turns a board game's numbers.\n\n\
Examples:\n  fieldpost check my-rules.toml\n  fieldpost check my-rules.toml my-battle.toml"
)]
pub struct CheckArgs {
    /// Files; every scenario is checked against the ruleset before it.
    #[arg(required = true, num_args = 1..)]
    pub files: Vec<PathBuf>,
}

/// `draw`.
#[derive(Debug, Args)]
#[command(
    after_help = "Examples:\n  fieldpost draw my-rules.toml my-battle.toml --svg opening.svg\n  fieldpost draw my-rules.toml my-battle.toml --png opening.png --zones"
)]
pub struct DrawArgs {
    /// The ruleset file.
    pub ruleset: PathBuf,
    /// The scenario file.
    pub scenario: PathBuf,
    /// Draw halt and strike zones.
    #[arg(long)]
    pub zones: bool,
    /// Files to draw to [else SVG on standard output].
    #[command(flatten)]
    pub pictures: Pictures,
}

/// `battles`.
#[derive(Debug, Args)]
#[command(
    after_help = "Examples:\n  fieldpost battles list\n  fieldpost battles show quern-bridge\n  fieldpost battles copy quern-bridge my-folder"
)]
pub struct BattlesArgs {
    /// What to do with them; they are listed otherwise.
    #[command(subcommand)]
    pub command: Option<BattlesCommand>,
}

/// What can be done with shipped battles.
#[derive(Debug, Subcommand)]
pub enum BattlesCommand {
    /// List them.
    List,
    /// Tell about one and show its opening table.
    Show {
        /// Its key.
        battle: String,
        /// Files to draw to.
        #[command(flatten)]
        pictures: Pictures,
    },
    /// Write one's ruleset and scenario files to a folder, to be changed at will.
    Copy {
        /// Its key.
        battle: String,
        /// The folder.
        #[arg(default_value = ".")]
        folder: PathBuf,
    },
}

/// A kind of file.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub enum FileKind {
    /// Rules.
    Ruleset,
    /// A battle: table, terrain, armies.
    Scenario,
}

/// `settings`.
#[derive(Debug, Args)]
#[command(
    after_help = "Examples:\n  fieldpost settings\n  fieldpost settings zones\n  fieldpost settings wheel --json"
)]
pub struct SettingsArgs {
    /// Only settings whose name or text holds this word.
    pub word: Option<String>,
}

/// `local`.
#[derive(Debug, Args)]
#[command(
    after_help = "Both sides are played from one file, a record as a server keeps it; the dice are this machine's own.\n\
Their next secret lies in a second file beside it: an honest player leaves that unread.\n\
With --opponent an automatic commander plays one side and answers each sheet you post.\n\n\
Examples:\n  fieldpost local new quern-bridge evening.ndjson\n  fieldpost local new withy-bridge solo.ndjson --opponent blue\n  fieldpost local reply evening.ndjson\n  fieldpost local table evening.ndjson --svg table.svg\n  \
fieldpost local try evening.ndjson orders.txt\n  fieldpost local post evening.ndjson orders.txt\n  fieldpost local news evening.ndjson"
)]
pub struct LocalArgs {
    /// What to do.
    #[command(subcommand)]
    pub command: LocalCommand,
}

/// What can be done without a server.
#[derive(Debug, Subcommand)]
pub enum LocalCommand {
    /// Begin a battle.
    New(LocalNewArgs),
    /// Show the table.
    Table {
        /// The battle's file.
        battle: PathBuf,
        /// Files to draw to.
        #[command(flatten)]
        pictures: Pictures,
    },
    /// Tell everything that happened.
    News {
        /// The battle's file.
        battle: PathBuf,
    },
    /// Measure a turn sheet.
    Try(LocalSheetArgs),
    /// Play a turn sheet.
    Post(LocalPostArgs),
    /// Let an automatic commander play for the side to move.
    Reply(LocalReplyArgs),
}

/// `local new`.
#[derive(Debug, Args)]
pub struct LocalNewArgs {
    /// A battle that comes with this program, or a ruleset file followed by a scenario file, then the file to keep the battle in.
    #[arg(required = true, num_args = 2..=3, value_names = ["BATTLE", "FILE"])]
    pub files: Vec<PathBuf>,
    /// The side that an automatic commander plays, by its key or its name.
    #[arg(long, value_name = "SIDE")]
    pub opponent: Option<String>,
}

/// `local reply`.
#[derive(Debug, Args)]
#[command(
    after_help = "Examples:\n  fieldpost local reply evening.ndjson\n  fieldpost local reply evening.ndjson --turns 4\n  \
fieldpost local reply evening.ndjson --to-the-end"
)]
pub struct LocalReplyArgs {
    /// The battle's file.
    pub battle: PathBuf,
    /// How many player turns it plays, those of the other side too.
    #[arg(long, value_name = "NUMBER", default_value = "1", value_parser = clap::value_parser!(u32).range(1..))]
    pub turns: u32,
    /// Play the battle to its end.
    #[arg(long, conflicts_with = "turns")]
    pub to_the_end: bool,
    /// New standing instructions of the side that you have [else what they were told last].
    #[arg(long, value_name = "FILE")]
    pub standing: Option<PathBuf>,
}

/// `local post`.
#[derive(Debug, Args)]
pub struct LocalPostArgs {
    /// The battle's file.
    pub battle: PathBuf,
    /// The sheet.
    #[command(flatten)]
    pub file: SheetFile,
    /// Post a sheet without orders, by which every unit stands, and do not ask whether that is meant.
    #[arg(long)]
    pub all_stand: bool,
    /// New standing instructions of the waiting side; against an automatic commander, your own [else what they were told last; at first, to hold].
    #[arg(long, value_name = "FILE")]
    pub standing: Option<PathBuf>,
}

/// `local try`.
#[derive(Debug, Args)]
pub struct LocalSheetArgs {
    /// The battle's file.
    pub battle: PathBuf,
    /// The sheet.
    #[command(flatten)]
    pub file: SheetFile,
    /// Files to draw to.
    #[command(flatten)]
    pub pictures: OrderPictures,
}

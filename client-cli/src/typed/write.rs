//! The rules writer's commands, and playing without a server.

use std::path::PathBuf;

use clap::{Args, Subcommand, ValueEnum};

use super::play::{OrderPictures, Pictures, SheetFile};

/// `check`.
#[derive(Debug, Args)]
#[command(
    after_help = "What a file is, is told by what it holds: troops and results make a ruleset, sides and units a scenario.\n\n\
Examples:\n  fieldpost check my-rules.toml\n  fieldpost check my-rules.toml my-battle.toml"
)]
pub struct CheckArgs {
    /// Ruleset and scenario files; every scenario is checked against the ruleset before it.
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
Their next secret lies in a second file beside it: an honest player leaves that unread.\n\n\
Examples:\n  fieldpost local new quern-bridge evening.ndjson\n  fieldpost local table evening.ndjson --svg table.svg\n  \
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
}

/// `local new`.
#[derive(Debug, Args)]
pub struct LocalNewArgs {
    /// A battle that comes with this program, or a ruleset file followed by a scenario file, then the file to keep the battle in.
    #[arg(required = true, num_args = 2..=3, value_names = ["BATTLE", "FILE"])]
    pub files: Vec<PathBuf>,
}

/// `local post`.
#[derive(Debug, Args)]
pub struct LocalPostArgs {
    /// The battle's file.
    pub battle: PathBuf,
    /// The sheet.
    #[command(flatten)]
    pub file: SheetFile,
    /// Standing instructions of the waiting side [else its units hold].
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

//! The rules writer's commands.

use std::path::PathBuf;

use clap::{Args, Subcommand, ValueEnum};

use super::Pictures;

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
    after_help = "Examples:\n  fieldpost draw my-rules.toml my-battle.toml --svg opening.svg\n  fieldpost draw my-rules.toml my-battle.toml --png opening.png --zones\n  \
fieldpost draw quern-bridge --show"
)]
pub struct DrawArgs {
    /// A battle that comes with this program, or a ruleset and a scenario: files, or keys of those that come with it.
    #[arg(required = true, num_args = 1..=2, value_names = ["BATTLE", "SCENARIO"])]
    pub battle: Vec<PathBuf>,
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

/// What a schema describes.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub enum SchemaKind {
    /// Rules.
    Ruleset,
    /// A battle: table, terrain, armies.
    Scenario,
    /// What a command answers with --json.
    Answer,
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

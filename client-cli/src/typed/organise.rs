//! The organiser's commands.

use std::path::PathBuf;

use clap::{Args, ValueEnum};

use super::ClockFlags;

/// `open`.
#[derive(Debug, Args)]
#[command(
    after_help = "Examples:\n  fieldpost open quern-bridge\n  fieldpost open --ruleset my-rules.toml --scenario my-battle.toml\n  \
fieldpost open quern-bridge --closed --invitations-folder invitations\n  fieldpost open quern-bridge --days 3 --leave-days 14 --remind 2,1"
)]
pub struct OpenArgs {
    /// A battle that comes with the server: "fieldpost battles" lists those that come with this program.
    #[arg(value_name = "BATTLE", required_unless_present = "scenario", conflicts_with_all = ["scenario", "ruleset"])]
    pub battle: Option<String>,
    /// A ruleset file of your own.
    #[arg(long, value_name = "FILE", requires = "scenario")]
    pub ruleset: Option<PathBuf>,
    /// A scenario file of your own.
    #[arg(long, value_name = "FILE", requires = "ruleset")]
    pub scenario: Option<PathBuf>,
    /// Only the players may read the game.
    #[arg(long)]
    pub closed: bool,
    /// The clock it is played by, if it is.
    #[command(flatten)]
    pub clock: ClockFlags,
    /// Write each invitation to a file of its own in this folder, instead of showing it.
    #[arg(long, value_name = "FOLDER")]
    pub invitations_folder: Option<PathBuf>,
}

/// `invite`.
#[derive(Debug, Args)]
#[command(
    after_help = "An earlier invitation to the same seat that was not used works no longer.\n\n\
Examples:\n  fieldpost invite red\n  fieldpost invite red --game 0192f0c1e8a07b3c9d4e5f6071829304 --out red.txt"
)]
pub struct InviteArgs {
    /// The side.
    pub side: String,
    /// Write the invitation to this file instead of showing it.
    #[arg(long, short, value_name = "FILE")]
    pub out: Option<PathBuf>,
}

/// On or off.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub enum Switch {
    /// Everybody may read.
    On,
    /// Only players may.
    Off,
}

//! The rules writer's arithmetic: studying a results table, converting a board game.

use std::path::PathBuf;

use clap::{Args, Subcommand, ValueEnum};
use fieldpost_study::Aim;

use super::Pictures;

/// `study`.
#[derive(Debug, Args)]
#[command(
    after_help = "Rules are a file, or the key of a ruleset that comes with this program. Chances are exact: every throw is counted.\n\n\
Examples:\n  fieldpost study table musket\n  fieldpost study table my-rules.toml --attacker 2x4 --defender 1x6 --svg table.svg\n  \
fieldpost study plot musket\n  fieldpost study shift musket -1\n  fieldpost study multiplier musket 1.5\n  \
fieldpost study chain musket 2:1 2:1 3:2\n  fieldpost study compare musket my-rules.toml --aim destroy"
)]
pub struct StudyArgs {
    /// What to study.
    #[command(subcommand)]
    pub command: StudyCommand,
}

/// What can be studied.
#[derive(Debug, Subcommand)]
pub enum StudyCommand {
    /// Show the results table as chances and expected losses.
    Table {
        /// The table and the troops.
        #[command(flatten)]
        studied: StudyInput,
        /// Files to draw to.
        #[command(flatten)]
        pictures: Pictures,
    },
    /// Plot the results table, one bar a column.
    Plot {
        /// The table and the troops.
        #[command(flatten)]
        studied: StudyInput,
        /// Columns to fit into [else the terminal's, else 80].
        #[arg(long, value_parser = clap::value_parser!(u16).range(60..=200))]
        width: Option<u16>,
        /// Files to draw to; the text is left out then.
        #[command(flatten)]
        pictures: Pictures,
    },
    /// Show what a column shift is worth.
    Shift {
        /// The table and the troops.
        #[command(flatten)]
        studied: StudyInput,
        /// Columns to shift by; negative favours the defender.
        #[arg(allow_negative_numbers = true)]
        columns: i32,
        /// What the attacker hopes for.
        #[arg(long, value_enum, default_value = "ground")]
        aim: AimName,
    },
    /// Show what multiplying the defenders' strength is worth.
    Multiplier {
        /// The table and the troops.
        #[command(flatten)]
        studied: StudyInput,
        /// The factor, such as 1.5.
        factor: f64,
        /// The defenders' strength, which a table of differences needs.
        #[arg(long, value_name = "STRENGTH")]
        defence: Option<f64>,
        /// What the attacker hopes for.
        #[arg(long, value_enum, default_value = "ground")]
        aim: AimName,
    },
    /// Show the chances of several battles, one after another.
    Chain {
        /// The table and the troops.
        #[command(flatten)]
        studied: StudyInput,
        /// Odds such as 3:2, or differences such as -2, of each battle in order.
        #[arg(required = true, num_args = 1.., allow_negative_numbers = true)]
        columns: Vec<String>,
        /// What the attacker hopes for in each.
        #[arg(long, value_enum, default_value = "ground")]
        aim: AimName,
    },
    /// Show two results tables side by side.
    Compare {
        /// The first table and the troops.
        #[command(flatten)]
        studied: StudyInput,
        /// The rules of the second table.
        other: PathBuf,
        /// What the attacker hopes for.
        #[arg(long, value_enum, default_value = "ground")]
        aim: AimName,
    },
}

/// The table that is studied, and the troops that losses are counted for.
#[derive(Debug, Args)]
pub struct StudyInput {
    /// The rules: a file, or the key of a shipped ruleset.
    pub rules: PathBuf,
    /// Attackers as units x bases [x strength of a base], such as 2x4; losses are then theirs.
    #[arg(long, value_name = "FORCE", requires = "defender")]
    pub attacker: Option<String>,
    /// Defenders, likewise.
    #[arg(long, value_name = "FORCE", requires = "attacker")]
    pub defender: Option<String>,
}

/// What the attacker hopes for.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub enum AimName {
    /// The defenders give ground and the attackers do not.
    Ground,
    /// Nothing of the defenders is left.
    Destroy,
    /// The attackers stand their ground.
    Stand,
}

impl From<AimName> for Aim {
    fn from(name: AimName) -> Self {
        match name {
            AimName::Ground => Self::Ground,
            AimName::Destroy => Self::Destroy,
            AimName::Stand => Self::Stand,
        }
    }
}

/// `convert`.
#[derive(Debug, Args)]
#[command(
    after_help = "Lengths are millimetres, or have a unit of their own: 30, \"1.5 in\", 120cm.\n\n\
Examples:\n  fieldpost convert starter > my-board.toml\n  fieldpost convert fit my-board.toml 180cm 120cm\n  \
fieldpost convert plan my-board.toml 30\n  fieldpost convert write my-board.toml 30 my-folder\n  fieldpost convert handbooks\n  fieldpost convert schema > board.schema.json"
)]
pub struct ConvertArgs {
    /// What to convert.
    #[command(subcommand)]
    pub command: ConvertCommand,
}

/// What can be converted.
#[derive(Debug, Subcommand)]
pub enum ConvertCommand {
    /// Print a new file for a board game's numbers.
    Starter,
    /// Find the largest base with which a map fits a table.
    Fit {
        /// The board game's numbers.
        board: PathBuf,
        /// The table from west to east.
        width: String,
        /// The table from south to north.
        depth: String,
        /// Round the base's width down to a multiple of this.
        #[arg(long, value_name = "LENGTH", default_value = "1")]
        step: String,
    },
    /// Show the table distances, bases and scales for bases of a width.
    Plan {
        /// The board game's numbers.
        board: PathBuf,
        /// The width of a base.
        base: String,
    },
    /// Write a ruleset and a scenario for bases of a width.
    Write {
        /// The board game's numbers.
        board: PathBuf,
        /// The width of a base.
        base: String,
        /// The folder to write ruleset.toml and scenario.toml to.
        #[arg(default_value = ".")]
        folder: PathBuf,
    },
    /// List the march rates and fronts of published handbooks that scales are found from.
    Handbooks,
    /// Print the JSON Schema of a board game's file.
    #[command(after_help = "Example:\n  fieldpost convert schema > board.schema.json")]
    Schema,
}

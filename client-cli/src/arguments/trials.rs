//! Trials: automatic commanders fight a battle again and again.

use std::num::NonZeroUsize;
use std::path::PathBuf;

use clap::Args;

/// `trials`.
#[derive(Debug, Args)]
#[command(
    after_help = "Rules and scenarios are files, or keys of those that come with this program (\"fieldpost battles\").\n\
The same seed gives the same battles, on however many threads. A plain commander is no clever one:\n\
trials show whether a scenario leans to one side and which laws come to bear, not how people would\n\
play it.\n\n\
Examples:\n  fieldpost trials quern-bridge\n  fieldpost trials my-rules.toml my-battle.toml --battles 1000 --seed 7\n  \
fieldpost trials quern-bridge --against my-rules.toml\n  fieldpost trials musket my-battle.toml --against other-battle.toml\n  \
fieldpost trials withy-bridge --swap-sides\n  fieldpost trials withy-bridge --json --each > trials.json"
)]
pub struct TrialsArgs {
    /// A battle that comes with this program, or rules and a scenario.
    #[arg(required = true, num_args = 1..=2, value_names = ["BATTLE", "SCENARIO"])]
    pub battle: Vec<PathBuf>,
    /// How many battles are fought.
    #[arg(long, short = 'n', value_name = "NUMBER", default_value = "200", value_parser = clap::value_parser!(u64).range(1..=1_000_000))]
    pub battles: u64,
    /// The number that all chances follow from.
    #[arg(long, value_name = "NUMBER", default_value = "1")]
    pub seed: u64,
    /// How many battles are fought at a time [else one a processor].
    #[arg(long, value_name = "NUMBER")]
    pub threads: Option<NonZeroUsize>,
    /// Fight these from the same seed too, and compare: other rules, another scenario, or both.
    #[arg(long, num_args = 1..=2, value_name = "FILE")]
    pub against: Vec<PathBuf>,
    /// Let the scenario's second side move first in every other battle: tells what moving first is worth from what the
    /// place is worth.
    #[arg(long)]
    pub swap_sides: bool,
    /// In JSON, list each battle as well.
    #[arg(long, requires = "json")]
    pub each: bool,
}

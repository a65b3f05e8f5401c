//! Playing without a server.

use std::path::PathBuf;

use clap::{Args, Subcommand};

use super::{OneEvent, Pictures, SheetFile, TableView, Trial};

/// `local`.
#[derive(Debug, Args)]
#[command(
    after_help = "Both sides are played from one file, a record as a server keeps it; the dice are this machine's own.\n\
Their next secret lies in a second file beside it: an honest player leaves that unread.\n\
With --opponent an automatic commander plays one side and answers each sheet you post.\n\n\
Examples:\n  fieldpost local new quern-bridge evening.ndjson\n  fieldpost local new my-rules.toml my-battle.toml trial.ndjson\n  fieldpost local new withy-bridge solo.ndjson --opponent blue\n  fieldpost local reply evening.ndjson\n  fieldpost local table evening.ndjson --svg table.svg\n  \
fieldpost local try evening.ndjson orders.txt\n  fieldpost local post evening.ndjson orders.txt\n  fieldpost local news evening.ndjson\n  fieldpost local event evening.ndjson 7"
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
    /// Show the table: as "table --record FILE" does.
    Table {
        /// The battle's file.
        battle: PathBuf,
        /// What is shown of it.
        #[command(flatten)]
        view: TableView,
    },
    /// Tell what happened: as "news --record FILE" does.
    News {
        /// The battle's file.
        battle: PathBuf,
        /// What came after this event.
        #[arg(long, value_name = "EVENT")]
        after: Option<u64>,
        /// Draw what moved, with ghosts where units stood.
        #[command(flatten)]
        pictures: Pictures,
    },
    /// Show one event with everything that was measured: as "event --record FILE" does.
    Event {
        /// The battle's file.
        battle: PathBuf,
        /// Which event.
        #[command(flatten)]
        event: OneEvent,
    },
    /// Measure a turn sheet: as "try --record FILE" does.
    Try {
        /// The battle's file.
        battle: PathBuf,
        /// The sheet.
        #[command(flatten)]
        trial: Trial,
    },
    /// Play a turn sheet.
    Post(LocalPostArgs),
    /// Let an automatic commander play for the side to move.
    Reply(LocalReplyArgs),
}

/// `local new`.
#[derive(Debug, Args)]
pub struct LocalNewArgs {
    /// A battle that comes with this program, or a ruleset and a scenario: files, or keys of those that come with it; then
    /// the file to keep the battle in.
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

//! The player's commands.

use std::path::PathBuf;

use clap::{Args, Subcommand, ValueEnum};

/// `join`.
#[derive(Debug, Args)]
#[command(
    after_help = "The invitation is a secret: it is read from FIELDPOST_INVITATION, from --invitation-file, or from\n\
standard input, never from the command line.\n\n\
Examples:\n  fieldpost join --server https://games.example --player Ann\n  fieldpost join --server http://127.0.0.1:7400 --player Bo --invitation-file red.txt --name red"
)]
pub struct JoinArgs {
    /// The name you go by in the game.
    #[arg(long, value_name = "NAME")]
    pub player: String,
    /// The time zone that your days count in, as in Europe/Lisbon [else this machine's].
    #[arg(long, value_name = "ZONE")]
    pub zone: Option<String>,
    /// Read the invitation from this file.
    #[arg(long, value_name = "FILE")]
    pub invitation_file: Option<PathBuf>,
    /// What to call the seat here [else the game's name and the side].
    #[arg(long, value_name = "NAME")]
    pub name: Option<String>,
}

/// `seats`.
#[derive(Debug, Args)]
#[command(
    after_help = "Examples:\n  fieldpost seats list\n  fieldpost seats use millbrook-red\n  fieldpost seats forget millbrook-red\n  \
fieldpost seats keep host --server http://127.0.0.1:7400 < organiser.key"
)]
pub struct SeatsArgs {
    /// What to do with them; they are listed otherwise.
    #[command(subcommand)]
    pub command: Option<SeatsCommand>,
}

/// What can be done with kept seats.
#[derive(Debug, Subcommand)]
pub enum SeatsCommand {
    /// List them.
    List,
    /// Choose the one that commands are for.
    Use {
        /// Its name.
        name: String,
    },
    /// Forget one and its key.
    Forget {
        /// Its name.
        name: String,
    },
    /// Keep a key, such as the organiser's, read from standard input or --key-file.
    Keep(KeepArgs),
}

/// `seats keep`.
#[derive(Debug, Args)]
pub struct KeepArgs {
    /// What to call it here.
    pub name: String,
}

/// A key that was given, by file or standard input.
pub type GivenKey = Option<PathBuf>;

/// `news`.
#[derive(Debug, Args)]
#[command(
    after_help = "Examples:\n  fieldpost news\n  fieldpost news --all\n  fieldpost news --after 12 --json\n  fieldpost news --svg changes.svg"
)]
pub struct NewsArgs {
    /// From the first event on.
    #[arg(long, conflicts_with = "after")]
    pub all: bool,
    /// What came after this event.
    #[arg(long, value_name = "EVENT")]
    pub after: Option<u64>,
    /// Only what is kept here; ask no server.
    #[arg(long)]
    pub offline: bool,
    /// Draw what moved, with ghosts where units stood.
    #[command(flatten)]
    pub pictures: Pictures,
}

/// Files to draw to.
#[derive(Debug, Default, Args)]
pub struct Pictures {
    /// Draw to this SVG file, "-" for standard output.
    #[arg(long, value_name = "FILE")]
    pub svg: Option<PathBuf>,
    /// Draw to this PNG file.
    #[arg(long, value_name = "FILE")]
    pub png: Option<PathBuf>,
}

/// Files to draw to, and which of a sheet's orders.
#[derive(Debug, Default, Args)]
pub struct OrderPictures {
    /// Draw this order of the sheet with its tape, counted from 1 [else the first move refused, else the table after them].
    #[arg(long, value_name = "NUMBER", value_parser = clap::value_parser!(u16).range(1..))]
    pub order: Option<u16>,
    /// Files to draw to.
    #[command(flatten)]
    pub files: Pictures,
}

/// `table`.
#[derive(Debug, Args)]
#[command(
    after_help = "Examples:\n  fieldpost table\n  fieldpost table --width 120\n  fieldpost table --svg table.svg --zones\n  fieldpost table --after 12 --png then.png"
)]
pub struct TableArgs {
    /// As it stood after this event.
    #[arg(long, value_name = "EVENT")]
    pub after: Option<u64>,
    /// Columns to fit into [else the terminal's, else 80].
    #[arg(long, value_parser = clap::value_parser!(u16).range(40..=400))]
    pub width: Option<u16>,
    /// Draw halt and strike zones in pictures.
    #[arg(long)]
    pub zones: bool,
    /// Only what is kept here; ask no server.
    #[arg(long)]
    pub offline: bool,
    /// Files to draw to; the text is left out then.
    #[command(flatten)]
    pub pictures: Pictures,
}

/// A turn sheet's file.
#[derive(Debug, Args)]
pub struct SheetFile {
    /// The turn sheet: text as "fieldpost words" explains, or JSON; "-" for standard input.
    #[arg(value_name = "FILE")]
    pub sheet: PathBuf,
}

/// `try`.
#[derive(Debug, Args)]
#[command(
    after_help = "The sheet is measured on this machine, on the table as it was last seen, with the referee that the server has.\n\n\
Examples:\n  fieldpost try orders.txt\n  fieldpost try orders.txt --svg tried.svg\n  \
fieldpost try orders.txt --on-server\n  echo \"red-3: forward as far as allowed\" | fieldpost try -"
)]
pub struct TryArgs {
    /// The sheet.
    #[command(flatten)]
    pub file: SheetFile,
    /// Look at the server's news first.
    #[arg(long, conflicts_with = "on_server")]
    pub fresh: bool,
    /// Let the server measure it.
    #[arg(long)]
    pub on_server: bool,
    /// Files to draw to.
    #[command(flatten)]
    pub pictures: OrderPictures,
}

/// `post`.
#[derive(Debug, Args)]
#[command(
    after_help = "The sheet is tried on this machine first, and not sent if it is refused. If the line breaks before the answer\n\
comes, post the same sheet again: it counts once.\n\n\
Examples:\n  fieldpost post orders.txt\n  fieldpost post orders.txt --untried\n  fieldpost post --again"
)]
pub struct PostArgs {
    /// The turn sheet: text as "fieldpost words" explains, or JSON; "-" for standard input.
    #[arg(
        value_name = "FILE",
        required_unless_present = "again",
        conflicts_with = "again"
    )]
    pub sheet: Option<PathBuf>,
    /// Send it without trying it here first.
    #[arg(long)]
    pub untried: bool,
    /// Send the posting again whose answer was lost.
    #[arg(long)]
    pub again: bool,
}

/// `event`.
#[derive(Debug, Args)]
#[command(
    after_help = "Examples:\n  fieldpost event 12\n  fieldpost event 12 --json\n  fieldpost event 12 --svg move.svg"
)]
pub struct EventArgs {
    /// Its number; the news shows it.
    #[arg(value_parser = clap::value_parser!(u64).range(1..))]
    pub number: u64,
    /// Only what is kept here; ask no server.
    #[arg(long)]
    pub offline: bool,
    /// Files to draw to.
    #[command(flatten)]
    pub pictures: OrderPictures,
}

/// `measure`.
#[derive(Debug, Args)]
#[command(
    after_help = "Examples:\n  fieldpost measure R3 B2\n  fieldpost measure \"Duke's Guard\" blue-3 --json"
)]
pub struct MeasureArgs {
    /// A unit, by id, name or mark.
    pub first: String,
    /// Another, of either side.
    pub second: String,
    /// Look at the server's news first.
    #[arg(long)]
    pub fresh: bool,
    /// Files to draw to.
    #[command(flatten)]
    pub pictures: Pictures,
}

/// `reach`.
#[derive(Debug, Args)]
#[command(
    after_help = "Examples:\n  fieldpost reach R3\n  fieldpost reach \"Duke's Guard\" --png reach.png\n  fieldpost reach R3 --json"
)]
pub struct ReachArgs {
    /// A unit, by id, name or mark.
    pub unit: String,
    /// Look at the server's news first.
    #[arg(long)]
    pub fresh: bool,
    /// Files to draw to.
    #[command(flatten)]
    pub pictures: Pictures,
}

/// `placing`.
#[derive(Debug, Args)]
#[command(
    after_help = "Examples:\n  fieldpost placing\n  fieldpost placing --tape inches --after 12"
)]
pub struct PlacingArgs {
    /// The tape you lay units out with.
    #[arg(long, value_enum, default_value = "centimetres")]
    pub tape: Tape,
    /// As the table stood after this event.
    #[arg(long, value_name = "EVENT")]
    pub after: Option<u64>,
    /// Look at the server's news first.
    #[arg(long)]
    pub fresh: bool,
}

/// What a tape is marked in.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub enum Tape {
    /// Read to the nearest 5 mm.
    Centimetres,
    /// Read to the nearest quarter.
    Inches,
}

/// `standing`.
#[derive(Debug, Args)]
#[command(
    after_help = "Your standing instructions are sealed: the other side sees them only when the game is over.\n\n\
Examples:\n  fieldpost standing show\n  fieldpost standing set standing.txt\n  echo \"all hold, give way left\" | fieldpost standing set -"
)]
pub struct StandingArgs {
    /// What to do; they are shown otherwise.
    #[command(subcommand)]
    pub command: Option<StandingCommand>,
}

/// What can be done with standing instructions.
#[derive(Debug, Subcommand)]
pub enum StandingCommand {
    /// Show them.
    Show,
    /// Set them from a file: text as "fieldpost words" explains, or JSON.
    Set {
        /// The file, "-" for standard input.
        file: PathBuf,
    },
}

/// `record`.
#[derive(Debug, Args)]
#[command(
    after_help = "Examples:\n  fieldpost record --out millbrook.ndjson\n  fieldpost record --fresh --out server.ndjson"
)]
pub struct RecordArgs {
    /// The file to save to [else standard output].
    #[arg(long, short, value_name = "FILE")]
    pub out: Option<PathBuf>,
    /// The server's record as it is now, leaving what is kept here aside.
    #[arg(long, conflicts_with = "offline")]
    pub fresh: bool,
    /// Only what is kept here; ask no server.
    #[arg(long)]
    pub offline: bool,
}

/// `audit`.
#[derive(Debug, Args)]
#[command(
    after_help = "Examples:\n  fieldpost audit millbrook.ndjson\n  fieldpost record | fieldpost audit -"
)]
pub struct AuditArgs {
    /// The record, as "fieldpost record" saves it; "-" for standard input.
    pub file: PathBuf,
}

//! The player's commands.

use std::path::PathBuf;

use clap::{Args, Subcommand};

use super::{Moment, OrderPictures, Pictures, RecordSource, Source, TablePart};

/// `join`.
#[derive(Debug, Args)]
#[command(
    after_help = "The invitation is a secret: it is read from FIELDPOST_INVITATION, from --invitation-file, or from\n\
standard input, never from the command line.\n\n\
Examples:\n  fieldpost join --server https://games.example --player Ann\n  fieldpost join --server http://127.0.0.1:7878 --player Bo --invitation-file red.txt --name red"
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
fieldpost seats move http://127.0.0.1:7878 https://games.example\n  fieldpost seats renew millbrook-red\n  fieldpost seats revoke millbrook-red\n  \
fieldpost seats keep host --server http://127.0.0.1:7878 < organiser.key"
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
    /// Have every seat of a server that has another address now speak to that one.
    Move {
        /// The address that the seats have.
        #[arg(value_name = "OLD-URL")]
        from: String,
        /// The address that the server has now.
        #[arg(value_name = "NEW-URL")]
        to: String,
    },
    /// Put a fresh key in the place of a kept one, which opens nothing from then on: at once when
    /// somebody else may have seen it.
    Renew {
        /// Its name.
        name: String,
    },
    /// Have a kept key open nothing from now on, and forget it.
    Revoke {
        /// Its name.
        name: String,
    },
    /// Keep a key, such as the organiser's, read from standard input or --key-file.
    Keep(SeatsKeepArgs),
}

/// `seats keep`.
#[derive(Debug, Args)]
pub struct SeatsKeepArgs {
    /// What to call it here.
    pub name: String,
}

/// `news`.
#[derive(Debug, Args)]
#[command(
    after_help = "Examples:\n  fieldpost news\n  fieldpost news --all\n  fieldpost news --after 12 --json\n  fieldpost news --svg changes.svg\n  fieldpost news --wait\n  fieldpost news --record evening.ndjson --after 4"
)]
pub struct NewsArgs {
    /// From the first event on.
    #[arg(long, conflicts_with = "after")]
    pub all: bool,
    /// What came after this event.
    #[arg(long, value_name = "EVENT")]
    pub after: Option<u64>,
    /// Only what is kept here; ask no server.
    #[arg(long, conflicts_with = "wait")]
    pub offline: bool,
    /// Wait until there is news that you have not been told.
    #[arg(long, conflicts_with_all = ["all", "record"])]
    pub wait: bool,
    /// Another game, from its first event on.
    #[command(flatten)]
    pub source: RecordSource,
    /// Draw what moved, with ghosts where units stood.
    #[command(flatten)]
    pub pictures: Pictures,
}

/// `table`.
#[derive(Debug, Args)]
#[command(
    after_help = "Examples:\n  fieldpost table\n  fieldpost table --width 120\n  fieldpost table --around R3 --within 15\n  \
fieldpost table --part 40,20,90,60 --show\n  fieldpost table --svg table.svg --zones\n  fieldpost table --at 12 --png then.png\n  \
fieldpost table --since 12 --svg changes.svg\n  fieldpost table --record evening.ndjson --at 7\n  \
fieldpost table --battle my-rules.toml my-battle.toml"
)]
pub struct TableArgs {
    /// Only what is kept here; ask no server.
    #[arg(long)]
    pub offline: bool,
    /// Another game.
    #[command(flatten)]
    pub source: Source,
    /// What is shown of it.
    #[command(flatten)]
    pub view: TableView,
}

/// What is shown of a table.
#[derive(Debug, Args)]
pub struct TableView {
    /// The moment.
    #[command(flatten)]
    pub moment: Moment,
    /// Columns to fit into [else the terminal's, else 80].
    #[arg(long, value_parser = clap::value_parser!(u16).range(40..=400))]
    pub width: Option<u16>,
    /// Draw halt and strike zones in pictures.
    #[arg(long)]
    pub zones: bool,
    /// Draw where units stood after this event [else what is unread, or what the news told last], with the tapes along
    /// which they came to where they stand.
    #[arg(long, value_name = "EVENT", num_args = 0..=1)]
    pub since: Option<Option<u64>>,
    /// A part of the table.
    #[command(flatten)]
    pub part: TablePart,
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
    after_help = "The sheet is measured on this machine, on the table as it was last seen, with the referee that the server has.\n\
While you wait for the other side, a sheet of yours is measured as your next turn, as if the other side's units stood.\n\n\
Examples:\n  fieldpost try orders.txt\n  fieldpost try orders.txt --svg tried.svg\n  \
fieldpost try orders.txt --on-server\n  echo \"red-3: forward as far as allowed\" | fieldpost try -\n  \
fieldpost try orders.txt --record evening.ndjson --at 12\n  fieldpost try orders.txt --battle quern-bridge"
)]
pub struct TryArgs {
    /// The sheet.
    #[command(flatten)]
    pub trial: Trial,
    /// Another game.
    #[command(flatten)]
    pub source: Source,
    /// Look at the server's news first.
    #[arg(long, conflicts_with = "on_server")]
    pub fresh: bool,
    /// Let the server measure it.
    #[arg(long, conflicts_with_all = ["record", "battle", "at", "ahead"])]
    pub on_server: bool,
}

/// A sheet to be measured, and how.
#[derive(Debug, Args)]
pub struct Trial {
    /// The sheet.
    #[command(flatten)]
    pub file: SheetFile,
    /// The moment.
    #[command(flatten)]
    pub moment: Moment,
    /// As the next turn of the side that waits: as if the other side's units stood.
    #[arg(long)]
    pub ahead: bool,
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
    /// Post a sheet without orders, by which every unit stands, and do not ask whether that is meant.
    #[arg(long, conflicts_with = "again")]
    pub all_stand: bool,
    /// Send the posting again whose answer was lost.
    #[arg(long)]
    pub again: bool,
}

/// `event`.
#[derive(Debug, Args)]
#[command(
    after_help = "Examples:\n  fieldpost event 12\n  fieldpost event 12 --json\n  fieldpost event 12 --svg move.svg\n  \
fieldpost event 12 --order 2 --png order.png\n  fieldpost event 12 --record evening.ndjson"
)]
pub struct EventArgs {
    /// Which event.
    #[command(flatten)]
    pub event: OneEvent,
    /// Only what is kept here; ask no server.
    #[arg(long)]
    pub offline: bool,
    /// Another game.
    #[command(flatten)]
    pub source: RecordSource,
}

/// One event, and pictures of it.
#[derive(Debug, Args)]
pub struct OneEvent {
    /// Its number; the news shows it.
    #[arg(value_parser = clap::value_parser!(u64).range(1..))]
    pub number: u64,
    /// Files to draw to.
    #[command(flatten)]
    pub pictures: OrderPictures,
}

/// `compare`.
#[derive(Debug, Args)]
#[command(
    after_help = "Examples:\n  fieldpost compare\n  fieldpost compare --at 17\n  fieldpost compare --at 17 --json\n  fieldpost compare --record millbrook.ndjson"
)]
pub struct CompareArgs {
    /// The event to compare by.
    #[command(flatten)]
    pub moment: Moment,
    /// Another game.
    #[command(flatten)]
    pub source: RecordSource,
    /// Only what is kept here; ask no server.
    #[arg(long)]
    pub offline: bool,
}

/// `measure`.
#[derive(Debug, Args)]
#[command(
    after_help = "Examples:\n  fieldpost measure R3 B2\n  fieldpost measure \"Duke's Guard\" blue-3 --json\n  \
fieldpost measure R3 B2 --record evening.ndjson --at 12\n  fieldpost measure RG BS --battle quern-bridge"
)]
pub struct MeasureArgs {
    /// A unit, by id, name or mark.
    pub first: String,
    /// Another, of either side.
    pub second: String,
    /// The moment.
    #[command(flatten)]
    pub moment: Moment,
    /// Look at the server's news first.
    #[arg(long)]
    pub fresh: bool,
    /// Another game.
    #[command(flatten)]
    pub source: Source,
    /// Files to draw to.
    #[command(flatten)]
    pub pictures: Pictures,
}

/// `reach`.
#[derive(Debug, Args)]
#[command(
    after_help = "Examples:\n  fieldpost reach R3\n  fieldpost reach \"Duke's Guard\" --png reach.png\n  fieldpost reach R3 --json\n  \
fieldpost reach R3 --record evening.ndjson --at 12\n  fieldpost reach R3 --battle quern-bridge --show"
)]
pub struct ReachArgs {
    /// A unit, by id, name or mark.
    pub unit: String,
    /// The moment.
    #[command(flatten)]
    pub moment: Moment,
    /// Look at the server's news first.
    #[arg(long)]
    pub fresh: bool,
    /// Another game.
    #[command(flatten)]
    pub source: Source,
    /// Files to draw to.
    #[command(flatten)]
    pub pictures: Pictures,
}

/// `replay`.
#[derive(Debug, Args)]
#[command(
    after_help = "The page needs neither server nor network: send the file to a friend. The picture moves by itself in any browser.\n\n\
Examples:\n  fieldpost replay --page game.html\n  fieldpost replay --record millbrook.ndjson --page game.html --svg game.svg\n  fieldpost replay --page first-turns.html --at 12"
)]
pub struct ReplayArgs {
    /// Write a page that plays the game.
    #[arg(long, value_name = "FILE", required_unless_present = "svg")]
    pub page: Option<PathBuf>,
    /// Write one animated picture.
    #[arg(long, value_name = "FILE")]
    pub svg: Option<PathBuf>,
    /// The last event shown.
    #[command(flatten)]
    pub moment: Moment,
    /// Only what is kept here; ask no server.
    #[arg(long)]
    pub offline: bool,
    /// Another game.
    #[command(flatten)]
    pub source: RecordSource,
}

/// `standing`.
#[derive(Debug, Args)]
#[command(
    after_help = "Your standing instructions are sealed: the other side sees them only when the game is over.\n\
They count from the next change of the table on: give them in your own turn, before you post.\n\n\
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
    /// A head that you remember: the record must hold it, or it was cut short.
    #[arg(long, value_name = "HASH")]
    pub head: Option<String>,
}

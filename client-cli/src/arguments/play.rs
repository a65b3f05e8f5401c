//! The player's commands.

use std::path::PathBuf;

use clap::{Args, Subcommand, ValueEnum};
use fieldpost_view::svg::Part;

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
fieldpost seats renew millbrook-red\n  fieldpost seats revoke millbrook-red\n  \
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
    after_help = "Examples:\n  fieldpost news\n  fieldpost news --all\n  fieldpost news --after 12 --json\n  fieldpost news --svg changes.svg\n  fieldpost news --wait"
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
    #[arg(long, conflicts_with = "all")]
    pub wait: bool,
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
    /// Show the picture in this terminal: by itself where the terminal says it can, else as blocks of colour.
    #[arg(
        long,
        value_enum,
        value_name = "WAY",
        num_args = 0..=1,
        require_equals = true,
        default_missing_value = "auto"
    )]
    pub show: Option<ShowMethod>,
}

/// How a terminal shows a picture.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub enum ShowMethod {
    /// By the graphics protocol that the terminal announces, else in blocks of colour.
    Auto,
    /// By the kitty graphics protocol.
    Kitty,
    /// By the inline image sequence, OSC 1337.
    Inline,
    /// Two coloured pixels to a character.
    Blocks,
}

/// Another game than the seat's.
#[derive(Debug, Clone, Default, Args)]
pub struct Source {
    /// Of this record instead of the seat's game: one that "record" saved, or a battle that "local" keeps.
    #[arg(long, value_name = "FILE", conflicts_with = "battle")]
    pub record: Option<PathBuf>,
    /// Of the opening table of a battle that comes with this program.
    #[arg(long, value_name = "BATTLE")]
    pub battle: Option<String>,
}

/// A part of the table.
#[derive(Debug, Clone, Default, Args)]
pub struct TablePart {
    /// Only this part: centimetres of its west, south, east and north side, from the table's west and south edges.
    #[arg(long, value_name = "W,S,E,N", value_parser = part_cm, conflicts_with = "around")]
    pub part: Option<Part>,
    /// Only the part round this unit, or round a place that the map names.
    #[arg(long, value_name = "NAME")]
    pub around: Option<String>,
    /// How much round it, in centimetres.
    #[arg(long, value_name = "CM", default_value_t = 20.0, requires = "around", value_parser = centimetres)]
    pub within: f64,
}

/// Four numbers of centimetres.
fn part_cm(text: &str) -> Result<Part, String> {
    let numbers: Vec<f64> = text
        .split(',')
        .map(|number| number.trim().parse().ok().filter(|n: &f64| n.is_finite()))
        .collect::<Option<_>>()
        .ok_or("write four numbers of centimetres, such as 40,20,90,60")?;
    let [west, south, east, north] = numbers[..] else {
        return Err("write four numbers of centimetres, such as 40,20,90,60".to_owned());
    };
    if east - west < 2.0 || north - south < 2.0 {
        return Err(
            "west and south come first, then east and north, at least 2 cm further".to_owned(),
        );
    }
    Ok(Part {
        west_mm: west * 10.0,
        south_mm: south * 10.0,
        east_mm: east * 10.0,
        north_mm: north * 10.0,
    })
}

fn centimetres(text: &str) -> Result<f64, String> {
    let number = text.trim().parse().ok();
    number
        .filter(|number| (1.0..=1_000.0).contains(number))
        .ok_or_else(|| "write a number of centimetres from 1 to 1000".to_owned())
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
    after_help = "Examples:\n  fieldpost table\n  fieldpost table --width 120\n  fieldpost table --around R3 --within 15\n  \
fieldpost table --part 40,20,90,60 --show\n  fieldpost table --svg table.svg --zones\n  fieldpost table --after 12 --png then.png\n  \
fieldpost table --since 12 --svg changes.svg\n  fieldpost table --record evening.ndjson"
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
    /// Draw where units stood after this event [else what is unread, or what the news told last], with the tapes along
    /// which they came to where they stand.
    #[arg(long, value_name = "EVENT", num_args = 0..=1)]
    pub since: Option<Option<u64>>,
    /// Only what is kept here; ask no server.
    #[arg(long)]
    pub offline: bool,
    /// A part of the table.
    #[command(flatten)]
    pub enlarged: TablePart,
    /// Another game.
    #[command(flatten)]
    pub source: Source,
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

/// `compare`.
#[derive(Debug, Args)]
#[command(
    after_help = "Examples:\n  fieldpost compare\n  fieldpost compare --at 17\n  fieldpost compare --at 17 --json"
)]
pub struct CompareArgs {
    /// Number of the event to compare by [else the last].
    #[arg(long, value_name = "NUMBER", value_parser = clap::value_parser!(u64).range(1..))]
    pub at: Option<u64>,
    /// Only what is kept here; ask no server.
    #[arg(long)]
    pub offline: bool,
}

/// `measure`.
#[derive(Debug, Args)]
#[command(
    after_help = "Examples:\n  fieldpost measure R3 B2\n  fieldpost measure \"Duke's Guard\" blue-3 --json\n  \
fieldpost measure R3 B2 --record evening.ndjson --after 12\n  fieldpost measure RG BS --battle quern-bridge"
)]
pub struct MeasureArgs {
    /// A unit, by id, name or mark.
    pub first: String,
    /// Another, of either side.
    pub second: String,
    /// As the table stood after this event.
    #[arg(long, value_name = "EVENT")]
    pub after: Option<u64>,
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
fieldpost reach R3 --record evening.ndjson --after 12\n  fieldpost reach R3 --battle quern-bridge --show"
)]
pub struct ReachArgs {
    /// A unit, by id, name or mark.
    pub unit: String,
    /// As the table stood after this event.
    #[arg(long, value_name = "EVENT")]
    pub after: Option<u64>,
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

/// `placing`.
#[derive(Debug, Args)]
#[command(
    after_help = "Examples:\n  fieldpost placing\n  fieldpost placing --tape inches --after 12\n  fieldpost placing --battle quern-bridge"
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
    /// Another game.
    #[command(flatten)]
    pub source: Source,
}

/// `placed`.
#[derive(Debug, Args)]
#[command(
    after_help = "Measure a unit's front left corner from two table edges, then its front right corner, as the unit faces. Without\n\
--from the edges are those of the placing sheet. A list has a unit a line: \"R3: 41.5, 16, 49.5, 16 from the west and south\".\n\n\
Examples:\n  fieldpost placed R3 41.5 16 49.5 16\n  fieldpost placed R3 \"16 1/4\" 6.25 19.5 6.25 --tape inches --from \"west and south\"\n  \
fieldpost placed --list readings.txt --json"
)]
pub struct PlacedArgs {
    /// The unit, by id, name or mark.
    #[arg(required_unless_present = "list", requires = "lengths")]
    pub unit: Option<String>,
    /// Four lengths: the left corner from the west or east edge and from the south or north edge, then the right corner.
    #[arg(num_args = 4, value_names = ["LEFT-ACROSS", "LEFT-ALONG", "RIGHT-ACROSS", "RIGHT-ALONG"])]
    pub lengths: Vec<String>,
    /// Read measured units from this file, "-" for standard input.
    #[arg(long, value_name = "FILE", conflicts_with_all = ["unit", "from"])]
    pub list: Option<PathBuf>,
    /// The two edges measured from, such as "east and north".
    #[arg(long, value_name = "EDGES")]
    pub from: Option<String>,
    /// The tape; a number without a unit is in it.
    #[arg(long, value_enum, default_value = "centimetres")]
    pub tape: Tape,
    /// How finely the tape was read, in millimetres [else 5 mm, or a quarter of an inch].
    #[arg(long, value_name = "MM", value_parser = millimetres)]
    pub read_to: Option<f64>,
    /// How finely the unit was placed, in millimetres [else as the placing sheet is: 5 mm, or a quarter of an inch].
    #[arg(long, value_name = "MM", value_parser = millimetres)]
    pub placed_to: Option<f64>,
    /// As the table stood after this event.
    #[arg(long, value_name = "EVENT")]
    pub after: Option<u64>,
    /// Look at the server's news first.
    #[arg(long)]
    pub fresh: bool,
    /// Another game.
    #[command(flatten)]
    pub source: Source,
}

fn millimetres(text: &str) -> Result<f64, String> {
    let number = text.trim().parse().ok();
    number
        .filter(|number| (0.0..=100.0).contains(number))
        .ok_or_else(|| "write a number of millimetres from 0 to 100".to_owned())
}

/// `print`.
#[derive(Debug, Args)]
#[command(
    after_help = "The first page says how the sheets go together and carries a bar to check the printer's scale by.\n\n\
Examples:\n  fieldpost print table.pdf\n  fieldpost print ground.pdf --battle quern-bridge --no-units --paper letter\n  \
fieldpost print wood.pdf --around \"Long Hanger\" --within 10 --outlines\n  fieldpost print then.pdf --after 12 --overlap 15"
)]
pub struct PrintArgs {
    /// The PDF file to write, "-" for standard output.
    pub file: PathBuf,
    /// The paper.
    #[arg(long, value_enum, default_value = "a4")]
    pub paper: PaperSize,
    /// Which way the paper lies [else whichever takes fewer sheets].
    #[arg(long, value_enum)]
    pub orientation: Option<PaperOrientation>,
    /// What neighbouring sheets share, in millimetres.
    #[arg(long, value_name = "MM", default_value_t = 10.0)]
    pub overlap: f64,
    /// Blank margin on all sides, in millimetres.
    #[arg(long, value_name = "MM", default_value_t = 12.0)]
    pub margin: f64,
    /// The ground alone, without units and arrivals.
    #[arg(long)]
    pub no_units: bool,
    /// Outlines without tints, to save ink.
    #[arg(long)]
    pub outlines: bool,
    /// As the table stood after this event.
    #[arg(long, value_name = "EVENT")]
    pub after: Option<u64>,
    /// Look at the server's news first.
    #[arg(long)]
    pub fresh: bool,
    /// A part of the table.
    #[command(flatten)]
    pub enlarged: TablePart,
    /// Another game.
    #[command(flatten)]
    pub source: Source,
}

/// A size of paper.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub enum PaperSize {
    /// 210 by 297 mm.
    A4,
    /// 297 by 420 mm.
    A3,
    /// 8½ by 11 inches.
    Letter,
}

/// Which way paper lies.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub enum PaperOrientation {
    /// The longer side upright.
    Portrait,
    /// The longer side level.
    Landscape,
}

/// `replay`.
#[derive(Debug, Args)]
#[command(
    after_help = "The page needs neither server nor network: send the file to a friend. The picture moves by itself in any browser.\n\n\
Examples:\n  fieldpost replay --page game.html\n  fieldpost replay --record millbrook.ndjson --page game.html --svg game.svg\n  fieldpost replay --page first-turns.html --until 12"
)]
pub struct ReplayArgs {
    /// Write a page that plays the game.
    #[arg(long, value_name = "FILE", required_unless_present = "svg")]
    pub page: Option<PathBuf>,
    /// Write one animated picture.
    #[arg(long, value_name = "FILE")]
    pub svg: Option<PathBuf>,
    /// Up to this event, which is the last shown.
    #[arg(long, value_name = "EVENT")]
    pub until: Option<u64>,
    /// Only what is kept here; ask no server.
    #[arg(long)]
    pub offline: bool,
    /// Of this record instead of the seat's game: one that "record" saved, or a battle that "local" keeps.
    #[arg(long, value_name = "FILE")]
    pub record: Option<PathBuf>,
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

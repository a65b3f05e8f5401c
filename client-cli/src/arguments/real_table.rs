//! The real table: laying units out, reading them back, printing.

use std::path::PathBuf;

use clap::{Args, ValueEnum};

use super::{Moment, Source, TablePart};

/// `placing`.
#[derive(Debug, Args)]
#[command(
    after_help = "Examples:\n  fieldpost placing\n  fieldpost placing --tape inches --at 12\n  fieldpost placing --battle quern-bridge"
)]
pub struct PlacingArgs {
    /// The tape you lay units out with.
    #[arg(long, value_enum, default_value = "centimetres")]
    pub tape: Tape,
    /// The moment.
    #[command(flatten)]
    pub moment: Moment,
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
    /// The moment.
    #[command(flatten)]
    pub moment: Moment,
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
fieldpost print wood.pdf --around \"Long Hanger\" --within 10 --outlines\n  fieldpost print then.pdf --at 12 --overlap 15"
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
    /// The moment.
    #[command(flatten)]
    pub moment: Moment,
    /// Look at the server's news first.
    #[arg(long)]
    pub fresh: bool,
    /// A part of the table.
    #[command(flatten)]
    pub part: TablePart,
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

/// What a tape is marked in.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub enum Tape {
    /// Read to the nearest 5 mm.
    Centimetres,
    /// Read to the nearest quarter.
    Inches,
}

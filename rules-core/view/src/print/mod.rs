//! The table on paper at true scale: sheets that overlap, to be laid out under a real table's terrain.
//!
//! What is printed is a list of shapes in millimetres of table ([`drawing`]); [`Layout`] cuts it into
//! sheets; [`pdf`] writes them. The first page says how they go together, and carries a bar by which
//! the printer's scale is checked.

mod assembly;
mod drawing;
mod layout;
mod pdf;
#[cfg(test)]
mod tests;

use std::fmt;

use fieldpost_rules::game::Game;

use super::svg::Part;
pub use layout::{Layout, Sheet};

/// A size of paper, upright.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Paper {
    /// What it is called.
    pub name: &'static str,
    /// Its shorter side, in millimetres.
    pub width_mm: f64,
    /// Its longer side, in millimetres.
    pub height_mm: f64,
}

impl Paper {
    /// ISO 216 A4.
    pub const A4: Self = Self {
        name: "A4",
        width_mm: 210.0,
        height_mm: 297.0,
    };
    /// ISO 216 A3.
    pub const A3: Self = Self {
        name: "A3",
        width_mm: 297.0,
        height_mm: 420.0,
    };
    /// ANSI/ASME Y14.1 A: 8½ by 11 inches.
    pub const LETTER: Self = Self {
        name: "Letter",
        width_mm: 215.9,
        height_mm: 279.4,
    };
}

/// Which way the paper lies.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Orientation {
    /// Whichever takes fewer sheets.
    #[default]
    Fewest,
    /// The longer side upright.
    Portrait,
    /// The longer side level.
    Landscape,
}

/// How the table is put on paper.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct PrintOptions {
    /// The paper.
    pub paper: Paper,
    /// Which way it lies.
    pub orientation: Orientation,
    /// Blank margin on all four sides, in millimetres; few printers reach the edge.
    pub margin_mm: f64,
    /// How much neighbouring sheets share, in millimetres.
    pub overlap_mm: f64,
    /// The part of the table to print; absent: all of it.
    pub part: Option<Part>,
    /// Whether the units are printed where they stand.
    pub units: bool,
    /// Whether ground is tinted; outlines alone save ink.
    pub tints: bool,
}

impl Default for PrintOptions {
    fn default() -> Self {
        Self {
            paper: Paper::A4,
            orientation: Orientation::Fewest,
            margin_mm: 12.0,
            overlap_mm: 10.0,
            part: None,
            units: true,
            tints: true,
        }
    }
}

/// Why a table cannot be put on paper so.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum PrintFault {
    /// Margins under 8 mm leave no room for a sheet's label; over a quarter of the paper, none for the table.
    Margin {
        /// As asked for.
        margin_mm: f64,
    },
    /// An overlap is at least 0 and at most a third of what a sheet shows.
    Overlap {
        /// As asked for.
        overlap_mm: f64,
        /// The most there may be.
        most_mm: f64,
    },
    /// Too many sheets.
    Sheets {
        /// So many.
        sheets: u64,
    },
}

/// The most sheets that one file may have.
pub const SHEETS_MAX: u64 = 600;

impl fmt::Display for PrintFault {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Margin { margin_mm } => write!(
                f,
                "a margin of {margin_mm} mm will not do: take 8 mm or more, and no more than a quarter of the paper"
            ),
            Self::Overlap {
                overlap_mm,
                most_mm,
            } => write!(
                f,
                "an overlap of {overlap_mm} mm will not do: on this paper it is 0 to {most_mm:.0} mm"
            ),
            Self::Sheets { sheets } => write!(
                f,
                "that would be {sheets} sheets, more than {SHEETS_MAX}: print a part of the table, or larger paper"
            ),
        }
    }
}

impl std::error::Error for PrintFault {}

/// The table at one moment as a PDF file: the assembly page, then the sheets, row by row from the
/// north-west. The same table gives the same bytes.
///
/// # Errors
/// When it cannot be put on paper so.
pub fn pdf(game: &Game, options: &PrintOptions) -> Result<Vec<u8>, PrintFault> {
    let layout = Layout::of(&game.scenario().table, options)?;
    let drawing = drawing::of(game, options);
    Ok(pdf::written(game, &layout, &drawing))
}

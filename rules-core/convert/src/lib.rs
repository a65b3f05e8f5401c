//! From a board game's numbers to table distances, and from a table to the largest base.
//!
//! A hex becomes a number of base widths; everything else follows: movement points, zones and
//! ranges by the hex, strength points by the base, the table by the map. Where a choice rounds,
//! every choice is shown with what it loses. What comes out is a ruleset and a scenario that open.

mod bases;
mod board;
mod files;
mod ground;
mod handbook;
mod map;
mod placing;
mod plan;
mod reading;
mod words;

use std::fmt;

use fieldpost_rules::authored::Faults;

pub use bases::{BaseChoice, Block, Rounding, RoundingLoss, UnitLoss};
pub use board::{
    Board, BoardTroops, BoardZones, Counter, HexTerrain, Hexside, Laying, Map, StraightRows, Turns,
};
pub use files::{Skeleton, skeleton};
pub use ground::{Front, GroundAndTime, March};
pub use handbook::{FILE_WIDTHS, FileWidth, Gait, METRES_PER_YARD};
pub use map::{Fit, TableNeeded, fit, table_needed};
pub use placing::PlacedUnit;
pub use plan::{Plan, PlannedUnit, SideLine, Troops, Warning, convert};
pub use reading::{read_board, schema_board, starter_board};
pub use words::{fit_in_words, plan_in_words};

/// Why a board game's numbers cannot be laid out.
#[derive(Debug, Clone, PartialEq)]
pub enum ConvertError {
    /// A base width or a table that no ruleset could have.
    Size {
        /// What was measured.
        what: &'static str,
        /// Its measure in millimetres.
        mm: f64,
        /// Least and most that would do, in millimetres.
        range_mm: (f64, f64),
    },
    /// A side that does not fit into its half of the table.
    NoRoom {
        /// Name of the side.
        side: String,
        /// Depth that its rows need, in millimetres.
        needed_mm: f64,
        /// Depth that it may have, in millimetres.
        room_mm: f64,
    },
    /// A unit of a troop type that the board game does not define.
    UnknownTroops {
        /// Name of the unit.
        unit: String,
        /// Name of the troop type.
        troops: String,
    },
    /// The files that came out do not open.
    Files(Box<Faults>),
}

impl fmt::Display for ConvertError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Size {
                what,
                mm,
                range_mm: (least, most),
            } => write!(
                f,
                "{what} would be {mm:.1} mm; it must lie between {least} and {most} mm: choose another base width, table or number of bases to the hex"
            ),
            Self::NoRoom {
                side,
                needed_mm,
                room_mm,
            } => write!(
                f,
                "{side} needs rows {needed_mm:.0} mm deep and has {room_mm:.0} mm: give a base more strength, or lay a hex with more bases"
            ),
            Self::UnknownTroops { unit, troops } => {
                write!(f, "{unit} is of troops {troops:?}, which are not defined")
            }
            Self::Files(faults) => write!(f, "the files that came out do not open: {faults}"),
        }
    }
}

impl std::error::Error for ConvertError {}

#[cfg(test)]
mod tests;

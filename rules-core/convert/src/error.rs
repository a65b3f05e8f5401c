//! Why a board game's numbers cannot be laid out.

use fieldpost_rules::authored::Faults;

/// Why a board game's numbers cannot be laid out.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum ConvertError {
    /// A base width or a table that no ruleset could have.
    #[error(
        "{what} would be {mm:.1} mm; it must lie between {} and {} mm: choose another base width, table or number of bases to the hex",
        range_mm.0, range_mm.1
    )]
    Size {
        /// What was measured.
        what: &'static str,
        /// Its measure in millimetres.
        mm: f64,
        /// Least and most that would do, in millimetres.
        range_mm: (f64, f64),
    },
    /// A side that does not fit into its half of the table.
    #[error(
        "{side} needs rows {needed_mm:.0} mm deep and has {room_mm:.0} mm: give a base more strength, or lay a hex with more bases"
    )]
    NoRoom {
        /// Name of the side.
        side: String,
        /// Depth that its rows need, in millimetres.
        needed_mm: f64,
        /// Depth that it may have, in millimetres.
        room_mm: f64,
    },
    /// A unit of a troop type that the board game does not define.
    #[error("{unit} is of troops {troops:?}, which are not defined")]
    UnknownTroops {
        /// Name of the unit.
        unit: String,
        /// Name of the troop type.
        troops: String,
    },
    /// The files that came out do not open.
    #[error("the files that came out do not open: {0}")]
    Files(Box<Faults>),
}

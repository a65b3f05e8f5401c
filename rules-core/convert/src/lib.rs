//! From a board game's numbers to table distances, and from a table to the largest base.
//!
//! A hex becomes a number of base widths; everything else follows: movement points, zones and
//! ranges by the hex, strength points by the base, the table by the map. Where a choice rounds,
//! every choice is shown with what it loses. What comes out is a ruleset and a scenario that open.

mod bases;
mod board;
mod error;
mod files;
mod ground;
mod handbook;
mod map;
mod placing;
mod plan;
mod planned;
mod reading;
mod rounding;
mod words;

pub use bases::{BaseChoice, Block, RoundingLoss, UnitLoss};
pub use board::{
    Board, BoardTroops, BoardZones, Counter, HexTerrain, Hexside, Laying, Map, StraightRows, Turns,
};
pub use error::ConvertError;
pub use files::{Skeleton, skeleton};
pub use ground::{Front, GroundAndTime, March};
pub use handbook::{FILE_WIDTHS, FileWidth, Gait, METRES_PER_YARD};
pub use map::{Fit, TableNeeded, fit, table_needed};
pub use placing::PlacedUnit;
pub use plan::{Plan, SideLine, Troops, Warning, convert};
pub use planned::PlannedUnit;
pub use reading::{read_board, schema_board, starter_board};
pub use rounding::Rounding;
pub use words::{fit_in_words, plan_in_words};

#[cfg(test)]
mod tests;

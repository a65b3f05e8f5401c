//! What a results table is worth, exactly: chances, expected losses, shifts, chains of battles.
//!
//! Every chance of a table is a count of throws out of all equally likely throws, found by convolving the
//! dice in whole numbers; nothing is sampled. Losses are counted in bases. What no table can tell, such as how
//! a whole scenario goes, [`series`] tries out with automatic commanders.

mod chain;
mod chances;
mod columns;
mod compare;
mod error;
mod fraction;
mod interval;
pub mod series;
mod toll;
mod totals;
mod words;
mod worth;

pub use chain::{Battle, Chain, Figure, Losing, chain};
pub use chances::{Aim, Chances, ColumnChances, Meaning, SideChances, chances};
pub use columns::{column_of, columns_of};
pub use compare::{Comparison, Meeting, compare};
pub use error::StudyError;
pub use fraction::Fraction;
pub use interval::{CONFIDENCE, Mean, Paired, Share};
pub use toll::{Force, Forces, SideToll, Toll, toll};
pub use totals::Totals;
pub use words::{chain_in_words, chances_in_words, comparison_in_words, worth_in_words};
pub use worth::{Worth, WorthRow, worth_of_multiplier, worth_of_shift};

#[cfg(test)]
mod tests;

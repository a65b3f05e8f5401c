//! What a results table is worth, exactly: chances, expected losses, shifts, chains of battles.
//!
//! Every chance of a table is a count of throws out of all equally likely throws, found by convolving the
//! dice in whole numbers; nothing is sampled. Losses are counted in bases. What no table can tell, such as how
//! a whole scenario goes, [`series`] tries out with automatic commanders.

mod chain;
mod chances;
mod columns;
mod compare;
mod fraction;
mod interval;
pub mod series;
mod toll;
mod totals;
mod words;
mod worth;

use std::fmt;

pub use chain::{Battle, Chain, Figure, Losing, chain};
pub use chances::{Aim, Chances, ColumnChances, Meaning, SideChances, chances};
pub use columns::{column_of, columns_of};
pub use compare::{Comparison, Meeting, compare};
pub use fraction::Fraction;
pub use interval::{CONFIDENCE, Mean, Paired, Share};
pub use toll::{Force, Forces, SideToll, Toll, toll};
pub use totals::Totals;
pub use words::{chain_in_words, chances_in_words, comparison_in_words, worth_in_words};
pub use worth::{Worth, WorthRow, worth_of_multiplier, worth_of_shift};

/// Why a table cannot be studied as asked.
#[derive(Debug, Clone, PartialEq)]
pub enum StudyError {
    /// More dice or faces than a ruleset may have, so that the counts would not fit.
    Dice {
        /// How many dice.
        count: u32,
        /// Faces of each.
        faces: u32,
    },
    /// A total of the dice that no row answers to.
    NoRow {
        /// The total.
        total: u32,
    },
    /// A row without an outcome for a column, or with one that is not defined.
    NoOutcome {
        /// The total of the dice.
        total: u32,
        /// Head of the column.
        head: String,
    },
    /// Words that are no column of this kind of table.
    NotAColumn {
        /// What was written.
        written: String,
        /// Heads of the table's columns.
        heads: Vec<String>,
    },
    /// A chain of no battles, or of too many.
    ChainLength {
        /// How many.
        battles: usize,
    },
    /// Strengths, a factor or a force that cannot be counted with.
    Number {
        /// What the number is.
        what: &'static str,
        /// What would do.
        remedy: &'static str,
    },
    /// Two tables of different kinds.
    Kinds,
}

impl fmt::Display for StudyError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Dice { count, faces } => write!(
                f,
                "{count} dice of {faces} faces cannot be counted; use 1 to 10 dice of 2 to 100 faces"
            ),
            Self::NoRow { total } => write!(
                f,
                "the results table has no row for a throw of {total}; check the ruleset first"
            ),
            Self::NoOutcome { total, head } => write!(
                f,
                "the results table names no known outcome for a throw of {total} in column {head}; check the ruleset first"
            ),
            Self::NotAColumn { written, heads } => write!(
                f,
                "{written:?} is not a column of this table; its columns are {}",
                heads.join(", ")
            ),
            Self::ChainLength { battles } => write!(
                f,
                "a chain of {battles} battles cannot be studied; name 1 to {} columns",
                chain::MOST_BATTLES
            ),
            Self::Number { what, remedy } => write!(f, "{what} cannot be counted with; {remedy}"),
            Self::Kinds => f.write_str(
                "one table counts odds and the other differences of strength, so their columns do not meet; compare tables of one kind",
            ),
        }
    }
}

impl std::error::Error for StudyError {}

#[cfg(test)]
mod tests;

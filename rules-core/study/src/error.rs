//! Why a table cannot be studied as asked.

/// Most battles in a chain.
pub(super) const MOST_BATTLES: usize = 200;

/// Why a table cannot be studied as asked.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum StudyError {
    /// More dice or faces than a ruleset may have, so that the counts would not fit.
    #[error("{count} dice of {faces} faces cannot be counted; use 1 to 10 dice of 2 to 100 faces")]
    Dice {
        /// How many dice.
        count: u32,
        /// Faces of each.
        faces: u32,
    },
    /// A total of the dice that no row answers to.
    #[error("the results table has no row for a throw of {total}; check the ruleset first")]
    NoRow {
        /// The total.
        total: u32,
    },
    /// A row without an outcome for a column, or with one that is not defined.
    #[error(
        "the results table names no known outcome for a throw of {total} in column {head}; check the ruleset first"
    )]
    NoOutcome {
        /// The total of the dice.
        total: u32,
        /// Head of the column.
        head: String,
    },
    /// Words that are no column of this kind of table.
    #[error("{written:?} is not a column of this table; its columns are {}", heads.join(", "))]
    NotAColumn {
        /// What was written.
        written: String,
        /// Heads of the table's columns.
        heads: Vec<String>,
    },
    /// A chain of no battles, or of too many.
    #[error("a chain of {battles} battles cannot be studied; name 1 to {MOST_BATTLES} columns")]
    ChainLength {
        /// How many.
        battles: usize,
    },
    /// Strengths, a factor or a force that cannot be counted with.
    #[error("{what} cannot be counted with; {remedy}")]
    Number {
        /// What the number is.
        what: &'static str,
        /// What would do.
        remedy: &'static str,
    },
    /// Two tables of different kinds.
    #[error(
        "one table counts odds and the other differences of strength, so their columns do not meet; compare tables of one kind"
    )]
    Kinds,
}

//! Finding the column that someone writes, or that strengths come to.

use fieldpost_rules::geometry::larger;
use fieldpost_rules::referee::odds::column_among;
use fieldpost_rules::ruleset::{Column, ResultsKind};

use super::chances::Chances;
use super::error::StudyError;

/// Index of the column for written odds or a written difference. Odds between two columns go
/// to the one better for the defender, as in a battle.
///
/// # Errors
/// What was written is no column of this kind of table.
pub fn column_of(chances: &Chances, written: &str) -> Result<usize, StudyError> {
    let fault = || StudyError::NotAColumn {
        written: written.to_owned(),
        heads: chances.heads(),
    };
    let column = Column::parse(written).map_err(|_| fault())?;
    match (chances.kind, column) {
        (ResultsKind::Odds, Column::Odds { .. })
        | (ResultsKind::Differential, Column::Difference(_)) => Ok(reached(chances, column)),
        _ => Err(fault()),
    }
}

/// Indices of several columns, written with spaces or commas between.
///
/// # Errors
/// The first that is no column.
pub fn columns_of(chances: &Chances, written: &str) -> Result<Vec<usize>, StudyError> {
    written
        .split([',', ' ', '\t', '\n'])
        .filter(|word| !word.is_empty())
        .map(|word| column_of(chances, word))
        .collect()
}

/// The column that such odds or such a difference come to, by the referee's own law.
pub(super) fn reached(chances: &Chances, wanted: Column) -> usize {
    let columns: Vec<Column> = chances.columns.iter().map(|column| column.column).collect();
    let (attack, defence) = match wanted {
        Column::Odds { attack, defence } => (attack, defence),
        // strengths that differ by so much
        Column::Difference(difference) => (larger(difference, 0.0), larger(-difference, 0.0)),
    };
    column_among(&columns, attack, defence)
}

//! The column of the results table that two strengths come to.

use crate::geometry::ARITHMETIC;
use crate::ruleset::{Column, Outcome, Results};

/// Index of the column for these strengths; see [`column_among`].
pub(crate) fn column_for(results: &Results, attack: f64, defence: f64) -> usize {
    column_among(&results.columns, attack, defence)
}

/// Index of the column for these strengths: the last, from the defender's best on, that the
/// attacker's strength reaches; the first when it reaches none.
pub fn column_among(columns: &[Column], attack: f64, defence: f64) -> usize {
    columns
        .iter()
        .rposition(|column| is_reached(column, attack, defence))
        .unwrap_or(0)
}

fn is_reached(column: &Column, attack: f64, defence: f64) -> bool {
    match *column {
        Column::Odds {
            attack: ours,
            defence: theirs,
        } => attack * theirs * (1.0 + ARITHMETIC) >= defence * ours,
        Column::Difference(difference) => {
            let slack = ARITHMETIC * (attack + defence + 1.0);
            attack - defence + slack >= difference
        }
    }
}

/// The column after shifts, kept within the table.
pub(crate) fn shifted(results: &Results, column: usize, shift: i32) -> usize {
    let last = results.columns.len().saturating_sub(1);
    let by = usize::try_from(shift.unsigned_abs()).unwrap_or(usize::MAX);
    if shift < 0 {
        column.saturating_sub(by)
    } else {
        column.saturating_add(by).min(last)
    }
}

/// A column's head as the ruleset writes it.
pub(crate) fn head(results: &Results, column: usize) -> String {
    results
        .columns
        .get(column)
        .map(ToString::to_string)
        .unwrap_or_default()
}

/// Name and meaning of the outcome for a total of the dice in a column. A checked ruleset has
/// one for every total; where one is missing, nothing happens.
pub(crate) fn outcome(results: &Results, total: u32, column: usize) -> (String, Outcome) {
    let name = results
        .row
        .iter()
        .find(|row| row.throw.holds(total))
        .and_then(|row| row.outcomes.get(column))
        .cloned()
        .unwrap_or_default();
    let outcome = results.outcome.get(&name).cloned().unwrap_or_default();
    (name, outcome)
}

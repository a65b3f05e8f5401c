//! Two results tables side by side.

use serde::Serialize;

use fieldpost_rules::ruleset::Column;

use super::Fraction;
use super::chances::{Aim, Chances};
use super::columns::reached;
use super::error::StudyError;

/// Two tables at the same odds or differences.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Comparison {
    /// The aim whose chance is compared.
    pub aim: Aim,
    /// One row for each head of either table, from the defender's best on.
    pub rows: Vec<Meeting>,
    /// The largest change of chance, either way.
    pub largest_change: f64,
    /// Mean change of the chance.
    pub mean_change: f64,
}

/// Two tables at one head.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Meeting {
    /// The odds or difference.
    pub head: String,
    /// The column it comes to in the first table.
    pub first_column: String,
    /// The column it comes to in the second table.
    pub second_column: String,
    /// Chance of the aim in the first.
    pub first: Fraction,
    /// Chance of the aim in the second.
    pub second: Fraction,
    /// Second less first.
    pub change: f64,
    /// Change of the attacker's expected loss in bases.
    pub attacker_loss: f64,
    /// Change of the defender's expected loss in bases.
    pub defender_loss: f64,
}

/// Compares two tables of one kind.
///
/// # Errors
/// One is of odds and the other of differences.
pub fn compare(first: &Chances, second: &Chances, aim: Aim) -> Result<Comparison, StudyError> {
    if first.kind != second.kind {
        return Err(StudyError::Kinds);
    }
    let rows: Vec<Meeting> = heads(first, second)
        .into_iter()
        .map(|head| meeting(first, second, head, aim))
        .collect();
    let (mut largest, mut sum) = (0.0, 0.0);
    for row in &rows {
        sum += row.change;
        if row.change.abs() > f64::abs(largest) {
            largest = row.change;
        }
    }
    let count = u32::try_from(rows.len()).unwrap_or(u32::MAX);
    Ok(Comparison {
        aim,
        rows,
        largest_change: largest,
        mean_change: if count == 0 {
            0.0
        } else {
            sum / f64::from(count)
        },
    })
}

/// The heads of both tables, each once, ascending.
fn heads(first: &Chances, second: &Chances) -> Vec<Column> {
    let mut heads: Vec<Column> = first.columns.iter().map(|c| c.column).collect();
    for column in &second.columns {
        if !heads.iter().any(|head| size(*head) == size(column.column)) {
            heads.push(column.column);
        }
    }
    heads.sort_by(|a, b| size(*a).total_cmp(&size(*b)));
    heads
}

/// A head as one number, to order heads by.
fn size(column: Column) -> f64 {
    match column {
        Column::Odds { attack, defence } => attack / defence,
        Column::Difference(difference) => difference,
    }
}

fn meeting(first: &Chances, second: &Chances, head: Column, aim: Aim) -> Meeting {
    let (here, there) = (reached(first, head), reached(second, head));
    let (a, b) = (&first.columns[here], &second.columns[there]);
    let (chance, other) = (first.of(aim, here), second.of(aim, there));
    Meeting {
        head: head.to_string(),
        first_column: a.head.clone(),
        second_column: b.head.clone(),
        first: chance,
        second: other,
        change: other.value() - chance.value(),
        attacker_loss: b.attacker.expected_loss.value() - a.attacker.expected_loss.value(),
        defender_loss: b.defender.expected_loss.value() - a.defender.expected_loss.value(),
    }
}

//! What a column shift or a terrain multiplier is worth.

use serde::Serialize;

use fieldpost_rules::ruleset::{Column, ResultsKind};

use super::Fraction;
use super::chances::{Aim, Chances};
use super::columns::reached;
use super::error::StudyError;

/// What something changes, column by column.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Worth {
    /// What is weighed, in words.
    pub of: String,
    /// The aim whose chance is weighed.
    pub aim: Aim,
    /// One row a column.
    pub rows: Vec<WorthRow>,
    /// Mean change of the aim's chance over all columns.
    pub mean_gain: f64,
}

/// What something changes in one column.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct WorthRow {
    /// Head of the column before.
    pub head: String,
    /// Head of the column after.
    pub to: String,
    /// Columns moved; negative favours the defender.
    pub moved: i64,
    /// Chance of the aim before.
    pub before: Fraction,
    /// Chance of the aim after.
    pub after: Fraction,
    /// Change of the chance, from -1 to 1.
    pub gain: f64,
    /// Change of the attacker's expected loss in bases.
    pub attacker_loss: f64,
    /// Change of the defender's expected loss in bases.
    pub defender_loss: f64,
}

/// What shifting by so many columns is worth; negative favours the defender. The table's ends
/// hold, as in a battle.
#[must_use]
pub fn worth_of_shift(chances: &Chances, shift: i32, aim: Aim) -> Worth {
    let last = chances.columns.len().saturating_sub(1);
    let by = usize::try_from(shift.unsigned_abs()).unwrap_or(usize::MAX);
    let to = |from: usize| {
        if shift < 0 {
            from.saturating_sub(by)
        } else {
            from.saturating_add(by).min(last)
        }
    };
    let columns = if shift.unsigned_abs() == 1 {
        "column"
    } else {
        "columns"
    };
    let of = format!("a shift of {shift:+} {columns}");
    worth(chances, of, aim, to)
}

/// What multiplying the defenders' strength is worth, for attackers who just reach each column.
/// In a table of differences that depends on the defenders' strength, which is then asked for.
///
/// # Errors
/// A factor or a strength that is not above 0, or no strength for a table of differences.
pub fn worth_of_multiplier(
    chances: &Chances,
    factor: f64,
    defence: Option<f64>,
    aim: Aim,
) -> Result<Worth, StudyError> {
    let sound = |number: f64| number.is_finite() && number > 0.0 && number <= 1e6;
    if !sound(factor) {
        return Err(StudyError::Number {
            what: "a factor that is not above 0",
            remedy: "write a number such as 2 or 1.5",
        });
    }
    let strength = match (chances.kind, defence) {
        (ResultsKind::Odds, _) => 1.0,
        (ResultsKind::Differential, Some(strength)) if sound(strength) => strength,
        (ResultsKind::Differential, _) => {
            return Err(StudyError::Number {
                what: "a multiplier of an unknown strength in a table of differences",
                remedy: "give the defenders' strength, a number above 0",
            });
        }
    };
    let to = |from: usize| match chances.columns[from].column {
        Column::Odds { attack, defence } => {
            let defence = defence * factor;
            reached(chances, Column::Odds { attack, defence })
        }
        Column::Difference(difference) => {
            let after = difference + strength - strength * factor;
            reached(chances, Column::Difference(after))
        }
    };
    let of = match chances.kind {
        ResultsKind::Odds => format!("counting the defenders {factor} times"),
        ResultsKind::Differential => {
            format!("counting defenders of strength {strength} {factor} times")
        }
    };
    Ok(worth(chances, of, aim, to))
}

fn worth(chances: &Chances, of: String, aim: Aim, to: impl Fn(usize) -> usize) -> Worth {
    let rows: Vec<WorthRow> = (0..chances.columns.len())
        .map(|from| row(chances, aim, from, to(from)))
        .collect();
    let mut sum = 0.0;
    for row in &rows {
        sum += row.gain;
    }
    let count = u32::try_from(rows.len()).unwrap_or(u32::MAX);
    let mean_gain = if count == 0 {
        0.0
    } else {
        sum / f64::from(count)
    };
    Worth {
        of,
        aim,
        rows,
        mean_gain,
    }
}

fn row(chances: &Chances, aim: Aim, from: usize, to: usize) -> WorthRow {
    let (old, new) = (&chances.columns[from], &chances.columns[to]);
    let (before, after) = (chances.of(aim, from), chances.of(aim, to));
    let signed = |index: usize| i64::try_from(index).unwrap_or(i64::MAX);
    WorthRow {
        head: old.head.clone(),
        to: new.head.clone(),
        moved: signed(to) - signed(from),
        before,
        after,
        gain: after.value() - before.value(),
        attacker_loss: new.attacker.expected_loss.value() - old.attacker.expected_loss.value(),
        defender_loss: new.defender.expected_loss.value() - old.defender.expected_loss.value(),
    }
}

//! Several battles one after another: how many will be won, and what they cost together.

use serde::Serialize;

use super::Fraction;
use super::chances::{Aim, Chances};
use super::error::{MOST_BATTLES, StudyError};

/// A chain of battles in given columns, fought independently.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Chain {
    /// What counts as a success.
    pub aim: Aim,
    /// The battles in order.
    pub battles: Vec<Battle>,
    /// Chance of exactly so many successes, from none to all.
    pub exactly: Vec<Figure>,
    /// Chance of at least so many successes, from none (certain) to all.
    pub at_least: Vec<Figure>,
    /// Successes on average.
    pub expected_successes: f64,
    /// What it costs to fight them all, whatever comes of each.
    pub all_fought: Losing,
    /// What it costs to stop at the first failure.
    pub stopping_at_failure: Losing,
}

/// One battle of a chain.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Battle {
    /// Head of its column.
    pub head: String,
    /// Chance of success.
    pub success: Fraction,
    /// Chance that this one and all before it succeed.
    pub all_so_far: Figure,
}

/// Losses on average.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Losing {
    /// Battles fought on average.
    pub battles: f64,
    /// Attacker's bases.
    pub attacker: f64,
    /// Defender's bases.
    pub defender: f64,
}

/// A chance as a number, and exactly for as long as 128 bits hold it.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Figure {
    /// Exactly; absent when the fraction grew too long.
    pub exact: Option<Fraction>,
    /// As a number; rounded at each step once it is not exact.
    pub value: f64,
}

impl Figure {
    fn exactly(fraction: Fraction) -> Self {
        Self {
            exact: Some(fraction),
            value: fraction.value(),
        }
    }

    fn or_about(exact: Option<Fraction>, value: f64) -> Self {
        Self {
            exact,
            value: exact.map_or(value, Fraction::value),
        }
    }

    fn times(self, chance: Fraction) -> Self {
        let exact = self.exact.and_then(|exact| exact.times(chance));
        Self::or_about(exact, self.value * chance.value())
    }

    fn plus(self, other: Self) -> Self {
        let exact = match (self.exact, other.exact) {
            (Some(a), Some(b)) => a.plus(b),
            _ => None,
        };
        Self::or_about(exact, self.value + other.value)
    }
}

/// Studies a chain of battles in these columns.
///
/// # Errors
/// No column, too many, or one that the table has not.
pub fn chain(chances: &Chances, columns: &[usize], aim: Aim) -> Result<Chain, StudyError> {
    if columns.is_empty() || columns.len() > MOST_BATTLES {
        return Err(StudyError::ChainLength {
            battles: columns.len(),
        });
    }
    if let Some(missing) = columns
        .iter()
        .find(|&&index| index >= chances.columns.len())
    {
        return Err(StudyError::NotAColumn {
            written: format!("column {}", missing + 1),
            heads: chances.heads(),
        });
    }
    let successes: Vec<Fraction> = columns.iter().map(|&at| chances.of(aim, at)).collect();
    let battles = battles(chances, columns, &successes);
    let exactly = exactly(&successes);
    let expected_successes = successes.iter().fold(0.0, |sum, p| sum + p.value());
    Ok(Chain {
        aim,
        at_least: at_least(&exactly),
        exactly,
        expected_successes,
        all_fought: losing(chances, columns, |_| 1.0),
        stopping_at_failure: losing(chances, columns, |battle| match battle.checked_sub(1) {
            None => 1.0,
            Some(before) => battles[before].all_so_far.value,
        }),
        battles,
    })
}

fn battles(chances: &Chances, columns: &[usize], successes: &[Fraction]) -> Vec<Battle> {
    let mut so_far = Figure::exactly(Fraction::ONE);
    let mut battles = Vec::with_capacity(columns.len());
    for (&column, &success) in columns.iter().zip(successes) {
        so_far = so_far.times(success);
        battles.push(Battle {
            head: chances.columns[column].head.clone(),
            success,
            all_so_far: so_far,
        });
    }
    battles
}

/// Chances of 0, 1, … successes: each battle moves every count up by one or leaves it.
fn exactly(successes: &[Fraction]) -> Vec<Figure> {
    let mut counts = vec![Figure::exactly(Fraction::ONE)];
    for &success in successes {
        let mut next = vec![Figure::exactly(Fraction::ZERO); counts.len() + 1];
        for (count, chance) in counts.iter().enumerate() {
            next[count] = next[count].plus(chance.times(success.rest()));
            next[count + 1] = next[count + 1].plus(chance.times(success));
        }
        counts = next;
    }
    counts
}

/// Summed from the top, where small chances are not lost beside large ones.
fn at_least(exactly: &[Figure]) -> Vec<Figure> {
    let mut sum = Figure::exactly(Fraction::ZERO);
    let mut from_top: Vec<Figure> = exactly
        .iter()
        .rev()
        .map(|chance| {
            sum = sum.plus(*chance);
            sum
        })
        .collect();
    from_top.reverse();
    from_top
}

/// Expected losses when battle `i` is fought with the chance `fought(i)`; expectations add,
/// whether or not battles depend on one another.
fn losing(chances: &Chances, columns: &[usize], fought: impl Fn(usize) -> f64) -> Losing {
    let mut sum = Losing {
        battles: 0.0,
        attacker: 0.0,
        defender: 0.0,
    };
    for (battle, &column) in columns.iter().enumerate() {
        let (share, column) = (fought(battle), &chances.columns[column]);
        sum.battles += share;
        sum.attacker += share * column.attacker.expected_loss.value();
        sum.defender += share * column.defender.expected_loss.value();
    }
    sum
}

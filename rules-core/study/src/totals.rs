//! In how many ways dice come to each total: whole numbers, by exact convolution.

use fieldpost_rules::ruleset::Dice;

use super::Fraction;
use super::error::StudyError;

/// Most dice that are counted; ten of a hundred faces fall in 10^20 ways, far below 2^128.
const MOST_DICE: u32 = 10;
/// Most faces that are counted.
const MOST_FACES: u32 = 100;

/// The totals of a throw of equal dice.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Totals {
    least: u32,
    ways: Vec<u128>,
    all: u128,
}

impl Totals {
    /// Counts the ways of each total by adding one die after another: a total with one die more
    /// is reached from each of the `faces` totals before it.
    ///
    /// # Errors
    /// More dice or faces than a ruleset may have, or none.
    pub fn of(dice: Dice) -> Result<Self, StudyError> {
        let Dice { count, faces } = dice;
        if !(1..=MOST_DICE).contains(&count) || !(1..=MOST_FACES).contains(&faces) {
            return Err(StudyError::Dice { count, faces });
        }
        let mut ways = vec![1u128];
        let mut all = 1u128;
        for _ in 0..count {
            ways = with_another(&ways, faces);
            all *= u128::from(faces);
        }
        Ok(Self {
            least: count,
            ways,
            all,
        })
    }

    /// Each total with its number of ways, least total first.
    pub fn each(&self) -> impl Iterator<Item = (u32, u128)> + '_ {
        (self.least..).zip(self.ways.iter().copied())
    }

    /// All ways together: `faces` to the power of `count`.
    #[must_use]
    pub fn all(&self) -> u128 {
        self.all
    }

    /// The chance of a total.
    #[must_use]
    pub fn chance(&self, total: u32) -> Fraction {
        let ways = total
            .checked_sub(self.least)
            .and_then(|index| self.ways.get(usize::try_from(index).ok()?))
            .copied()
            .unwrap_or(0);
        Fraction::new(ways, self.all).unwrap_or(Fraction::ZERO)
    }
}

/// Ways by total above the least, for one die more.
fn with_another(ways: &[u128], faces: u32) -> Vec<u128> {
    let faces = usize::try_from(faces).unwrap_or(1);
    let mut more = vec![0u128; ways.len() + faces - 1];
    for (total, count) in ways.iter().enumerate() {
        for sum in &mut more[total..total + faces] {
            *sum += count;
        }
    }
    more
}

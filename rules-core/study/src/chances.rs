//! Every column of a results table as exact chances and expected losses.

use serde::{Deserialize, Serialize};

use fieldpost_rules::ruleset::{Column, Dice, Fate, Outcome, Results, ResultsKind};

use super::Fraction;
use super::error::StudyError;
use super::toll::{Forces, SideToll, Toll, toll};
use super::totals::Totals;

/// A results table, studied.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Chances {
    /// Whether columns are odds or differences of strength.
    pub kind: ResultsKind,
    /// The dice.
    pub dice: Dice,
    /// The troops that losses are counted for; absent: losses as the table states them.
    pub forces: Option<Forces>,
    /// What can come of a throw, from the attacker's worst to the attacker's best.
    pub outcomes: Vec<Meaning>,
    /// One entry a column, from the defender's best to the attacker's best.
    pub columns: Vec<ColumnChances>,
}

/// One outcome of the table.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Meaning {
    /// Its name in the table.
    pub name: String,
    /// What it means, in the author's words.
    pub words: String,
    /// What it costs.
    pub toll: Toll,
    /// Positive when it harms the defender more, negative when it harms the attacker more.
    pub leaning: f64,
}

/// One column of the table.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct ColumnChances {
    /// Its head as the ruleset writes it.
    pub head: String,
    /// Its head.
    #[serde(skip)]
    pub column: Column,
    /// Chance of each outcome, in the order of [`Chances::outcomes`].
    pub chance: Vec<Fraction>,
    /// What awaits the attackers.
    pub attacker: SideChances,
    /// What awaits the defenders.
    pub defender: SideChances,
    /// Chance that the attackers take the ground: see [`Aim::Ground`].
    pub ground_taken: Fraction,
    /// Chance of an exchange.
    pub exchange: Fraction,
    /// Chance that nothing happens to either side.
    pub nothing: Fraction,
}

/// What awaits one side in a column.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct SideChances {
    /// Chance of falling back.
    pub falls_back: Fraction,
    /// Chance that nothing of it is left.
    pub removed: Fraction,
    /// Chance of losing a base or more.
    pub loses: Fraction,
    /// Bases lost on average; see [`toll`] for what counts.
    pub expected_loss: Fraction,
}

/// What the attacker hopes for.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Aim {
    /// The defenders give ground, falling back or removed, and the attackers do not.
    #[default]
    Ground,
    /// Nothing of the defenders is left.
    Destroy,
    /// The attackers do not give ground.
    Stand,
}

impl Aim {
    /// Every aim with the word that names it.
    pub const ALL: [(&'static str, Self); 3] = [
        ("ground", Self::Ground),
        ("destroy", Self::Destroy),
        ("stand", Self::Stand),
    ];

    /// Whether an outcome's toll reaches it.
    #[must_use]
    pub fn reached_by(self, toll: &Toll) -> bool {
        match self {
            Self::Ground => toll.defender.gives_ground() && !toll.attacker.gives_ground(),
            Self::Destroy => toll.defender.removed,
            Self::Stand => !toll.attacker.gives_ground(),
        }
    }

    /// The aim as the end of a sentence.
    #[must_use]
    pub fn words(self) -> &'static str {
        match self {
            Self::Ground => "the attackers take the ground",
            Self::Destroy => "nothing of the defenders is left",
            Self::Stand => "the attackers stand their ground",
        }
    }
}

impl Chances {
    /// Chance that an aim is reached in a column; 0 for a column that is not there.
    #[must_use]
    pub fn of(&self, aim: Aim, column: usize) -> Fraction {
        self.columns.get(column).map_or(Fraction::ZERO, |column| {
            sum(self.outcomes.iter().zip(&column.chance), |toll| {
                aim.reached_by(toll)
            })
        })
    }

    /// Heads of the columns.
    #[must_use]
    pub fn heads(&self) -> Vec<String> {
        self.columns
            .iter()
            .map(|column| column.head.clone())
            .collect()
    }
}

/// Studies a results table; with forces, losses are theirs.
///
/// # Errors
/// Dice beyond counting, or a table that is not whole. A checked ruleset gives none.
pub fn chances(results: &Results, forces: Option<&Forces>) -> Result<Chances, StudyError> {
    let totals = Totals::of(results.dice)?;
    let outcomes = meanings(results, forces);
    let mut columns = Vec::with_capacity(results.columns.len());
    for (index, column) in results.columns.iter().enumerate() {
        let ways = ways_of(results, &totals, index, &outcomes)?;
        columns.push(column_chances(results, *column, &outcomes, &ways, &totals));
    }
    Ok(Chances {
        kind: results.kind,
        dice: results.dice,
        forces: forces.copied(),
        outcomes,
        columns,
    })
}

/// The outcomes that rows come to, from the attacker's worst to the attacker's best.
fn meanings(results: &Results, forces: Option<&Forces>) -> Vec<Meaning> {
    let mut all: Vec<Meaning> = results
        .outcome
        .iter()
        .map(|(name, outcome)| Meaning {
            name: name.clone(),
            words: outcome.words.clone(),
            toll: toll(outcome, results.losses, forces),
            leaning: leaning(outcome),
        })
        .collect();
    all.sort_by(|a, b| {
        a.leaning
            .total_cmp(&b.leaning)
            .then_with(|| a.name.cmp(&b.name))
    });
    all
}

/// Elimination outweighs any loss, a loss any fall back.
fn leaning(outcome: &Outcome) -> f64 {
    harm(&outcome.defender) - harm(&outcome.attacker)
}

fn harm(fate: &Fate) -> f64 {
    let eliminated = if fate.eliminated { 1e7 } else { 0.0 };
    let back = fate.falls_back.map_or(0.0, |distance| {
        // of whatever unit: only for an order, and a fall back never outweighs a base
        distance.amount / (distance.amount + 1.0)
    });
    eliminated + f64::from(fate.loses) + back
}

/// In how many ways a column comes to each outcome.
fn ways_of(
    results: &Results,
    totals: &Totals,
    column: usize,
    outcomes: &[Meaning],
) -> Result<Vec<u128>, StudyError> {
    let mut ways = vec![0u128; outcomes.len()];
    for (total, count) in totals.each() {
        let row = results
            .row
            .iter()
            .find(|row| row.throw.holds(total))
            .ok_or(StudyError::NoRow { total })?;
        let index = row
            .outcomes
            .get(column)
            .and_then(|name| outcomes.iter().position(|meaning| meaning.name == *name))
            .ok_or_else(|| StudyError::NoOutcome {
                total,
                head: results.columns[column].to_string(),
            })?;
        ways[index] += count;
    }
    Ok(ways)
}

fn column_chances(
    results: &Results,
    column: Column,
    outcomes: &[Meaning],
    ways: &[u128],
    totals: &Totals,
) -> ColumnChances {
    let all = totals.all();
    let part = |ways| Fraction::new(ways, all).unwrap_or(Fraction::ZERO);
    let counted = |wanted: &dyn Fn(&Meaning) -> bool| {
        let hits = outcomes.iter().zip(ways).filter(|(m, _)| wanted(m));
        part(hits.map(|(_, ways)| *ways).sum())
    };
    let side = |of: fn(&Toll) -> SideToll| SideChances {
        falls_back: counted(&|meaning| of(&meaning.toll).falls_back),
        removed: counted(&|meaning| of(&meaning.toll).removed),
        loses: counted(&|meaning| of(&meaning.toll).bases > 0),
        // at most 10^8 bases times 10^20 ways
        expected_loss: part(
            outcomes
                .iter()
                .zip(ways)
                .map(|(meaning, ways)| u128::from(of(&meaning.toll).bases) * ways)
                .sum(),
        ),
    };
    let outcome = |meaning: &Meaning| results.outcome.get(&meaning.name);
    ColumnChances {
        head: column.to_string(),
        column,
        chance: ways.iter().map(|ways| part(*ways)).collect(),
        attacker: side(|toll| toll.attacker),
        defender: side(|toll| toll.defender),
        ground_taken: counted(&|meaning| Aim::Ground.reached_by(&meaning.toll)),
        exchange: counted(&|meaning| outcome(meaning).is_some_and(|o| o.exchange)),
        nothing: counted(&|meaning| {
            outcome(meaning)
                .is_some_and(|o| !o.exchange && o.attacker.is_nothing() && o.defender.is_nothing())
        }),
    }
}

/// Chances of the outcomes whose toll is wanted, together; they have one denominator, so that
/// the sum fits wherever they do.
fn sum<'a>(
    parts: impl Iterator<Item = (&'a Meaning, &'a Fraction)>,
    wanted: impl Fn(&Toll) -> bool,
) -> Fraction {
    parts
        .filter(|(meaning, _)| wanted(&meaning.toll))
        .try_fold(Fraction::ZERO, |sum, (_, chance)| sum.plus(*chance))
        .unwrap_or(Fraction::ZERO)
}

//! What one outcome costs both sides, counted in bases.

use serde::Serialize;

use fieldpost_rules::ruleset::{Fate, Losses, Outcome};

use super::error::StudyError;

/// The troops of one side of a battle.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Force {
    /// Units in the battle, all equal.
    pub units: u32,
    /// Bases of each.
    pub bases: u32,
    /// Strength of each base.
    pub strength_per_base: f64,
}

/// Slack for strengths that are decimals, as in an exchange on the table.
const SLACK: f64 = 1e-9;

/// Most units or bases that a force is counted with.
const MOST: u32 = 10_000;

impl Force {
    /// A force that can be counted with.
    ///
    /// # Errors
    /// No unit, no base, or a strength that is not above 0.
    pub fn new(units: u32, bases: u32, strength_per_base: f64) -> Result<Self, StudyError> {
        let sound = (1..=MOST).contains(&units)
            && (1..=MOST).contains(&bases)
            && strength_per_base.is_finite()
            && strength_per_base > 0.0
            && strength_per_base <= 1e6;
        if !sound {
            return Err(StudyError::Number {
                what: "a force without units, bases or strength",
                remedy: "give 1 to 10000 units of 1 to 10000 bases, and a strength above 0",
            });
        }
        Ok(Self {
            units,
            bases,
            strength_per_base,
        })
    }

    /// Bases in all.
    #[must_use]
    pub fn all_bases(&self) -> u32 {
        self.units.saturating_mul(self.bases)
    }

    /// Strength in all.
    #[must_use]
    pub fn strength(&self) -> f64 {
        f64::from(self.all_bases()) * self.strength_per_base
    }

    /// Least number of bases that add up to a strength; all of them when none do.
    fn bases_worth(&self, strength: f64) -> u32 {
        let wanted = ((strength - SLACK) / self.strength_per_base).ceil();
        if wanted >= f64::from(self.all_bases()) {
            return self.all_bases();
        }
        // `wanted` is a whole number below 2^32 here, and negative ones become 0
        #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss)]
        let bases = wanted as u32;
        bases
    }

    /// Bases lost when first an exchange takes so many, one at a time from the unit with most
    /// left, and then each unit loses so many of what it has left.
    fn lost_by_each(&self, exchanged: u32, each: u32) -> u32 {
        let (even, over) = (exchanged / self.units, exchanged % self.units);
        let left = self.bases.saturating_sub(even);
        let less = self.bases.saturating_sub(even + 1);
        exchanged
            .saturating_add(over.saturating_mul(less.min(each)))
            .saturating_add((self.units - over).saturating_mul(left.min(each)))
    }
}

/// Both sides of a battle.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Forces {
    /// The attackers.
    pub attacker: Force,
    /// The defenders.
    pub defender: Force,
}

/// What one outcome costs one side.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
pub struct SideToll {
    /// Bases lost by the side in all; without forces, the number that the table states.
    pub bases: u32,
    /// Whether nothing of it is left.
    pub removed: bool,
    /// Whether what is left of it falls back.
    pub falls_back: bool,
}

impl SideToll {
    /// Whether it leaves its ground, one way or the other.
    #[must_use]
    pub fn gives_ground(self) -> bool {
        self.removed || self.falls_back
    }
}

/// What one outcome costs both sides.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
pub struct Toll {
    /// The attackers.
    pub attacker: SideToll,
    /// The defenders.
    pub defender: SideToll,
}

/// What an outcome costs. With forces, losses are those of the whole side, never more than it
/// has; elimination and exchange count their bases too. Without, only the losses that the table
/// states as a number count, once a side.
#[must_use]
pub fn toll(outcome: &Outcome, losses: Losses, forces: Option<&Forces>) -> Toll {
    let Some(forces) = forces else {
        return Toll {
            attacker: as_stated(&outcome.attacker),
            defender: as_stated(&outcome.defender),
        };
    };
    let (ours, theirs) = (forces.attacker.strength(), forces.defender.strength());
    let exchanged = outcome
        .exchange
        .then_some(if ours < theirs { ours } else { theirs });
    Toll {
        attacker: of_force(&outcome.attacker, losses, &forces.attacker, exchanged),
        defender: of_force(&outcome.defender, losses, &forces.defender, exchanged),
    }
}

fn as_stated(fate: &Fate) -> SideToll {
    SideToll {
        bases: fate.loses,
        removed: fate.eliminated,
        falls_back: fate.moves() && !fate.eliminated,
    }
}

fn of_force(fate: &Fate, losses: Losses, force: &Force, exchanged: Option<f64>) -> SideToll {
    let all = force.all_bases();
    let exchanged = exchanged.map_or(0, |strength| force.bases_worth(strength));
    let lost = match losses {
        Losses::EachUnit => force.lost_by_each(exchanged, fate.loses),
        Losses::Side => exchanged.saturating_add(fate.loses),
    };
    let bases = if fate.eliminated { all } else { lost.min(all) };
    let removed = bases >= all;
    SideToll {
        bases,
        removed,
        falls_back: fate.moves() && !removed,
    }
}

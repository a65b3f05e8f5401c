//! Two series of the same seed, battle by battle: what a change of rules or scenario does.

use serde::Serialize;

use crate::{Mean, Paired};

use super::report::game_turns;
use super::{Fought, Report, Stuck};

/// Two series of one seed compared, battle `n` of one with battle `n` of the other.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Compared {
    /// The first series.
    pub first: Report,
    /// The second series.
    pub second: Report,
    /// Battles that were fought to their end in both.
    pub pairs: u64,
    /// Battles won by each side, in the scenarios' order.
    pub wins: [Paired; 2],
    /// Draws.
    pub draws: Paired,
    /// Points of each side at the end.
    pub points: [Difference; 2],
    /// Length in game turns.
    pub game_turns: Difference,
    /// Share of its strength that each side lost.
    pub strength_lost: [Difference; 2],
    /// Share of unit-turns begun out of command, of each side.
    pub out_of_command: [Difference; 2],
}

/// A figure of both series.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Difference {
    /// Its mean in the first.
    pub first: f64,
    /// Its mean in the second.
    pub second: f64,
    /// Second less first, battle by battle.
    pub difference: Mean,
}

/// Compares two series of one seed.
#[must_use]
pub fn compared(
    (first_report, first): (Report, &[Result<Fought, Stuck>]),
    (second_report, second): (Report, &[Result<Fought, Stuck>]),
) -> Compared {
    let pairs = pairs(first, second);
    let won = |side| {
        Paired::of(
            pairs
                .iter()
                .map(|(a, b)| (is_won(a, side), is_won(b, side))),
        )
    };
    let of = |figure: &dyn Fn(&Fought) -> f64| difference(&pairs, figure);
    Compared {
        pairs: u64::try_from(pairs.len()).unwrap_or(u64::MAX),
        wins: [won(Some(0)), won(Some(1))],
        draws: won(None),
        points: [0, 1].map(|side| of(&move |one: &Fought| one.sides[side].points)),
        game_turns: of(&game_turns),
        strength_lost: [0, 1].map(|side| of(&move |one| one.sides[side].strength_lost)),
        out_of_command: [0, 1].map(|side| {
            of(&move |battle| {
                let side = &battle.sides[side];
                match side.unit_turns {
                    0 => 0.0,
                    turns => f64::from(side.out_of_command) / f64::from(turns),
                }
            })
        }),
        first: first_report,
        second: second_report,
    }
}

fn is_won(battle: &Fought, by: Option<usize>) -> bool {
    battle.winner == by
}

/// Battles of one number that were fought to their end in both series, by number.
fn pairs<'a>(
    first: &'a [Result<Fought, Stuck>],
    second: &'a [Result<Fought, Stuck>],
) -> Vec<(&'a Fought, &'a Fought)> {
    let ended = |all: &'a [Result<Fought, Stuck>]| {
        let mut ended: Vec<&Fought> = all.iter().filter_map(|one| one.as_ref().ok()).collect();
        ended.sort_by_key(|battle| battle.number);
        ended
    };
    let second = ended(second);
    let fellow = |battle: &'a Fought| {
        let found = second.binary_search_by_key(&battle.number, |one| one.number);
        Some((battle, second[found.ok()?]))
    };
    ended(first).into_iter().filter_map(fellow).collect()
}

fn difference(pairs: &[(&Fought, &Fought)], figure: &dyn Fn(&Fought) -> f64) -> Difference {
    let firsts: Vec<f64> = pairs.iter().map(|(a, _)| figure(a)).collect();
    let seconds: Vec<f64> = pairs.iter().map(|(_, b)| figure(b)).collect();
    let both = firsts.iter().zip(&seconds);
    let differences: Vec<f64> = both.map(|(first, second)| second - first).collect();
    Difference {
        first: Mean::of(&firsts).mean,
        second: Mean::of(&seconds).mean,
        difference: Mean::of(&differences),
    }
}

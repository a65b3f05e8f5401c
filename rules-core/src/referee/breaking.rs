//! Optional law: an army whose losses pass a share of its strength is broken.

use crate::game::{Cause, Game, State, Unit};
use crate::geometry::ARITHMETIC;
use crate::ruleset::Broken;

/// Strength that a unit has lost: bases gone; all of it when the unit is gone, unless it left
/// over an exit with what it had.
pub(crate) fn strength_lost(unit: &Unit) -> f64 {
    let left = match unit.state {
        State::Gone(cause) if cause != Cause::Exited => 0,
        State::Gone(_) | State::Standing(_) | State::Waiting(_) => unit.bases,
    };
    f64::from(unit.bases_at_start.saturating_sub(left)) * unit.strength_per_base
}

/// Share of a side's strength at the start, arrivals included, that it has lost: 0 to 1.
#[must_use]
pub fn share_lost(game: &Game, side: usize) -> f64 {
    let (mut lost, mut whole) = (0.0, 0.0);
    for unit in game.units().filter(|unit| unit.side == side) {
        lost += strength_lost(unit);
        whole += f64::from(unit.bases_at_start) * unit.strength_per_base;
    }
    if whole > 0.0 { lost / whole } else { 0.0 }
}

/// Whether a side's army is broken. Never without that law.
#[must_use]
pub fn is_broken(game: &Game, side: usize) -> bool {
    game.ruleset()
        .breaking
        .as_ref()
        .is_some_and(|breaking| share_lost(game, side) + ARITHMETIC >= breaking.at_share)
}

/// Whether a side's army is broken and therefore may not enter enemy halt zones nor bombard,
/// and need not attack.
#[must_use]
pub fn may_not_attack(game: &Game, side: usize) -> bool {
    breaks_as(game, side, Broken::NoAttacks)
}

/// Whether a side's army is broken and has therefore lost.
#[must_use]
pub fn has_lost(game: &Game, side: usize) -> bool {
    breaks_as(game, side, Broken::Loses)
}

fn breaks_as(game: &Game, side: usize, then: Broken) -> bool {
    let law = game.ruleset().breaking.as_ref();
    law.is_some_and(|breaking| breaking.then == then) && is_broken(game, side)
}

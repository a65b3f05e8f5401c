//! Judging a move: legs carried out in order, every limit measured (laws of measurement, §§4–6).

mod account;
mod aligning;
mod banks;
mod body;
mod charges;
mod contacts;
mod follow;
mod friends;
mod leaving;
mod lift;
mod limits;
#[cfg(test)]
mod line_properties;
mod lines;
mod locks;
mod marks;
mod outlook;
mod passage;
mod probe;
#[cfg(test)]
mod properties;
mod purse;
mod slack;
mod spending;
mod standing;
mod steps;
mod surroundings;
mod sweep;
mod tally;
mod tapes;
#[cfg(test)]
mod tests;
mod walk;

use std::collections::BTreeMap;
use std::rc::Rc;

use crate::game::{Game, Unit};
use crate::geometry::Pose;
use crate::orders::{Leg, UnitId};
use crate::verdict::MoveVerdict;

use super::{breaking, command};

pub(super) use outlook::{Outlook, Sector};
pub(super) use probe::{Course, Probe, Run, Stance, View};
pub(super) use surroundings::Surroundings;
use walk::Walk;

/// What was true as the player turn began.
#[derive(Debug, Clone)]
pub struct TurnStart {
    in_command: BTreeMap<UnitId, bool>,
    broken: bool,
}

impl TurnStart {
    /// Command as the turn of the side to move begins.
    #[must_use]
    pub fn of(game: &Game) -> Self {
        let side = game.player();
        let chain = command::Chain::of(game, side);
        let units = game.units().filter(|unit| unit.side == side);
        Self {
            in_command: units
                .map(|unit| (unit.id.clone(), chain.link(unit).in_command))
                .collect(),
            broken: breaking::is_broken(game, side),
        }
    }

    /// Command of one unit as if the turn of its side began now.
    fn of_unit(game: &Game, unit: &Unit) -> Self {
        let in_command = command::link(game, unit).in_command;
        Self {
            in_command: BTreeMap::from([(unit.id.clone(), in_command)]),
            broken: breaking::is_broken(game, unit.side),
        }
    }

    pub(super) fn in_command(&self, unit: &UnitId) -> bool {
        self.in_command.get(unit).copied().unwrap_or(true)
    }
}

/// Why a body moves.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) enum Purpose {
    /// A move in the open sense.
    March,
    /// Breaking contact at a price.
    Withdrawal,
    /// Coming onto the table at this pose.
    Arrival(Pose),
}

/// A move to be judged. Its units exist, stand on the table (but for an arrival) and are of one side.
#[derive(Debug, Clone, Copy)]
pub(super) struct Movement<'a> {
    pub(super) order: usize,
    pub(super) units: &'a [&'a Unit],
    pub(super) legs: &'a [Leg],
    pub(super) purpose: Purpose,
}

/// Judges a move on the table as it stands; one verdict for each unit of the body.
pub(super) fn judge(game: &Game, turn: &TurnStart, movement: &Movement<'_>) -> Vec<MoveVerdict> {
    judge_among(game, turn, movement, Surroundings::of(game, movement))
}

fn judge_among<'a>(
    game: &'a Game,
    turn: &TurnStart,
    movement: &Movement<'_>,
    around: Surroundings<'a>,
) -> Vec<MoveVerdict> {
    let around = Rc::new(around);
    let Some(mut walk) = Walk::begin(game, turn, movement, around) else {
        return Vec::new();
    };
    for (index, leg) in movement.legs.iter().enumerate() {
        walk.leg(index, leg);
    }
    walk.finish();
    walk.verdicts(movement)
}

/// The verdicts on a move among surroundings that are known to hold all that it can come near; `None` if it is not
/// legal, which is said as soon as it is known.
pub(super) fn judge_if_legal<'a>(
    game: &'a Game,
    turn: &TurnStart,
    movement: &Movement<'_>,
    around: Rc<Surroundings<'a>>,
) -> Option<Vec<MoveVerdict>> {
    let mut walk = Walk::begin(game, turn, movement, around)?;
    for (index, leg) in movement.legs.iter().enumerate() {
        walk.leg(index, leg);
        if !walk.is_legal_so_far() {
            return None;
        }
    }
    walk.finish();
    walk.is_legal_so_far().then(|| walk.verdicts(movement))
}

//! The table as data.

use fieldpost_rules::game::{Game, State, Unit};
use fieldpost_rules::referee::lines_paid;
use fieldpost_rules::verdict::Place;

use super::news::to_move;
use crate::answers::TableAnswer;
use crate::wire::{TableUnit, Whereabouts};

/// The table as data, after an event.
#[must_use]
pub fn table_data(game: &Game, after: u64) -> TableAnswer {
    let holders = game.holders().iter();
    TableAnswer {
        name: game.scenario().name.clone(),
        after,
        game_turn: game.told_turn(),
        game_turns: game.scenario().game_turns,
        player_turn: game.player_turn(),
        to_move: to_move(game),
        units: game.units().map(|unit| unit_data(game, unit)).collect(),
        exit_points: game.exit_points(),
        holders: holders
            .map(|holder| holder.map(|side| game.side_id(side).0))
            .collect(),
        ended: game.ending().cloned(),
        drawn: None,
    }
}

fn unit_data(game: &Game, unit: &Unit) -> TableUnit {
    TableUnit {
        id: unit.id.0.clone(),
        name: unit.name.clone(),
        side: game.side_id(unit.side).0,
        troops: unit.troops.clone(),
        arm: unit.arm,
        files: unit.files,
        ranks: unit.ranks(),
        bases: unit.bases,
        bases_at_start: unit.bases_at_start,
        strength: unit.strength(),
        disorder: unit.disorder,
        lines_paid: lines_paid(game, unit)
            .into_iter()
            .map(str::to_owned)
            .collect(),
        whereabouts: match &unit.state {
            State::Standing(pose) => Whereabouts::Standing {
                place: Place::from(*pose),
                pose: *pose,
            },
            State::Waiting(arrival) => Whereabouts::Waiting {
                arrives: arrival.clone(),
            },
            State::Gone(cause) => Whereabouts::Gone { cause: *cause },
        },
    }
}

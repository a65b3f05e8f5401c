//! The table as data.

use fieldpost_rules::game::{Game, State};
use fieldpost_rules::verdict::Place;
use serde_json::{Value, json};

use super::news::to_move;

/// The table as data.
#[must_use]
pub fn table_data(game: &Game, after: u64) -> Value {
    let unit = |unit: &fieldpost_rules::game::Unit| {
        let mut data = json!({
            "id": unit.id, "name": unit.name, "side": game.side_id(unit.side), "troops": unit.troops,
            "arm": unit.arm, "files": unit.files, "ranks": unit.ranks(), "bases": unit.bases,
            "bases_at_start": unit.bases_at_start, "strength": unit.strength(), "disorder": unit.disorder,
            "lines_paid": fieldpost_rules::referee::lines_paid(game, unit),
        });
        let (state, more) = match &unit.state {
            State::Standing(pose) => (
                "standing",
                json!({ "place": Place::from(*pose), "pose": pose }),
            ),
            State::Waiting(arrival) => ("waiting", json!({ "arrives": arrival })),
            State::Gone(cause) => ("gone", json!({ "cause": cause })),
        };
        data["state"] = state.into();
        if let (Some(data), Value::Object(more)) = (data.as_object_mut(), more) {
            data.extend(more);
        }
        data
    };
    let holders: Vec<_> = game
        .holders()
        .iter()
        .map(|holder| holder.map(|side| game.side_id(side)))
        .collect();
    json!({
        "name": game.scenario().name, "after": after, "game_turn": game.told_turn(),
        "game_turns": game.scenario().game_turns, "player_turn": game.player_turn(), "to_move": to_move(game),
        "units": game.units().map(unit).collect::<Vec<_>>(),
        "exit_points": game.exit_points(), "holders": holders, "ended": game.ending(),
    })
}

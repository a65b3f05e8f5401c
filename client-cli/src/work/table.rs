//! `table`: the table as text, picture or data.

use fieldpost_rules::game::{Game, State};
use fieldpost_rules::verdict::Place;
use fieldpost_view::svg::Ghost;
use serde_json::{Value, json};

use super::news::to_move;
use super::source::Told;
use super::story::Ask;
use crate::failure::{Failure, Outcome};
use crate::keep::record::Read;
use crate::out::{Out, text_columns};
use crate::shown::{self, TableOptions};
use crate::typed::{Common, TableArgs};

/// Shows the table.
///
/// # Errors
/// When server or record cannot be read, or a picture not written.
pub fn table(args: &TableArgs, common: &Common, out: Out) -> Outcome {
    let ask = Ask::unless(args.offline);
    let told = args.source.told(args.after, ask, common, out)?;
    let game = &told.game;
    let part = args.enlarged.part_of(game)?;
    let since = args.since.map(|since| begins(&told, since)).transpose()?;
    if since.is_some() && !args.pictures.any() {
        return Err(Failure::Usage(
            "what changed is a drawing: name a file with --svg or --png, or --show it".to_owned(),
        ));
    }
    let options = TableOptions {
        zones: args.zones,
        part,
        changes: match since {
            Some(since) => changes(&told, since, out)?,
            None => Vec::new(),
        },
    };
    args.pictures.answer(
        || shown::table_svg(game, options),
        &as_data(game, told.number),
        || shown::table_text(game, text_columns(args.width), part),
        out,
    )
}

/// The event after which changes are drawn: the one named; else the last whose news was read, or, when they were
/// read to the end, the last that had been read before.
fn begins(told: &Told, since: Option<u64>) -> Outcome<u64> {
    let unread_or_last_told = |read: Read| {
        if read.entry < told.number {
            read.entry
        } else {
            read.before
        }
    };
    let since = since
        .or(told.read.map(unread_or_last_told))
        .ok_or_else(|| Failure::Usage("since which event? Name it: --since EVENT".to_owned()))?;
    if told.record.is_none() {
        return Err(Failure::Usage(
            "a battle at its opening has not changed yet".to_owned(),
        ));
    }
    if since > told.number {
        return Err(Failure::Usage(format!(
            "event {since} comes after the table shown, which is that after event {}",
            told.number
        )));
    }
    Ok(since)
}

/// What changed on the table after an event. Says since when, and when nothing did.
fn changes(told: &Told, since: u64, out: Out) -> Outcome<Vec<Ghost>> {
    let Some(record) = &told.record else {
        return Ok(Vec::new());
    };
    let before = record.game_after(Some(since))?;
    let found = shown::changes(&before, record.events(since, told.number));
    let last = told.number;
    out.remark(&match (since == last, found.is_empty()) {
        (true, _) => format!(
            "nothing to draw has happened since event {since}, the last; name an earlier one: --since EVENT"
        ),
        (false, true) => format!(
            "no unit came, went or moved by events {} to {last}; name an earlier one: --since EVENT",
            since + 1
        ),
        (false, false) => format!("drawn with what events {} to {last} changed", since + 1),
    });
    Ok(found)
}

/// The table as data.
#[must_use]
pub fn as_data(game: &Game, after: u64) -> Value {
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

//! Reading a board game's numbers from TOML text, by the same reader as rulesets and scenarios.

use std::sync::LazyLock;

use serde_json::Value;

use super::board::Board;
use fieldpost_rules::authored::{self, Faults, Findings, Place};
use fieldpost_rules::ruleset::Arm;

static SCHEMA: LazyLock<Value> = LazyLock::new(authored::schema_of::<Board>);

/// The JSON Schema (draft 2020-12) of a board file, for editors.
#[must_use]
pub fn schema_board() -> &'static Value {
    &SCHEMA
}

/// A board file that says what its parts are for.
#[must_use]
pub fn starter_board() -> &'static str {
    include_str!("../../shipped/starter/board.toml")
}

/// Reads and checks a board file.
///
/// # Errors
/// Every fault of the file.
pub fn read_board(file_name: &str, text: &str) -> Result<Board, Faults> {
    authored::read(file_name, text, schema_board(), check)
}

fn check(board: &Board, findings: &mut Findings<'_>) {
    if board.map.hex_m.is_some() && board.map.hex_yards.is_some() {
        findings.fault(
            &Place::of("map").key("hex_yards"),
            "a hex is measured twice",
            "keep either hex_m or hex_yards",
        );
    }
    let sides = || board.side.iter().map(|side| side.key.as_str());
    for (index, unit) in board.unit.iter().enumerate() {
        let place = Place::of("unit").item(index);
        findings.known(&place.key("side"), &unit.side, "side", "sides", sides());
        let types = board.troops.keys().map(String::as_str);
        let known = findings.known(
            &place.key("troops"),
            &unit.troops,
            "troop type of this board",
            "troop types",
            types,
        );
        let arm = board.troops.get(&unit.troops).map(|troops| troops.arm);
        if known && arm != Some(Arm::Commander) && unit.strength <= 0.0 {
            findings.fault(
                &place,
                format!("{:?} has no strength", unit.name),
                "give it strength points, or troops whose arm is \"commander\"",
            );
        }
    }
    for (index, side) in board.side.iter().enumerate() {
        if !board.unit.iter().any(|unit| unit.side == side.key) {
            findings.fault(
                &Place::of("side").item(index),
                format!("{:?} has no unit", side.key),
                format!("add a [[unit]] with side = {:?}", side.key),
            );
        }
    }
}

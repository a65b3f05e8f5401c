//! What comes out: a ruleset and a scenario as TOML text, which open.

use std::fmt::Write;

use super::board::Board;
use super::error::ConvertError;
use super::plan::{Plan, Troops};
use super::words::plan_in_words;
use fieldpost_rules::authored::{open_battle, read_ruleset, starter_ruleset};
use fieldpost_rules::ruleset::{
    Arm, Column, Fate, LengthUnit, Losses, Results, ResultsKind, Throw, ZoneExit,
};
use fieldpost_rules::scenario::Command;

/// A filled ruleset and scenario.
#[derive(Debug, Clone, PartialEq, serde::Serialize)]
pub struct Skeleton {
    /// The ruleset file.
    pub ruleset: String,
    /// The scenario file.
    pub scenario: String,
}

/// Writes the files of a plan, and opens them to see that they are sound.
///
/// # Errors
/// Faults of the files, such as a name or key that no file may hold.
pub fn skeleton(board: &Board, plan: &Plan) -> Result<Skeleton, ConvertError> {
    let results = match &board.results {
        Some(results) => results.clone(),
        None => {
            read_ruleset("starter ruleset", starter_ruleset())
                .map_err(|faults| ConvertError::Files(Box::new(faults)))?
                .results
        }
    };
    let files = Skeleton {
        ruleset: ruleset(board, plan, &results),
        scenario: scenario(board, plan),
    };
    open_battle(
        ("converted ruleset", &files.ruleset),
        ("converted scenario", &files.scenario),
    )
    .map_err(|faults| ConvertError::Files(Box::new(faults)))?;
    Ok(files)
}

/// TOML text as it grows; writing to a string cannot fail.
struct Text(String);

impl Text {
    fn line(&mut self, line: &str) {
        self.0.push_str(line);
        self.0.push('\n');
    }

    fn set(&mut self, key: &str, value: impl std::fmt::Display) {
        let _ = writeln!(self.0, "{key} = {value}");
    }
}

fn ruleset(board: &Board, plan: &Plan, results: &Results) -> String {
    let mut out = Text(String::new());
    out.line("# Converted from a board game's numbers:");
    out.line("#");
    for line in plan_in_words(plan).lines() {
        out.line(format!("# {line}").trim_end());
    }
    out.line("");
    out.set("format", 1);
    out.set("name", quoted(&board.name));
    out.line("\n[scale]");
    out.set("base_width_mm", number(plan.base_width_mm));
    out.set("movement_point", number(plan.movement_point_bw));
    zones(&mut out, board, plan);
    let commanders = plan
        .troops
        .iter()
        .any(|troops| troops.arm == Arm::Commander);
    out.line("\n[command]");
    out.set("required", commanders);
    out.line("\n[attacks]");
    out.set("depth", board.laying.depth);
    out.set(
        "bombard_range",
        number(2.0 * f64::from(board.laying.bases_per_hex)),
    );
    out.line("\n[falling_back]");
    out.set("follow_up", board.laying.bases_per_hex);
    ground(&mut out, board);
    for troops in &plan.troops {
        troop_type(&mut out, troops, plan.strength_per_base);
    }
    if board.results.is_none() {
        out.line("\n# A small table to be replaced by the board game's own.");
    }
    results_table(&mut out, results, f64::from(board.laying.bases_per_hex));
    out.0
}

fn zones(out: &mut Text, board: &Board, plan: &Plan) {
    out.line("\n[zones]");
    out.set("halt_zone", number(plan.halt_zone_bw));
    out.set("strike_zone", number(plan.strike_zone_bw));
    let exit = match board.zones.exit {
        ZoneExit::Locked => "locked",
        ZoneExit::Pay => "pay",
        ZoneExit::Free => "free",
    };
    out.set("zone_exit", quoted(exit));
    if board.zones.exit == ZoneExit::Pay {
        out.set("zone_exit_charge", number(board.zones.exit_movement_points));
    }
}

fn ground(out: &mut Text, board: &Board) {
    for (name, terrain) in &board.terrain {
        out.line(&format!("\n[terrain.{}]", quoted(name)));
        let points = terrain.movement_points.unwrap_or(board.turns.clear_hex);
        out.set("rate", number(points / board.turns.clear_hex));
        out.set("impassable", terrain.impassable);
        out.set("defence", number(terrain.defence));
        out.set("shift", terrain.shift);
        if terrain.blocks_sight {
            out.set("drawn_as", quoted("wood"));
            out.line("# blocks_sight = true   # once these rules have [sight]");
        }
    }
    for (name, side) in &board.hexsides {
        out.line(&format!("\n[lines.{}]", quoted(name)));
        out.set("charge", number(side.movement_points));
        out.set("slope", side.uphill);
        out.set("defence", number(side.defence));
        out.set("shift", side.shift);
    }
}

fn troop_type(out: &mut Text, troops: &Troops, strength_per_base: f64) {
    out.line(&format!("\n[troops.{}]", quoted(&troops.name)));
    let arm = match troops.arm {
        Arm::Foot => "foot",
        Arm::Horse => "horse",
        Arm::Guns => "guns",
        Arm::Commander => "commander",
    };
    out.set("arm", quoted(arm));
    out.set("movement_points", number(troops.movement_points));
    if troops.arm != Arm::Commander {
        out.set("strength_per_base", number(strength_per_base));
    }
    out.set("base_width", number(troops.width_bw));
    out.set("base_depth", number(troops.depth_bw));
    if let Some(range_bw) = troops.range_bw {
        out.set("bombard_range", number(range_bw));
    }
    if let Some(radius_bw) = troops.command_bw {
        out.set("command_radius", number(radius_bw));
    }
}

fn results_table(out: &mut Text, results: &Results, bases_per_hex: f64) {
    out.line("\n[results]");
    out.set(
        "kind",
        quoted(match results.kind {
            ResultsKind::Odds => "odds",
            ResultsKind::Differential => "differential",
        }),
    );
    let dice = results.dice;
    out.set(
        "dice",
        format!("{{ count = {}, faces = {} }}", dice.count, dice.faces),
    );
    let heads: Vec<String> = results.columns.iter().map(head).collect();
    out.set("columns", format!("[{}]", heads.join(", ")));
    out.set(
        "losses",
        quoted(match results.losses {
            Losses::EachUnit => "each-unit",
            Losses::Side => "side",
        }),
    );
    for row in &results.row {
        out.line("\n[[results.row]]");
        match row.throw {
            Throw::Total(total) => out.set("throw", total),
            Throw::Between([first, last]) => out.set("throw", format!("[{first}, {last}]")),
        }
        let names: Vec<String> = row.outcomes.iter().map(|name| quoted(name)).collect();
        out.set("outcomes", format!("[{}]", names.join(", ")));
    }
    for (name, outcome) in &results.outcome {
        out.line(&format!("\n[results.outcome.{}]", quoted(name)));
        out.set("words", quoted(&outcome.words));
        out.set("attacker", fate(&outcome.attacker, bases_per_hex));
        out.set("defender", fate(&outcome.defender, bases_per_hex));
        out.set("exchange", outcome.exchange);
    }
}

fn head(column: &Column) -> String {
    match column {
        Column::Odds { .. } => quoted(&column.to_string()),
        Column::Difference(difference) => number(*difference),
    }
}

/// A bare distance counts hexes on the board and base widths on the table.
fn fate(fate: &Fate, bases_per_hex: f64) -> String {
    let mut parts = Vec::new();
    if let Some(back) = fate.falls_back {
        parts.push(match back.unit {
            LengthUnit::BaseWidths => {
                format!("falls_back = {}", number(back.amount * bases_per_hex))
            }
            _ => format!("falls_back = {}", quoted(&back.to_string())),
        });
    }
    if fate.loses > 0 {
        parts.push(format!("loses = {}", fate.loses));
    }
    if fate.eliminated {
        parts.push("eliminated = true".to_owned());
    }
    if parts.is_empty() {
        "{}".to_owned()
    } else {
        format!("{{ {} }}", parts.join(", "))
    }
}

fn scenario(board: &Board, plan: &Plan) -> String {
    let mut out = Text(String::new());
    out.line("# Converted from a board game's numbers. Units stand in rows behind their own edge;");
    out.line("# the ground is still empty: add [[terrain]], [[line]] and [[road]] by the map.");
    out.line("");
    out.set("format", 1);
    out.set("name", quoted(&board.name));
    out.set("ruleset", quoted(&board.name));
    out.set("game_turns", board.turns.game_turns);
    out.line("\n[table]");
    out.set("width_mm", number(plan.table.width_mm));
    out.set("depth_mm", number(plan.table.depth_mm));
    for side in &board.side {
        out.line("\n[[side]]");
        out.set("key", quoted(&side.key));
        out.set("name", quoted(&side.name));
        if let Some(colour) = &side.colour {
            out.set("colour", quoted(colour));
        }
    }
    for (side, band_mm) in board.side.iter().zip(plan.deployment_mm) {
        out.line("\n[[deployment]]");
        out.set("side", quoted(&side.key));
        let far = number(plan.table.width_mm);
        let (low, high) = if side.key == board.side[0].key {
            (number(0.0), number(band_mm))
        } else {
            (
                number(plan.table.depth_mm - band_mm),
                number(plan.table.depth_mm),
            )
        };
        out.set(
            "outline",
            format!("[[0, {low}], [{far}, {low}], [{far}, {high}], [0, {high}]]"),
        );
    }
    units(&mut out, board, plan);
    out.line("\n[victory]");
    out.set("points_per_strength", 1);
    out.0
}

fn units(out: &mut Text, board: &Board, plan: &Plan) {
    for placed in &plan.placed {
        let unit = &plan.units[placed.counter];
        out.line("\n[[unit]]");
        out.set("id", quoted(&placed.id));
        out.set("name", quoted(&placed.name));
        out.set("side", quoted(&board.side[placed.side].key));
        out.set("troops", quoted(&unit.counter.troops));
        match placed.command {
            Some(Command::Chief) => out.set("command", quoted("chief")),
            Some(Command::Subordinate) => out.set("command", quoted("subordinate")),
            None => {
                let block = unit.block;
                out.set("files", block.files);
                out.set("ranks", block.ranks);
                if block.bases < block.files * block.ranks {
                    out.set("bases", block.bases);
                }
            }
        }
        let [x, y, bearing] = placed.at.map(number);
        out.set("at", format!("[{x}, {y}, {bearing}]"));
    }
}

/// A TOML basic string, which serves as a key too.
fn quoted(text: &str) -> String {
    let mut out = String::from("\"");
    for letter in text.chars() {
        match letter {
            '"' => out.push_str("\\\""),
            '\\' => out.push_str("\\\\"),
            letter if letter.is_control() => {
                let _ = write!(out, "\\u{:04X}", u32::from(letter));
            }
            letter => out.push(letter),
        }
    }
    out.push('"');
    out
}

/// A number with at most four decimals, never minus zero.
fn number(value: f64) -> String {
    let rounded = (value * 1e4).round() / 1e4;
    if rounded == 0.0 {
        "0".to_owned()
    } else {
        rounded.to_string()
    }
}

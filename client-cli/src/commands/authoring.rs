//! The rules writer's work: checking, drawing, schemas, starters.

use fieldpost_rules::authored::{self, Fault, Faults, Remarks};
use fieldpost_rules::game::Game;
use fieldpost_rules::ruleset::Ruleset;
use serde_json::json;
use std::sync::Arc;

use super::battle_files::{BattleFiles, headings, is_scenario};
use crate::answers::TextAnswer;
use crate::arguments::{CheckArgs, DrawArgs, FileKind};
use crate::error::{CliError, CliResult};
use crate::output::{Output, uses_colour};
use crate::render;
use crate::storage::files;

/// Checks files, showing every fault of all of them.
///
/// # Errors
/// [`CliError::Invalid`] when any has faults.
pub fn check(args: &CheckArgs, output: Output) -> CliResult {
    let mut rules: Option<Ruleset> = None;
    let mut all: Vec<Faults> = Vec::new();
    let mut good = Vec::new();
    let mut remarks: Vec<Remarks> = Vec::new();
    for path in &args.files {
        let (name, text) = files::read_named(path)?;
        if is_board(&text) {
            match fieldpost_convert::read_board(&name, &text) {
                Ok(board) => good.push((name, "board game's file", board.name)),
                Err(faults) => all.push(faults),
            }
            continue;
        }
        if is_scenario(&text) {
            let Some(ruleset) = &rules else {
                if all.is_empty() {
                    return Err(CliError::Usage(format!(
                        "{name} is a scenario: name the ruleset that it is for before it"
                    )));
                }
                // its ruleset has faults: what depends on it cannot be said yet
                output.info(&format!("{name} is checked once its ruleset has no faults"));
                continue;
            };
            match authored::read_scenario(&name, &text, ruleset) {
                Ok(scenario) => {
                    remarks.push(authored::remarks_on_scenario(
                        &name, &text, &scenario, ruleset,
                    ));
                    good.push((name, "scenario", scenario.name));
                }
                Err(faults) => all.push(faults),
            }
            continue;
        }
        match authored::read_ruleset(&name, &text) {
            Ok(ruleset) => {
                remarks.push(authored::remarks_on_ruleset(&name, &text, &ruleset));
                good.push((name, "ruleset", ruleset.name.clone()));
                rules = Some(ruleset);
            }
            Err(faults) => {
                rules = None;
                all.push(faults);
            }
        }
    }
    answer(&good, &remarks, &all, output)
}

/// What is sound, what is remarked on it, and then every fault.
fn answer(
    good: &[(String, &str, String)],
    remarks: &[Remarks],
    all: &[Faults],
    output: Output,
) -> CliResult {
    let sound: Vec<_> = good
        .iter()
        .map(|(file, kind, name)| json!({ "file": file, "kind": kind, "name": name }))
        .collect();
    let listed: Vec<&Fault> = remarks.iter().flat_map(Remarks::all).collect();
    if output.json || !good.is_empty() {
        output.result(
            &json!({ "sound": sound, "faulty": all, "remarks": listed }),
            || {
                let lines = good
                    .iter()
                    .map(|(file, kind, name)| format!("{file}: the {kind} {name:?} is sound\n"));
                lines.collect()
            },
        )?;
    }
    for on_file in remarks.iter().filter(|remarks| !remarks.all().is_empty()) {
        output.info_styled(&on_file.rendered(uses_colour()));
    }
    if all.is_empty() {
        return Ok(());
    }
    let drawn: Vec<String> = all
        .iter()
        .map(|faults| faults.rendered(uses_colour()))
        .collect();
    Err(CliError::Invalid(drawn.join("\n\n")))
}

/// Whether a file looks like a board game's numbers: it has a map of hexes and turns.
fn is_board(text: &str) -> bool {
    headings(text, &["map"]) > 0 && headings(text, &["turns", "laying", "hexsides"]) > 0
}

/// Draws a scenario's opening table.
///
/// # Errors
/// [`CliError::Invalid`] when the files have faults.
pub fn draw(args: &DrawArgs, output: Output) -> CliResult {
    let game = Game::new(Arc::new(BattleFiles::of(&args.battle, None)?.open()?));
    let svg = render::opening_svg(&game, args.zones);
    if args.pictures.any() {
        return args.pictures.draw(&svg, output);
    }
    output.print_bytes(svg.as_bytes())
}

/// Prints a file to start from.
///
/// # Errors
/// When it cannot be written.
pub fn starter(kind: FileKind, output: Output) -> CliResult {
    let text = match kind {
        FileKind::Ruleset => authored::starter_ruleset(),
        FileKind::Scenario => authored::starter_scenario(),
    };
    output.result(&TextAnswer { text }, || text.to_owned())
}

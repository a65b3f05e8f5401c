//! The rules writer's work: checking, drawing, schemas, starters.

use fieldpost_rules::authored::{self, Fault, Faults, Remarks};
use fieldpost_rules::game::{Battlefield, Game};
use fieldpost_rules::ruleset::Ruleset;
use serde_json::json;
use std::sync::Arc;

use crate::failure::{Failure, Outcome};
use crate::keep::files;
use crate::out::{Out, in_colour};
use crate::shown;
use crate::typed::{CheckArgs, DrawArgs, FileKind};

/// A ruleset and a scenario as a battlefield.
///
/// # Errors
/// [`Failure::NotValid`] with every fault of both files.
pub fn field(ruleset: (&str, &str), scenario: (&str, &str)) -> Outcome<Battlefield> {
    authored::open_battle(ruleset, scenario).map_err(|faults| told(&faults))
}

fn told(faults: &Faults) -> Failure {
    Failure::NotValid(faults.rendered(in_colour()))
}

/// Checks files, showing every fault of all of them.
///
/// # Errors
/// [`Failure::NotValid`] when any has faults.
pub fn check(args: &CheckArgs, out: Out) -> Outcome {
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
                    return Err(Failure::Usage(format!(
                        "{name} is a scenario: name the ruleset that it is for before it"
                    )));
                }
                // its ruleset has faults: what depends on it cannot be said yet
                out.remark(&format!("{name} is checked once its ruleset has no faults"));
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
    answer(&good, &remarks, &all, out)
}

/// What is sound, what is remarked on it, and then every fault.
fn answer(
    good: &[(String, &str, String)],
    remarks: &[Remarks],
    all: &[Faults],
    out: Out,
) -> Outcome {
    let sound: Vec<_> = good
        .iter()
        .map(|(file, kind, name)| json!({ "file": file, "kind": kind, "name": name }))
        .collect();
    let listed: Vec<&Fault> = remarks.iter().flat_map(Remarks::all).collect();
    if out.json || !good.is_empty() {
        out.result(
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
        out.remark_drawn(&on_file.rendered(in_colour()));
    }
    if all.is_empty() {
        return Ok(());
    }
    let drawn: Vec<String> = all
        .iter()
        .map(|faults| faults.rendered(in_colour()))
        .collect();
    Err(Failure::NotValid(drawn.join("\n\n")))
}

/// Whether a file looks like a scenario: it has a table, sides or units of its own.
pub(crate) fn is_scenario(text: &str) -> bool {
    let scenario = [
        "table",
        "side",
        "unit",
        "deployment",
        "objective",
        "victory",
    ];
    let ruleset = ["scale", "movement", "zones", "results", "attacks"];
    headings(text, &scenario) > headings(text, &ruleset)
}

/// Whether a file looks like a board game's numbers: it has a map of hexes and turns.
fn is_board(text: &str) -> bool {
    headings(text, &["map"]) > 0 && headings(text, &["turns", "laying", "hexsides"]) > 0
}

/// How many of a file's headings bear one of the names.
fn headings(text: &str, names: &[&str]) -> usize {
    let marks = |line: &str, name: &str| {
        let line = line.trim();
        line.starts_with(&format!("[{name}]")) || line.starts_with(&format!("[[{name}]]"))
    };
    text.lines()
        .filter(|line| names.iter().any(|name| marks(line, name)))
        .count()
}

/// Draws a scenario's opening table.
///
/// # Errors
/// [`Failure::NotValid`] when the files have faults.
pub fn draw(args: &DrawArgs, out: Out) -> Outcome {
    let (ruleset_name, ruleset) = files::read_named(&args.ruleset)?;
    let (scenario_name, scenario) = files::read_named(&args.scenario)?;
    let field = field((&ruleset_name, &ruleset), (&scenario_name, &scenario))?;
    let game = Game::new(Arc::new(field));
    let svg = shown::opening_svg(&game, args.zones);
    if args.pictures.any() {
        return args.pictures.draw(&svg, out);
    }
    out.raw(svg.as_bytes())
}

/// Prints the JSON Schema of a kind of file.
///
/// # Errors
/// When it cannot be written.
pub fn schema(kind: FileKind, out: Out) -> Outcome {
    out.json(match kind {
        FileKind::Ruleset => authored::schema_ruleset(),
        FileKind::Scenario => authored::schema_scenario(),
    })
}

/// Prints a file to start from.
///
/// # Errors
/// When it cannot be written.
pub fn starter(kind: FileKind, out: Out) -> Outcome {
    let text = match kind {
        FileKind::Ruleset => authored::starter_ruleset(),
        FileKind::Scenario => authored::starter_scenario(),
    };
    out.result(&json!({ "text": text }), || text.to_owned())
}

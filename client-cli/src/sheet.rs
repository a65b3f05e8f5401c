//! Turn sheets and standing instructions out of files: typed, or JSON.

use std::io::{IsTerminal as _, stderr, stdin};
use std::path::Path;

use fieldpost_rules::game::Game;
use fieldpost_rules::orders::text::{self, TextFault};
use fieldpost_rules::orders::{Instructions, SideId, TurnSheet};
use serde::de::DeserializeOwned;
use serde_json::json;

use crate::failure::{Failure, Outcome};
use crate::keep::files;
use crate::out::{Out, in_colour};

/// Reads a turn sheet for a game as it stands.
///
/// # Errors
/// [`Failure::NotValid`] with every faulty line.
pub fn read(path: &Path, game: &Game, out: Out) -> Outcome<TurnSheet> {
    let (name, text) = files::read_named(path)?;
    if is_json(&text) {
        let sheet: TurnSheet = from_json(&name, &text, "a turn sheet")?;
        let fits = game.sheet_bounds(&sheet.side).check(&sheet);
        return fits.map(|()| sheet).map_err(|found| {
            let told = found
                .iter()
                .map(|excess| format!("error: {name}: {excess}"));
            Failure::NotValid(told.collect::<Vec<_>>().join("\n"))
        });
    }
    text::parse(&name, &text, game).map_err(|faults| told(&faults, "nothing was ordered", out))
}

/// Asks before a sheet without orders ends a turn: a file that was saved too early orders nothing either. Nobody is asked who said
/// so beforehand, and without a terminal nobody can be.
///
/// # Errors
/// [`Failure::Usage`] when that is not meant, or nobody can be asked.
pub fn must_order(sheet: &TurnSheet, path: &Path, all_stand: bool, out: Out) -> Outcome {
    if all_stand || !sheet.orders.is_empty() {
        return Ok(());
    }
    let empty = format!(
        "{} orders nothing: every unit would stand, and the turn would be over",
        path.display()
    );
    let can_ask = stdin().is_terminal() && stderr().is_terminal() && path != Path::new("-");
    if can_ask {
        out.warn(&format!("{empty}. Is that meant? Type yes to post it:"));
        let mut answer = String::new();
        stdin()
            .read_line(&mut answer)
            .map_err(|error| Failure::Plain(format!("cannot read standard input: {error}")))?;
        if matches!(answer.trim().to_lowercase().as_str(), "yes" | "y") {
            return Ok(());
        }
    }
    Err(Failure::Usage(format!(
        "{empty}; nothing was posted. If that is meant, say --all-stand"
    )))
}

/// Reads standing instructions of a side.
///
/// # Errors
/// [`Failure::NotValid`] with every faulty line.
pub fn read_instructions(
    path: &Path,
    game: &Game,
    side: &SideId,
    out: Out,
) -> Outcome<Instructions> {
    let (name, text) = files::read_named(path)?;
    if is_json(&text) {
        return from_json(&name, &text, "standing instructions");
    }
    text::parse_instructions(&name, &text, game, side)
        .map_err(|faults| told(&faults, "nothing was ordered", out))
}

fn is_json(text: &str) -> bool {
    text.trim_start_matches('\u{feff}')
        .trim_start()
        .starts_with('{')
}

fn from_json<T: DeserializeOwned>(name: &str, text: &str, what: &str) -> Outcome<T> {
    let text = text.trim_start_matches('\u{feff}');
    serde_json::from_str(text).map_err(|error| {
        Failure::NotValid(format!(
            "error: {name}:{}:{}: this JSON is not {what}: {error}",
            error.line(),
            error.column()
        ))
    })
}

/// Faulty lines as a failure, with what came of them.
#[must_use]
pub fn told(faults: &[TextFault], so: &str, out: Out) -> Failure {
    if out.json {
        // programs read the faults where they read results
        let _ = out.json(&json!({ "faults": faults }));
    }
    let drawn: Vec<String> = faults
        .iter()
        .map(|fault| fault.drawn(in_colour()))
        .collect();
    let count = match faults.len() {
        1 => "one line cannot be read".to_owned(),
        count => format!("{count} lines cannot be read"),
    };
    Failure::NotValid(format!("{}\n\n{count}; {so}", drawn.join("\n\n")))
}

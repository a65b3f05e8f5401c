//! Turn sheets and standing instructions out of files: typed, or JSON.

use fieldpost_command_line::in_plain_words;
use std::io::{IsTerminal as _, stderr, stdin};
use std::path::Path;

use fieldpost_rules::game::Game;
use fieldpost_rules::orders::text::{self, TextFault};
use fieldpost_rules::orders::{Instructions, SideId, TurnSheet};
use serde::de::DeserializeOwned;
use serde_json::json;

use crate::error::{CliError, CliResult};
use crate::output::{Output, uses_colour};
use crate::storage::files;

/// The text of a turn sheet, unread.
#[derive(Debug)]
pub struct SheetText {
    /// What to call it in faults.
    pub name: String,
    /// What it says.
    pub text: String,
}

/// The text of a turn sheet's file.
///
/// # Errors
/// When it cannot be read.
pub fn text(path: &Path) -> CliResult<SheetText> {
    let (name, text) = files::read_named(path)?;
    Ok(SheetText { name, text })
}

impl SheetText {
    /// The sheet as it reads in a game as it stands, if it does.
    #[must_use]
    pub fn parsed(&self, game: &Game) -> Option<TurnSheet> {
        if is_json(&self.text) {
            return from_json(&self.name, &self.text, "a turn sheet").ok();
        }
        text::parse(&self.name, &self.text, game).ok()
    }
}

/// Reads a turn sheet for a game as it stands.
///
/// # Errors
/// [`CliError::Invalid`] with every faulty line.
pub fn read(path: &Path, game: &Game, output: Output) -> CliResult<TurnSheet> {
    parse(&text(path)?, game, output)
}

/// The sheet that a text is, for a game as it stands.
///
/// # Errors
/// [`CliError::Invalid`] with every faulty line.
pub fn parse(sheet: &SheetText, game: &Game, output: Output) -> CliResult<TurnSheet> {
    let SheetText { name, text } = sheet;
    if is_json(text) {
        let sheet: TurnSheet = from_json(name, text, "a turn sheet")?;
        let fits = game.sheet_bounds(&sheet.side).check(&sheet);
        return fits.map(|()| sheet).map_err(|found| {
            let lines = found
                .iter()
                .map(|excess| format!("error: {name}: {excess}"));
            CliError::Invalid(lines.collect::<Vec<_>>().join("\n"))
        });
    }
    text::parse(name, text, game)
        .map_err(|faults| faults_error(&faults, "nothing was ordered", output))
}

/// Asks before a sheet without orders ends a turn: a file that was saved too early orders nothing either. Nobody is asked who said
/// so beforehand, and without a terminal nobody can be.
///
/// # Errors
/// [`CliError::Usage`] when that is not meant, or nobody can be asked.
pub fn confirm_orders(
    sheet: &TurnSheet,
    path: &Path,
    all_stand: bool,
    output: Output,
) -> CliResult {
    if all_stand || !sheet.orders.is_empty() {
        return Ok(());
    }
    let empty = format!(
        "{} orders nothing: every unit would stand, and the turn would be over",
        path.display()
    );
    let can_ask = stdin().is_terminal() && stderr().is_terminal() && path != Path::new("-");
    if can_ask {
        output.warn(&format!("{empty}. Is that meant? Type yes to post it:"));
        let mut answer = String::new();
        stdin().read_line(&mut answer).map_err(|error| {
            CliError::Other(format!(
                "cannot read standard input: {}",
                in_plain_words(&error)
            ))
        })?;
        if matches!(answer.trim().to_lowercase().as_str(), "yes" | "y") {
            return Ok(());
        }
    }
    Err(CliError::Usage(format!(
        "{empty}; nothing was posted. If that is meant, say --all-stand"
    )))
}

/// Reads standing instructions of a side.
///
/// # Errors
/// [`CliError::Invalid`] with every faulty line.
pub fn read_instructions(
    path: &Path,
    game: &Game,
    side: &SideId,
    output: Output,
) -> CliResult<Instructions> {
    let (name, text) = files::read_named(path)?;
    if is_json(&text) {
        return from_json(&name, &text, "standing instructions");
    }
    text::parse_instructions(&name, &text, game, side)
        .map_err(|faults| faults_error(&faults, "nothing was ordered", output))
}

fn is_json(text: &str) -> bool {
    text.trim_start_matches('\u{feff}')
        .trim_start()
        .starts_with('{')
}

fn from_json<T: DeserializeOwned>(name: &str, text: &str, what: &str) -> CliResult<T> {
    let text = text.trim_start_matches('\u{feff}');
    serde_json::from_str(text).map_err(|error| {
        CliError::Invalid(format!(
            "error: {name}:{}:{}: this JSON is not {what}: {error}",
            error.line(),
            error.column()
        ))
    })
}

/// Faulty lines as a failure, with what came of them.
#[must_use]
pub fn faults_error(faults: &[TextFault], so: &str, output: Output) -> CliError {
    if output.json {
        // programs read the faults where they read results
        let _ = output.print_json(&json!({ "faults": faults }));
    }
    let drawn: Vec<String> = faults
        .iter()
        .map(|fault| fault.drawn(uses_colour()))
        .collect();
    let count = match faults.len() {
        1 => "one line cannot be read".to_owned(),
        count => format!("{count} lines cannot be read"),
    };
    CliError::Invalid(format!("{}\n\n{count}; {so}", drawn.join("\n\n")))
}

//! About the program itself: its language, settings, completions, manual page.

use serde_json::json;

use crate::failure::{Failure, Outcome};
use crate::meant::Meant;
use crate::out::Out;
use crate::typed::{Common, definition};

/// Explains how orders are written.
///
/// # Errors
/// When it cannot be written.
pub fn words(out: Out) -> Outcome {
    let text = fieldpost_rules::orders::text::MANUAL;
    out.result(&json!({ "text": text }), || text.to_owned())
}

/// Shows the effective settings, secrets hidden.
///
/// # Errors
/// When the file of seats cannot be read.
pub fn config(common: &Common, out: Out) -> Outcome {
    let meant = Meant::by(common)?;
    let typed = std::env::args().collect::<Vec<_>>();
    let from = |flag: &str, variable: &str| {
        let is_flag = typed
            .iter()
            .any(|arg| arg == flag || arg.starts_with(&format!("{flag}=")));
        if is_flag {
            format!("flag {flag}")
        } else if std::env::var_os(variable).is_some() {
            format!("environment, {variable}")
        } else {
            "file of seats".to_owned()
        }
    };
    let rows = [
        (
            "seat",
            meant.seat.as_ref().map(|(name, _)| name.clone()),
            from("--seat", "FIELDPOST_SEAT"),
        ),
        (
            "server",
            meant.server.clone(),
            from("--server", "FIELDPOST_SERVER"),
        ),
        ("game", meant.game.clone(), from("--game", "FIELDPOST_GAME")),
        (
            "key",
            meant.key.as_ref().map(|_| "(hidden)".to_owned()),
            meant.key_from.to_owned(),
        ),
        (
            "seats and keys",
            Some(meant.places.seats_file().display().to_string()),
            place("FIELDPOST_CONFIG_DIR"),
        ),
        (
            "records",
            Some(meant.places.data.display().to_string()),
            place("FIELDPOST_DATA_DIR"),
        ),
    ];
    let data: Vec<_> = rows
        .iter()
        .map(|(name, value, from)| {
            json!({ "setting": name, "value": value, "from": value.as_ref().map(|_| from) })
        })
        .collect();
    out.result(&json!({ "settings": data }), || {
        let rows = rows.iter().map(|(name, value, from)| match value {
            Some(value) => [(*name).to_owned(), value.clone(), from.clone()],
            None => [(*name).to_owned(), "none".to_owned(), String::new()],
        });
        super::columns(["setting", "value", "from"], rows.collect())
    })
}

fn place(variable: &str) -> String {
    if std::env::var_os(variable).is_some_and(|value| !value.is_empty()) {
        format!("environment, {variable}")
    } else {
        "this platform's usual place".to_owned()
    }
}

/// Prints completions for a shell.
///
/// # Errors
/// When they cannot be written.
pub fn completions(shell: clap_complete::Shell, out: Out) -> Outcome {
    let mut text = Vec::new();
    clap_complete::generate(shell, &mut definition(), "fieldpost", &mut text);
    out.raw(&text)
}

/// Prints the manual page: the program's, then every command's.
///
/// # Errors
/// When it cannot be written.
pub fn manual_page(out: Out) -> Outcome {
    let mut text = Vec::new();
    clap_mangen::Man::new(definition())
        .render(&mut text)
        .map_err(|error| Failure::Plain(format!("the manual page cannot be made: {error}")))?;
    out.raw(&text)
}

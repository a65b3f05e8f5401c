//! About the program itself: its language, settings, completions, manual page.

use std::path::Path;

use fieldpost_command_line::write_manual_pages;
use serde_json::json;

use crate::answers::{HelpAnswer, HelpCommand, HelpGroup, TextAnswer};
use crate::arguments::{CommonArgs, GROUPS, definition, overview};
use crate::context::Context;
use crate::error::{CliError, CliResult};
use crate::output::{Output, text_columns};

/// Shows the whole program on one screen.
///
/// # Errors
/// When it cannot be written.
pub fn help(output: Output) -> CliResult {
    let command = |(name, about): &(&'static str, &'static str)| HelpCommand { name, about };
    let groups = GROUPS.iter().map(|group| HelpGroup {
        heading: group.heading,
        commands: group.commands.iter().map(command).collect(),
    });
    let answer = HelpAnswer {
        groups: groups.collect(),
    };
    output.result(&answer, || overview(text_columns(None)))
}

/// Explains how orders are written.
///
/// # Errors
/// When it cannot be written.
pub fn words(output: Output) -> CliResult {
    let text = fieldpost_rules::orders::text::MANUAL;
    output.result(&TextAnswer { text }, || text.to_owned())
}

/// Shows the effective settings, secrets hidden.
///
/// # Errors
/// When the file of seats cannot be read.
pub fn config(common: &CommonArgs, output: Output) -> CliResult {
    let context = Context::load(common)?;
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
    let rows: [(&str, Option<String>, String); 7] = [
        (
            "seat",
            context.seat.as_ref().map(|(name, _)| name.clone()),
            from("--seat", "FIELDPOST_SEAT"),
        ),
        (
            "server",
            context.server.clone(),
            from("--server", "FIELDPOST_SERVER"),
        ),
        (
            "game",
            context.game.clone(),
            from("--game", "FIELDPOST_GAME"),
        ),
        (
            "key",
            context.key.as_ref().map(|_| "(hidden)".to_owned()),
            context.key_source.to_owned(),
        ),
        (
            "authorities",
            context
                .ca_file
                .as_ref()
                .map(|path| path.display().to_string()),
            if common.ca_file.is_some() {
                "flag --ca-file".to_owned()
            } else if std::env::var_os("SSL_CERT_FILE").is_some() {
                "seat, or environment, SSL_CERT_FILE".to_owned()
            } else {
                "file of seats".to_owned()
            },
        ),
        (
            "seats and keys",
            Some(context.folders.seats_file().display().to_string()),
            place("FIELDPOST_CONFIG_DIR"),
        ),
        (
            "records",
            Some(context.folders.data.display().to_string()),
            place("FIELDPOST_DATA_DIR"),
        ),
    ];
    let data: Vec<_> = rows
        .iter()
        .map(|(name, value, from)| {
            json!({ "setting": name, "value": value, "from": value.as_ref().map(|_| from), "about": explained(name) })
        })
        .collect();
    output.result(&json!({ "settings": data }), || {
        let cells = rows.iter().map(|(name, value, from)| match value {
            Some(value) => [(*name).to_owned(), value.clone(), from.clone()],
            None => [(*name).to_owned(), "none".to_owned(), String::new()],
        });
        let mut text = super::columns(["setting", "value", "from"], cells.collect());
        text.push_str(
            "\n\nA flag counts before the environment, and that before the file of seats.\n",
        );
        for (name, _, _) in &rows {
            text.push_str(&format!("  {name:<15} {}\n", explained(name)));
        }
        text
    })
}

/// What a setting is for, and what changes it.
fn explained(name: &str) -> &'static str {
    match name {
        "seat" => {
            "who you act for: --seat, FIELDPOST_SEAT, \"seats use\"; one for every game and server"
        }
        "server" => "where games are kept: --server, FIELDPOST_SERVER, else the seat's",
        "game" => "which game, by name or id: --game, FIELDPOST_GAME, else the seat's",
        "key" => {
            "what proves who you are: --key-file, FIELDPOST_KEY_FILE, FIELDPOST_KEY, else the seat's; never shown"
        }
        "authorities" => {
            "who signs the certificates of servers: --ca-file, else the seat's, else SSL_CERT_FILE, else the public ones"
        }
        "seats and keys" => "where seats are kept: the folder in FIELDPOST_CONFIG_DIR",
        "records" => "where games seen are kept: the folder in FIELDPOST_DATA_DIR",
        _ => "",
    }
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
pub fn completions(shell: clap_complete::Shell, output: Output) -> CliResult {
    let mut text = Vec::new();
    clap_complete::generate(shell, &mut definition(), "fieldpost", &mut text);
    output.print_bytes(&text)
}

/// Prints the manual page of the program or of a command, or writes all of them to a folder.
///
/// # Errors
/// When there is no such command, or they cannot be written.
pub fn manual_page(command: &[String], folder: Option<&Path>, output: Output) -> CliResult {
    let mut whole = definition();
    whole.build();
    if let Some(folder) = folder {
        let count = write_manual_pages(&whole, folder)
            .map_err(|error| CliError::of_file("write manual pages to", folder, &error))?;
        output.info(&format!(
            "{count} manual pages written to {}",
            folder.display()
        ));
        return Ok(());
    }
    let mut named = &whole;
    for name in command {
        named = named.find_subcommand(name).ok_or_else(|| {
            CliError::Usage(format!(
                "there is no command {:?}; \"fieldpost --help\" lists them",
                command.join(" ")
            ))
        })?;
    }
    let page = fieldpost_command_line::manual_page(named)
        .map_err(|error| CliError::Other(format!("the manual page cannot be made: {error}")))?;
    output.print_bytes(&page)
}

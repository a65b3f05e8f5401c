//! The server program. Exit codes: 0 done, 1 failed, 2 wrong usage or settings, which trying again does not mend.

use std::io::{ErrorKind, Write as _};
use std::path::Path;
use std::process::ExitCode;
use std::time::Duration;

use fieldpost_command_line::{in_plain_words, write_manual_pages};
use fieldpost_server::command::{Action, Command, definition};
use fieldpost_server::demo::demonstrate;
use fieldpost_server::logging::init_logging;
use fieldpost_server::server::run;
use fieldpost_server::settings::Settings;
use fieldpost_server::signals::shutdown_signal;
use fieldpost_server::{http, maintenance, store};
use tokio::net::TcpListener;
use tokio::runtime::Runtime;

/// How long what cannot be ended may go on once everything else has: a notice that is being delivered, say. Nothing
/// that must be kept is among it.
const LAST_GRACE: Duration = Duration::from_secs(1);

fn main() -> ExitCode {
    let command = Command::typed();
    // What tells of the program itself needs no settings, and none that are wrong stand in its way.
    match &command.action {
        Some(Action::Completions { shell }) => {
            let mut text = Vec::new();
            clap_complete::generate(*shell, &mut definition(), "fieldpost-server", &mut text);
            return printed(&text);
        }
        Some(Action::ManualPage { command, folder }) => {
            return manual_page(command.as_deref(), folder.as_deref());
        }
        _ => {}
    }
    let runtime = match Runtime::new() {
        Ok(runtime) => runtime,
        Err(error) => return ended(1, &in_plain_words(&error)),
    };
    let code = runtime.block_on(carried_out(command));
    runtime.shutdown_timeout(LAST_GRACE);
    code
}

/// Prints the manual page of the program or of a command, or writes all of them to a folder.
fn manual_page(named: Option<&str>, folder: Option<&Path>) -> ExitCode {
    let mut whole = definition();
    whole.build();
    if let Some(folder) = folder {
        return match write_manual_pages(&whole, folder) {
            Ok(count) => {
                eprintln!("{count} manual pages written to {}", folder.display());
                ExitCode::SUCCESS
            }
            Err(error) => {
                let why = in_plain_words(&error);
                let folder = folder.display();
                ended(
                    1,
                    &format!("manual pages cannot be written to {folder}: {why}"),
                )
            }
        };
    }
    let command = match named {
        None => Some(&whole),
        Some(name) => whole.find_subcommand(name),
    };
    match (command.map(fieldpost_command_line::manual_page), named) {
        (Some(Ok(page)), _) => printed(&page),
        (Some(Err(error)), _) => ended(1, &in_plain_words(&error)),
        (None, name) => {
            let name = name.unwrap_or_default();
            ended(
                2,
                &format!("there is no command {name:?}; \"fieldpost-server --help\" lists them"),
            )
        }
    }
}

/// Writes to standard output. That its reader may have read enough is no failure.
fn printed(bytes: &[u8]) -> ExitCode {
    match std::io::stdout().write_all(bytes) {
        Err(error) if error.kind() != ErrorKind::BrokenPipe => ended(1, &in_plain_words(&error)),
        _ => ExitCode::SUCCESS,
    }
}

async fn carried_out(command: Command) -> ExitCode {
    let settings = match command.resolved_settings() {
        Ok(settings) => settings,
        Err(error) => return ended(2, &error.to_string()),
    };
    if let Err(error) = init_logging(&settings) {
        return ended(2, &error.to_string());
    }
    let outcome = match command.action.unwrap_or(Action::Serve) {
        Action::Serve => return serve(settings).await,
        Action::Demo(options) => demonstrate(settings, options).await,
        Action::Backup { file } => maintenance::backup(&settings, &file)
            .await
            .map(|checked| println!("{} holds {}.", file.display(), held(checked)))
            .map_err(|error| error.to_string()),
        Action::Restore { file } => maintenance::restore(&settings, &file)
            .await
            .map(|(_, checked)| println!("Restored {}.", held(checked)))
            .map_err(|error| error.to_string()),
        Action::Move { to } => maintenance::move_to(&settings, &to)
            .await
            .map(|(_, checked)| {
                println!("{} are in the other database too. Start the server with that one from now on, and keep this one until you are sure.", held(checked));
            })
            .map_err(|error| error.to_string()),
        Action::Check => check(&settings).await,
        Action::Settings => settings
            .to_toml()
            .map(|text| print!("{text}"))
            .map_err(|error| error.to_string()),
        Action::Openapi { page: true } => {
            print!("{}", http::page());
            Ok(())
        }
        Action::Openapi { page: false } => {
            println!("{:#}", http::document());
            Ok(())
        }
        Action::Completions { .. } | Action::ManualPage { .. } => Ok(()),
    };
    match outcome {
        Ok(()) => ExitCode::SUCCESS,
        Err(error) => ended(1, &error),
    }
}

async fn serve(settings: Settings) -> ExitCode {
    let listener = match TcpListener::bind(settings.listen).await {
        Ok(listener) => listener,
        Err(error) => {
            // A port below 1024, most likely. An address that is taken or not there yet may be free later.
            let of_settings = error.kind() == ErrorKind::PermissionDenied;
            let why = format!(
                "{} cannot be listened on: {}",
                settings.listen,
                in_plain_words(&error)
            );
            return ended(if of_settings { 2 } else { 1 }, &why);
        }
    };
    match run(settings, listener, shutdown_signal()).await {
        Ok(()) => ExitCode::SUCCESS,
        Err(error) => ended(
            if error.is_of_settings() { 2 } else { 1 },
            &error.to_string(),
        ),
    }
}

async fn check(settings: &Settings) -> Result<(), String> {
    let checked = async {
        maintenance::must_be_there(settings)?;
        let store = store::open(settings.database.url(), settings.database_connections).await?;
        let checked = maintenance::check(store.as_ref()).await;
        store.close().await;
        checked
    };
    let checked = checked.await.map_err(|error| error.to_string())?;
    println!("{}: every chain is whole.", held(checked));
    Ok(())
}

fn held(checked: maintenance::Checked) -> String {
    let games = if checked.games == 1 { "game" } else { "games" };
    let entries = if checked.entries == 1 {
        "entry"
    } else {
        "entries"
    };
    format!(
        "{} {games} with {} {entries}",
        checked.games, checked.entries
    )
}

fn ended(code: u8, why: &str) -> ExitCode {
    eprintln!("fieldpost-server: {why}");
    ExitCode::from(code)
}

//! The demonstration: a server on a fresh database, and two player turns played on it over HTTP.

mod client;
mod script;

use std::io::ErrorKind;
use std::net::SocketAddr;
use std::path::{Path, PathBuf};

use fieldpost_command_line::in_plain_words;
use tokio::net::TcpListener;
use tokio::sync::oneshot;

use crate::command::DemoOptions;
use crate::organiser_key;
use crate::server::run;
use crate::settings::{Database, Settings};
use crate::signals::shutdown_signal;

/// Where it is put when no folder is named; followed by a number when that is taken.
const USUAL_FOLDER: &str = "showcase";

/// Plays the demonstration and serves on until told to stop, or stops at once if asked to.
///
/// # Errors
/// In words, when something could not be done.
pub async fn demonstrate(settings: Settings, options: DemoOptions) -> Result<(), String> {
    let folder = fresh_folder(options.folder)?;
    let database = Database::new(format!("sqlite:{}", folder.join("games.db").display()));
    let settings = Settings {
        database: database.clone(),
        ..settings
    };
    let listener = listen(settings.listen).await?;
    let address = listener.local_addr().map_err(|error| error.to_string())?;
    let (stop, stopped) = oneshot::channel::<()>();
    let served = tokio::spawn(run(settings, listener, async {
        let _ = stopped.await;
    }));
    let played = {
        let folder = folder.clone();
        let key = organiser_key::key_file(&database);
        tokio::task::spawn_blocking(move || script::play(&address, &folder, &key))
    };
    let played = played.await.map_err(|error| error.to_string()).flatten();
    if played.is_ok() && !options.then_exit {
        println!("\nThe server goes on at http://{address} until you press ctrl-c.");
        shutdown_signal().await;
    }
    let _ = stop.send(());
    let served = served.await.map_err(|error| error.to_string())?;
    served.map_err(|error| error.to_string())?;
    played
}

/// The port asked for, or any that is free.
async fn listen(requested: SocketAddr) -> Result<TcpListener, String> {
    let bound = match TcpListener::bind(requested).await {
        Err(error) if error.kind() == ErrorKind::AddrInUse => {
            TcpListener::bind(SocketAddr::new(requested.ip(), 0)).await
        }
        bound => bound,
    };
    bound.map_err(|error| {
        format!(
            "{requested} cannot be listened on: {}",
            in_plain_words(&error)
        )
    })
}

/// Makes a folder that was not there: the one named, or the first of the usual ones that is free.
fn fresh_folder(named: Option<PathBuf>) -> Result<PathBuf, String> {
    if let Some(folder) = named {
        return match std::fs::create_dir(&folder) {
            Ok(()) => Ok(folder),
            Err(error) => Err(cannot_make(&folder, &error)),
        };
    }
    for number in 1..1000 {
        let folder = match number {
            1 => PathBuf::from(USUAL_FOLDER),
            _ => PathBuf::from(format!("{USUAL_FOLDER}-{number}")),
        };
        match std::fs::create_dir(&folder) {
            Ok(()) => return Ok(folder),
            Err(error) if error.kind() == ErrorKind::AlreadyExists => {}
            Err(error) => return Err(cannot_make(&folder, &error)),
        }
    }
    Err(format!(
        "there are 999 folders named {USUAL_FOLDER} here; remove some, or name another with --folder"
    ))
}

fn cannot_make(folder: &Path, error: &std::io::Error) -> String {
    format!(
        "the folder {} cannot be made: {}",
        folder.display(),
        in_plain_words(error)
    )
}

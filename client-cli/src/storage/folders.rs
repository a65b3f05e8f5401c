//! Where this platform keeps settings and data.

use std::env;
use std::path::{Path, PathBuf};

use etcetera::app_strategy::choose_native_strategy;
use etcetera::{AppStrategy, AppStrategyArgs};
use sha2::{Digest, Sha256};

use crate::error::{CliError, CliResult};

/// Folder of settings and keys, instead of the platform's.
pub const CONFIG_FOLDER: &str = "FIELDPOST_CONFIG_DIR";
/// Folder of records, instead of the platform's.
pub const DATA_FOLDER: &str = "FIELDPOST_DATA_DIR";

/// The two folders.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Folders {
    /// Settings and keys.
    pub config: PathBuf,
    /// Records.
    pub data: PathBuf,
}

impl Folders {
    /// The folders that the environment names, else the platform's usual ones.
    ///
    /// # Errors
    /// When this platform tells no home folder.
    pub fn find() -> CliResult<Self> {
        let named = |variable| {
            env::var_os(variable)
                .filter(|value| !value.is_empty())
                .map(PathBuf::from)
        };
        if let (Some(config), Some(data)) = (named(CONFIG_FOLDER), named(DATA_FOLDER)) {
            return Ok(Self { config, data });
        }
        let usual = choose_native_strategy(AppStrategyArgs {
            top_level_domain: String::new(),
            author: String::new(),
            app_name: "fieldpost".to_owned(),
        })
        .map_err(|_| {
            CliError::Other(format!(
                "this machine tells no home folder; name folders in {CONFIG_FOLDER} and {DATA_FOLDER}"
            ))
        })?;
        Ok(Self {
            config: named(CONFIG_FOLDER).unwrap_or_else(|| usual.config_dir()),
            data: named(DATA_FOLDER).unwrap_or_else(|| usual.data_dir()),
        })
    }

    /// The file of seats and keys.
    #[must_use]
    pub fn seats_file(&self) -> PathBuf {
        self.config.join("seats.toml")
    }

    /// The folder of one game of one server. The server's part of the name is a hash of its
    /// address, for addresses do not make good file names.
    #[must_use]
    pub fn game_folder(&self, server: &str, game: &str) -> PathBuf {
        self.server_folder(server).join(file_name(game))
    }

    /// The folder of a server's games.
    #[must_use]
    pub fn server_folder(&self, server: &str) -> PathBuf {
        let digest = Sha256::digest(server.as_bytes());
        self.data.join("games").join(hex::encode(&digest[..6]))
    }
}

/// The folder, in a game's, of what one seat of it keeps for itself: what it has read, its posting under way. The record
/// is the game's; two sides kept in one home have each their own reading of it. A hash keeps names apart that differ in
/// what cannot stand in a file's name.
#[must_use]
pub fn seat_folder(game_folder: &Path, seat: Option<&str>) -> PathBuf {
    let Some(seat) = seat else {
        return game_folder.join("no-seat");
    };
    let digest = hex::encode(&Sha256::digest(seat.as_bytes())[..6]);
    game_folder.join(format!("seat-{}-{digest}", file_name(seat)))
}

/// A name that is safe as a file's: other characters than letters, figures and dashes are dropped.
fn file_name(name: &str) -> String {
    let kept: String = name
        .chars()
        .filter(|c| c.is_ascii_alphanumeric() || *c == '-')
        .take(64)
        .collect();
    if kept.is_empty() {
        "_".to_owned()
    } else {
        kept
    }
}

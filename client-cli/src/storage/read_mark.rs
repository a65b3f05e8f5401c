//! How far a seat has read its game's news.

use std::path::Path;

use serde::{Deserialize, Serialize};

use super::files;
use crate::error::CliResult;

/// What of a game's news a seat has read.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct ReadMark {
    /// Number of the last entry whose news was shown.
    pub entry: u64,
    /// Number of the last entry whose news had been shown before that.
    #[serde(default)]
    pub before: u64,
}

impl ReadMark {
    /// What the seat of this folder has read of its game.
    ///
    /// # Errors
    /// When its file cannot be read.
    pub fn load(seat_folder: &Path) -> CliResult<Self> {
        let text = files::read_if_there(&seat_folder.join("read.json"))?;
        // a spoilt mark costs nothing but reading old news again
        Ok(text
            .and_then(|text| serde_json::from_str(&text).ok())
            .unwrap_or_default())
    }

    /// After the news up to an entry were shown as well.
    #[must_use]
    pub fn advance(self, entry: u64) -> Self {
        Self {
            entry,
            before: self.entry,
        }
    }

    /// Saves it.
    ///
    /// # Errors
    /// When it cannot be written.
    pub fn save(self, seat_folder: &Path) -> CliResult {
        let text = format!("{{\"entry\":{},\"before\":{}}}\n", self.entry, self.before);
        files::write_private(&seat_folder.join("read.json"), text.as_bytes())
    }
}

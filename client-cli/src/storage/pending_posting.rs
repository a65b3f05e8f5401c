//! A posting that was sent and has no answer yet: kept so that sending it again is the same posting.

use std::path::{Path, PathBuf};

use serde::{Deserialize, Serialize};

use super::files;
use crate::error::{CliError, CliResult};

/// A posting under way.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct PendingPosting {
    /// Its `Idempotency-Key`.
    pub idempotency_key: String,
    /// The head it was written for, in hex: its `If-Match`.
    pub head: String,
    /// The exact text that was sent.
    pub body: String,
    /// Its signature, as it was sent; absent: it was not signed.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub signature: Option<String>,
}

impl PendingPosting {
    /// The file of a seat's posting under way.
    #[must_use]
    pub fn path(seat_folder: &Path) -> PathBuf {
        seat_folder.join("posting.json")
    }

    /// The posting without an answer, if there is one.
    ///
    /// # Errors
    /// When its file is spoilt.
    pub fn read(path: &Path) -> CliResult<Option<Self>> {
        let Some(text) = files::read_if_there(path)? else {
            return Ok(None);
        };
        serde_json::from_str(&text).map(Some).map_err(|error| {
            CliError::Other(format!(
                "{} is spoilt ({error}); read the news to see whether your posting arrived, then remove the file",
                path.display()
            ))
        })
    }

    /// Saves it, before it is sent.
    ///
    /// # Errors
    /// When it cannot be written.
    pub fn save(&self, path: &Path) -> CliResult {
        let text = serde_json::to_string(self)
            .map_err(|error| CliError::Other(format!("cannot save the posting: {error}")))?;
        files::write_private(path, text.as_bytes())
    }

    /// Removes it, once it is answered.
    pub fn remove(path: &Path) {
        // a file left behind only leads to the same posting being sent again, which changes nothing
        let _ = std::fs::remove_file(path);
    }
}

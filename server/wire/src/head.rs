//! The head of a record.

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

/// The last entry of a record.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
pub struct Head {
    /// Number of the entry, from 1.
    pub number: u64,
    /// Hash of the entry in hex, 64 digits: the game's `ETag`.
    pub hash: String,
}

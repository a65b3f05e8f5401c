//! Turn sheets: measuring them, posting them.

use fieldpost_rules::orders::TurnSheet;
use fieldpost_rules::verdict::SheetVerdict;
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use super::{Head, NewsItem};

/// A sheet to be measured without being posted.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct CheckSheet {
    /// The sheet.
    pub sheet: TurnSheet,
}

/// The answer to a sheet that was only measured.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Checked {
    /// The head it was measured against.
    pub head: Head,
    /// The sheet as it was understood.
    pub sheet: TurnSheet,
    /// The same as a person types it.
    #[serde(default)]
    pub typed: String,
    /// What was measured.
    pub verdict: SheetVerdict,
    /// The same in words.
    pub words: String,
}

/// The answer to an accepted posting.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Accepted {
    /// Always true.
    pub accepted: bool,
    /// The last entry of the record, now.
    pub head: Head,
    /// Number of the first event of this posting.
    pub first: u64,
    /// What was measured.
    pub verdict: SheetVerdict,
    /// What happened.
    pub news: Vec<NewsItem>,
}

/// The answer to a posting with a refused order: nothing happened.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Refused {
    /// Always false.
    pub accepted: bool,
    /// The last entry of the record, still.
    pub head: Head,
    /// What was measured, and why not.
    pub verdict: SheetVerdict,
    /// The same in words.
    pub words: String,
}

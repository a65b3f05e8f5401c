//! `compare`: what two people read to each other to be sure that they look at the same record.

use serde_json::json;

use super::session::{GameSession, Refresh};
use crate::arguments::{CommonArgs, CompareArgs};
use crate::error::{CliError, CliResult};
use crate::output::Output;
use crate::signing::readable_fingerprint;

/// Shows the head of the record, or an earlier event's, in digits to be read aloud.
///
/// # Errors
/// When there is no such event, or a hash cannot be read.
pub fn compare(args: &CompareArgs, common: &CommonArgs, output: Output) -> CliResult {
    let refresh = match (args.offline, args.at) {
        (true, _) => Refresh::Never,
        (false, Some(_)) => Refresh::IfMissing,
        (false, None) => Refresh::Always,
    };
    let mut session = GameSession::open(common, refresh, output)?;
    let number = args.at.unwrap_or_else(|| session.record.head().number);
    if session.record.entry(number).is_none() && !args.offline {
        session.refresh()?;
    }
    let last = session.record.head().number;
    let (_, hash) = session.record.entry(number).ok_or_else(|| {
        CliError::Usage(format!(
            "there is no event {number} yet: the record ends with event {last}"
        ))
    })?;
    let digits = readable_fingerprint(hash);
    output.result(
        &json!({ "number": number, "last": last, "hash": hash, "read_aloud": digits }),
        || {
            format!(
                "Event {number} of {last}:\n\n  {digits}\n\nRead this to the other side, by voice or in another way than \
                 through this server. If theirs is the\nsame for event {number}, you both have the same record up to there."
            )
        },
    )
}

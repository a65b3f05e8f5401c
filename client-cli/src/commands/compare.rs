//! `compare`: what two people read to each other to be sure that they look at the same record.

use super::session::{GameSession, Refresh};
use crate::answers::CompareAnswer;
use crate::arguments::{CommonArgs, CompareArgs};
use crate::error::{CliError, CliResult};
use crate::output::Output;
use crate::signing::readable_fingerprint;
use crate::storage::record::Record;

/// Shows the head of the record, or an earlier event's, in digits to be read aloud.
///
/// # Errors
/// When there is no such event, or a hash cannot be read.
pub fn compare(args: &CompareArgs, common: &CommonArgs, output: Output) -> CliResult {
    let record = record(args, common, output)?;
    let last = record.head().number;
    let number = args.moment.at.unwrap_or(last);
    let (_, hash) = record.entry(number).ok_or_else(|| {
        CliError::Usage(format!(
            "there is no event {number}: the record ends with event {last}"
        ))
    })?;
    let digits = readable_fingerprint(hash);
    output.result(
        &CompareAnswer {
            number,
            last,
            hash,
            read_aloud: digits.clone(),
        },
        || {
            format!(
                "Event {number} of {last}:\n\n  {digits}\n\nRead this to the other side, by voice or in another way than \
                 through this server. If theirs is the\nsame for event {number}, you both have the same record up to there."
            )
        },
    )
}

/// The record in the file named; else the seat's, brought up to date where the event asked for is not known yet.
fn record(args: &CompareArgs, common: &CommonArgs, output: Output) -> CliResult<Record> {
    if let Some(record) = args.source.named()? {
        return Ok(record);
    }
    let refresh = match (args.offline, args.moment.at) {
        (true, _) => Refresh::Never,
        (false, Some(_)) => Refresh::IfMissing,
        (false, None) => Refresh::Always,
    };
    let mut session = GameSession::open(common, refresh, output)?;
    let is_missing = |number| session.record.entry(number).is_none();
    if args.moment.at.is_some_and(is_missing) && !args.offline {
        session.refresh()?;
    }
    Ok(session.record)
}

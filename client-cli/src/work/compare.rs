//! `compare`: what two people read to each other to be sure that they look at the same record.

use fieldpost_rules::record::fingerprint;
use serde_json::json;

use super::story::{Ask, Story};
use crate::failure::{Failure, Outcome};
use crate::out::Out;
use crate::typed::{Common, CompareArgs};

/// Shows the head of the record, or an earlier event's, in digits to be read aloud.
///
/// # Errors
/// When there is no such event, or a hash cannot be read.
pub fn compare(args: &CompareArgs, common: &Common, out: Out) -> Outcome {
    let ask = match (args.offline, args.at) {
        (true, _) => Ask::Nobody,
        (false, Some(_)) => Ask::IfNothingKept,
        (false, None) => Ask::Server,
    };
    let mut story = Story::at_hand(common, ask, out)?;
    let number = args.at.unwrap_or_else(|| story.record.head().number);
    if story.record.entry(number).is_none() && !args.offline {
        story.refresh()?;
    }
    let last = story.record.head().number;
    let (_, hash) = story.record.entry(number).ok_or_else(|| {
        Failure::Usage(format!(
            "there is no event {number} yet: the record ends with event {last}"
        ))
    })?;
    let said = aloud(hash)?;
    out.result(
        &json!({ "number": number, "last": last, "hash": hash, "read_aloud": said }),
        || {
            format!(
                "Event {number} of {last}:\n\n  {said}\n\nRead this to the other side, by voice or in another way than \
                 through this server. If theirs is the\nsame for event {number}, you both have the same record up to there."
            )
        },
    )
}

/// A hash in hex as digits to be read aloud.
fn aloud(hash: &str) -> Outcome<String> {
    let mut bytes = [0; 32];
    hex::decode_to_slice(hash, &mut bytes)
        .map_err(|error| Failure::Mismatch(format!("{hash} is no hash: {error}")))?;
    Ok(fingerprint(&bytes))
}

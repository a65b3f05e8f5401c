//! Entries of a record: from events to what is stored, and back.

use fieldpost_rules::dice::Bytes32;
use fieldpost_rules::game::{Event, OpenedInstructions};
use fieldpost_rules::orders::SideId;
use fieldpost_rules::record::{Entry, Sealed};

use crate::store::{SealedInstructions, StoredEntry};

use super::{ServiceError, ServiceResult};

/// An entry ready to be stored, after the one of that hash; and what it tells.
pub(super) fn to_be_stored(sealed: Sealed, previous: Bytes32) -> (StoredEntry, Entry) {
    let stored = StoredEntry {
        number: sealed.entry.number,
        previous,
        hash: sealed.hash,
        body: sealed.body,
        at: sealed.entry.at.clone(),
    };
    (stored, sealed.entry)
}

/// What a stored entry tells.
pub(super) fn parsed(entry: &StoredEntry) -> ServiceResult<Entry> {
    serde_json::from_str(&entry.body)
        .map_err(|error| ServiceError::damaged(format!("entry {}: {error}", entry.number)))
}

/// What a stored entry says happened.
pub(super) fn event_of(entry: &StoredEntry) -> ServiceResult<Event> {
    Ok(parsed(entry)?.event)
}

/// Sealed instructions as the referee takes them.
pub(super) fn open_instructions(
    sealed: &[SealedInstructions],
) -> ServiceResult<Vec<OpenedInstructions>> {
    let open = |sealed: &SealedInstructions| {
        Ok(OpenedInstructions {
            side: SideId(sealed.side.clone()),
            nonce: hex::encode(sealed.nonce),
            instructions: serde_json::from_str(&sealed.body).map_err(|error| {
                ServiceError::damaged(format!("instructions {}: {error}", sealed.number))
            })?,
        })
    };
    sealed.iter().map(open).collect()
}

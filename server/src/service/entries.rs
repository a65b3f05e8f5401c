//! Entries of a record: from events to what is stored, and back.

use fieldpost_rules::dice::Bytes32;
use fieldpost_rules::game::{Event, OpenedInstructions};
use fieldpost_rules::orders::SideId;
use fieldpost_rules::record::{Entry, Sealed};

use crate::store::{SealedInstructions, StoredEntry};

use super::{ServiceError, ServiceResult};

/// Sealed entries that follow a head, ready to be stored.
pub(super) fn stored_entries(previous: Bytes32, sealed: Vec<Sealed>) -> Vec<StoredEntry> {
    let mut previous = previous;
    let entries = sealed.into_iter().map(|sealed| StoredEntry {
        number: sealed.entry.number,
        previous: std::mem::replace(&mut previous, sealed.hash),
        hash: sealed.hash,
        body: sealed.body,
        at: sealed.entry.at,
    });
    entries.collect()
}

/// An entry as it was sealed.
pub(super) fn entry_of(entry: &StoredEntry) -> ServiceResult<Entry> {
    serde_json::from_str(&entry.body)
        .map_err(|error| ServiceError::damaged(format!("entry {}: {error}", entry.number)))
}

/// What an entry says happened.
pub(super) fn event_of(entry: &StoredEntry) -> ServiceResult<Event> {
    Ok(entry_of(entry)?.event)
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

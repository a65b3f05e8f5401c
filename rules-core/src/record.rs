//! The record: a chain of entries, each carrying the hash of the one before.

pub mod audit;
pub mod bodies;
mod causes;
mod clock_causes;
mod fold;
mod links;
#[cfg(test)]
mod older_laws;
mod opened;
mod posted;
mod postings;
mod replay;
mod state;
#[cfg(test)]
mod stops;
#[cfg(test)]
mod stored;
mod turns;
#[cfg(test)]
mod vectors;

pub use causes::CauseFault;
pub use fold::Fold;
pub use posted::{
    Posted, PostingKind, SignatureFault, Signed, SignedParts, check_key, fingerprint, public_key,
    sign, verify,
};
pub use postings::ORGANISER;
pub use replay::{ReplayFault, open, replay};
pub use state::{REPLACED_AFTER_HOURS, RecordState, SealedAt};

use serde::{Deserialize, Serialize};
use sha2::{Digest, Sha256};

use crate::clock::Clock;
use crate::dice::Bytes32;
use crate::game::{Event, Game};
use crate::orders::Instructions;

/// One link of a record.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Entry {
    /// Number of the event in its game, from 1.
    pub number: u64,
    /// Hash of the entry before in hex; zeros for the first.
    pub previous: String,
    /// When the server appended it: RFC 3339, UTC.
    pub at: String,
    /// What happened.
    pub event: Event,
    /// The posting that brought it, as it was sent: with the first event of what a seat did, in games played by post.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub posted: Option<Posted>,
}

/// An entry as it is stored: the exact bytes and their hash.
#[derive(Debug, Clone, PartialEq)]
pub struct Sealed {
    /// The entry.
    pub entry: Entry,
    /// Its canonical JSON (RFC 8785): what is hashed and stored.
    pub body: String,
    /// `SHA-256("fieldpost-record/v1" ‖ body)`.
    pub hash: Bytes32,
}

/// The hash that the first entry names as the one before it.
pub const BEFORE_THE_FIRST: Bytes32 = [0; 32];

/// The hash of an entry's stored bytes.
#[must_use]
pub fn hash_of(body: &[u8]) -> Bytes32 {
    let mut hash = Sha256::new();
    hash.update(b"fieldpost-record/v1");
    hash.update(body);
    hash.finalize().into()
}

/// Canonical JSON (RFC 8785) of anything that serialises.
///
/// # Errors
/// When the value cannot be JSON: a number that is not finite, a map whose keys are not strings.
pub fn canonical<T: Serialize>(value: &T) -> Result<String, serde_json::Error> {
    serde_json_canonicalizer::to_string(value)
}

/// Seals events into entries that follow `head`: `(number, hash)` of the last entry, or
/// `(0, BEFORE_THE_FIRST)` for a new record. A posting that brought them stands with the first of them, the news of
/// other laws left aside.
///
/// # Errors
/// As [`canonical`].
pub fn seal_posted(
    head: (u64, Bytes32),
    at: &str,
    events: Vec<Event>,
    mut posted: Option<Posted>,
) -> Result<Vec<Sealed>, serde_json::Error> {
    let (mut number, mut previous) = head;
    let mut sealed = Vec::with_capacity(events.len());
    for event in events {
        number += 1;
        let is_brought = !matches!(event, Event::LawsChanged { .. });
        let entry = Entry {
            number,
            previous: hex::encode(previous),
            at: at.to_owned(),
            event,
            posted: posted.take_if(|_| is_brought),
        };
        let body = canonical(&entry)?;
        let hash = hash_of(body.as_bytes());
        previous = hash;
        sealed.push(Sealed { entry, body, hash });
    }
    Ok(sealed)
}

/// The same for events that nobody posted: the server's own, and those of a battle fought at home.
///
/// # Errors
/// As [`canonical`].
pub fn seal(
    head: (u64, Bytes32),
    at: &str,
    events: Vec<Event>,
) -> Result<Vec<Sealed>, serde_json::Error> {
    seal_posted(head, at, events, None)
}

/// The clock of a battle that has just been opened.
#[must_use]
pub fn clock_of(game: &Game) -> Clock {
    let sides: Vec<String> = [0, 1].map(|index| game.side_id(index).0).into();
    Clock::new(&sides, &game.player_side().0)
}

/// The seal of standing instructions: `SHA-256("instructions-seal/v1" ‖ nonce ‖ canonical JSON)`.
/// The nonce of 32 random bytes keeps the few likely instructions from being guessed.
///
/// # Errors
/// As [`canonical`].
pub fn seal_of_instructions(
    nonce: &Bytes32,
    instructions: &Instructions,
) -> Result<Bytes32, serde_json::Error> {
    let mut hash = Sha256::new();
    hash.update(b"instructions-seal/v1");
    hash.update(nonce);
    hash.update(canonical(instructions)?);
    Ok(hash.finalize().into())
}

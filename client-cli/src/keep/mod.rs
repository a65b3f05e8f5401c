//! What stays on this machine between commands: seats and keys, records, postings without an answer.

pub mod files;
pub mod places;
pub mod posting;
pub mod record;
pub mod seats;

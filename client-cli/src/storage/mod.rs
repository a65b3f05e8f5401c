//! What stays on this machine between commands: seats and keys, records, postings without an answer.

pub mod dice_number;
pub mod files;
pub mod folders;
pub mod local_battle;
pub mod pending_posting;
pub mod read_mark;
pub mod record;
pub mod seats;

//! What stays on this machine between commands: seats and keys, records, postings without an answer.

pub mod battle;
pub mod files;
pub mod number;
pub mod places;
pub mod posting;
pub mod record;
pub mod seats;
pub mod signing;

use crate::failure::{Failure, Outcome};

/// Random bytes of this machine.
///
/// # Errors
/// When it gives none.
pub fn random<const N: usize>() -> Outcome<[u8; N]> {
    let mut bytes = [0; N];
    getrandom::fill(&mut bytes).map_err(|error| {
        Failure::Plain(format!("this machine gives no random numbers: {error}"))
    })?;
    Ok(bytes)
}

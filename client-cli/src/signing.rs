//! The key that a seat signs with on this machine, and what a signature of it covers.

use std::fmt;

use fieldpost_rules::dice::{Bytes32, FIRST_ATTEMPT};
use fieldpost_rules::record::{self, Fold, PostingKind, SignedParts};

use crate::error::{CliError, CliResult};
use crate::random::random;
use crate::storage::record::hash_bytes;

/// A signing key of this machine. It is never printed.
#[derive(Clone, PartialEq, Eq)]
pub struct SigningKey(Bytes32);

impl fmt::Debug for SigningKey {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("SigningKey(…)")
    }
}

impl SigningKey {
    /// A fresh one.
    ///
    /// # Errors
    /// When this machine gives no random numbers.
    pub fn fresh() -> CliResult<Self> {
        Ok(Self(random()?))
    }

    /// One as it is kept: 64 hexadecimal digits.
    ///
    /// # Errors
    /// When it is not that.
    pub fn from_hex(text: &str) -> CliResult<Self> {
        let seed = hash_bytes(text.trim());
        seed.map(Self).ok_or_else(|| {
            CliError::Invalid(
                "error: the signing key that is kept for this seat is spoilt".to_owned(),
            )
        })
    }

    /// As it is kept.
    #[must_use]
    pub fn reveal(&self) -> String {
        hex::encode(self.0)
    }

    /// Its public key in hex, as the record has it.
    #[must_use]
    pub fn public(&self) -> String {
        hex::encode(record::public_key(&self.0))
    }
}

/// A public key in digits that two people can read to each other.
#[must_use]
pub fn readable_fingerprint(public: &str) -> String {
    hash_bytes(public).map_or_else(|| public.to_owned(), |key| record::fingerprint(&key))
}

/// What a posting is written for.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct PostingBasis {
    /// Hash of the last entry that makes postings before it stale, in hex.
    pub precondition: String,
    /// Number of the player turn, from 1.
    pub player_turn: u64,
    /// Attempt at that player turn, from 1.
    pub attempt: u32,
}

impl PostingBasis {
    /// The basis that a record has come to.
    #[must_use]
    pub fn of(fold: &Fold) -> Self {
        Self {
            precondition: hex::encode(fold.record_state.basis()),
            player_turn: fold.game.player_turn(),
            attempt: fold.record_state.attempt().unwrap_or(FIRST_ATTEMPT),
        }
    }
}

/// What is signed besides the basis.
#[derive(Debug, Clone, Copy)]
pub struct ToSign<'a> {
    /// Id of the seat.
    pub seat: &'a str,
    /// What it asks for.
    pub kind: PostingKind,
    /// The body as it is sent; of standing instructions their seal.
    pub body: &'a [u8],
    /// The poster's own number, with a sheet.
    pub number: Option<&'a Bytes32>,
    /// The nonce of the seal of standing instructions.
    pub nonce: Option<&'a Bytes32>,
}

/// The signature as it travels in its header.
///
/// # Errors
/// When the precondition is no hash.
pub fn signature(
    key: &SigningKey,
    game: &[u8; 16],
    basis: &PostingBasis,
    to_sign: &ToSign<'_>,
) -> CliResult<String> {
    let precondition = hash_bytes(&basis.precondition)
        .ok_or_else(|| CliError::Mismatch("the record has no beginning".to_owned()))?;
    let parts = SignedParts {
        game,
        seat: to_sign.seat,
        kind: to_sign.kind,
        precondition: &precondition,
        player_turn: basis.player_turn,
        attempt: basis.attempt,
        body: to_sign.body,
        number: to_sign.number,
    };
    let signature = record::sign(&key.0, &parts.message());
    let mut header = format!(
        "player-turn={}, attempt={}, key={}, signature={}",
        basis.player_turn,
        basis.attempt,
        key.public(),
        hex::encode(signature)
    );
    if let Some(nonce) = to_sign.nonce {
        header.push_str(&format!(", nonce={}", hex::encode(nonce)));
    }
    Ok(header)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_key_goes_there_and_back_and_is_not_shown_by_accident() {
        let key = SigningKey::fresh().unwrap();
        assert_eq!(SigningKey::from_hex(&key.reveal()).unwrap(), key);
        assert!(!format!("{key:?}").contains(&key.reveal()[..8]));
        assert_eq!(key.public().len(), 64);
        assert_eq!(readable_fingerprint(&key.public()).split(' ').count(), 8);
        assert!(SigningKey::from_hex("abc").is_err());
    }
}

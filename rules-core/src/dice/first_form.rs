//! The first form of the dice, for records that were begun in it: throws depend on the record so far and on the
//! sheet, and are counted. Nothing new is thrown by it: whoever knew the player's number could choose among heads
//! and sheets until the dice pleased.

use hkdf::Hkdf;
use sha2::{Digest, Sha256};

use super::{Bytes32, Form, Throws, length_prefixed};

/// The commitment to the secret of a player turn, in the first form.
#[must_use]
pub fn commitment(game: &[u8; 16], player_turn: u64, secret: &Bytes32) -> Bytes32 {
    let mut hash = Sha256::new();
    hash.update(b"dice-commit/v1");
    hash.update(length_prefixed(game));
    hash.update(player_turn.to_be_bytes());
    hash.update(length_prefixed(secret));
    hash.finalize().into()
}

/// Everything that throws of the first form depend on.
#[derive(Debug, Clone, Copy)]
pub struct Seeds<'a> {
    /// The game's id.
    pub game: &'a [u8; 16],
    /// Number of the player turn in the game, from 1.
    pub player_turn: u64,
    /// Hash of the record's last entry before the posting.
    pub previous_hash: &'a Bytes32,
    /// The sheet in canonical JSON (RFC 8785).
    pub canonical_sheet: &'a [u8],
    /// The server's secret.
    pub secret: &'a Bytes32,
    /// The poster's own number.
    pub number: &'a Bytes32,
}

/// The throws that follow from these seeds, in the first form.
#[must_use]
pub fn throws(seeds: &Seeds<'_>) -> Throws {
    let mut material = [0u8; 64];
    material[..32].copy_from_slice(seeds.secret);
    material[32..].copy_from_slice(seeds.number);
    Throws {
        extracted: Hkdf::new(Some(&salt(seeds)), &material),
        form: Form::First { made: 0 },
    }
}

fn salt(seeds: &Seeds<'_>) -> Bytes32 {
    let sheet: Bytes32 = Sha256::digest(seeds.canonical_sheet).into();
    let mut hash = Sha256::new();
    hash.update(b"dice-salt/v1");
    hash.update(length_prefixed(seeds.game));
    hash.update(seeds.player_turn.to_be_bytes());
    hash.update(length_prefixed(seeds.previous_hash));
    hash.update(length_prefixed(&sheet));
    hash.finalize().into()
}

#[cfg(test)]
mod tests {
    use super::super::tests::{run, vector_game};
    use super::*;

    /// Check vector of the recipe, agreed by three independent implementations.
    #[test]
    fn the_first_form_gives_its_check_vector() {
        let (secret, number, previous) = (run(0x00), run(0x20), run(0x40));
        let game = vector_game();
        assert_eq!(
            hex::encode(commitment(&game, 7, &secret)),
            "c51a7c34dc040a919f9a20147650e8587369126c240a8df5e9a0b1e9c49e68d2"
        );
        let seeds = Seeds {
            game: &game,
            player_turn: 7,
            previous_hash: &previous,
            canonical_sheet: br#"{"orders":[]}"#,
            secret: &secret,
            number: &number,
        };
        let mut throws = throws(&seeds);
        for _ in 0..3 {
            throws.throw("whatever it is for", 1, 6);
        }
        assert_eq!(throws.counted(), Some(3));
        assert_eq!(
            throws.throw("whatever it is for", 20, 6),
            [1, 6, 4, 2, 5, 1, 6, 3, 2, 5, 2, 6, 4, 5, 6, 1, 4, 1, 3, 3]
        );
        let mut material = secret.to_vec();
        material.extend(number);
        let (prk, _) = Hkdf::<Sha256>::extract(Some(&salt(&seeds)), &material);
        assert_eq!(
            hex::encode(prk),
            "ff174e0a4782cc7fd6fa9a3bb1dca00bb1d21b21a3a6675b151087f0667887fc"
        );
    }
}

//! Dice that nobody can doubt: thrown from a secret the server committed to and the poster's own number.
//!
//! Neither the record so far nor the sheet has a part in them: each would let somebody throw again by provoking
//! another. The recipe, byte for byte, is in the manual (`record.md`); `SHA-256` is FIPS 180-4, `HKDF` RFC 5869.

pub mod first_form;

use hkdf::Hkdf;
use sha2::{Digest, Sha256};

/// 32 bytes: a secret, a number, a hash.
pub type Bytes32 = [u8; 32];

/// Number of the first attempt at a player turn; each renewal of its secret begins another.
pub const FIRST_ATTEMPT: u32 = 1;

/// The server's commitment to its secret for an attempt at a player turn.
#[must_use]
pub fn commitment(game: &[u8; 16], player_turn: u64, attempt: u32, secret: &Bytes32) -> Bytes32 {
    let mut hash = Sha256::new();
    hash.update(b"dice-commit/v2");
    hash.update(length_prefixed(game));
    hash.update(player_turn.to_be_bytes());
    hash.update(attempt.to_be_bytes());
    hash.update(length_prefixed(secret));
    hash.finalize().into()
}

/// The throws of one player turn, each by a label that says what it is for.
#[derive(Clone)]
pub struct Throws {
    extracted: Hkdf<Sha256>,
    form: Form,
}

/// How throws are told from each other.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Form {
    /// By how many were made before.
    First { made: u32 },
    /// By their labels.
    Second,
}

/// Everything the throws of one player turn depend on.
#[derive(Debug, Clone, Copy)]
pub struct Seeds<'a> {
    /// The game's id.
    pub game: &'a [u8; 16],
    /// Number of the player turn in the game, from 1.
    pub player_turn: u64,
    /// Which attempt at that player turn, from [`FIRST_ATTEMPT`].
    pub attempt: u32,
    /// The server's secret.
    pub secret: &'a Bytes32,
    /// The poster's own number.
    pub number: &'a Bytes32,
}

impl Throws {
    /// The throws that follow from these seeds.
    #[must_use]
    pub fn new(seeds: &Seeds<'_>) -> Self {
        let mut material = [0u8; 64];
        material[..32].copy_from_slice(seeds.secret);
        material[32..].copy_from_slice(seeds.number);
        Self {
            extracted: Hkdf::new(Some(&salt(seeds)), &material),
            form: Form::Second,
        }
    }

    /// How many throws were made, in the first form, which counts them.
    #[must_use]
    pub fn counted(&self) -> Option<u32> {
        match self.form {
            Form::First { made } => Some(made),
            Form::Second => None,
        }
    }

    /// Throws `count` dice of `faces` faces. The same label gives the same dice; in the first form it says nothing,
    /// and each throw is another.
    pub fn throw(&mut self, label: &str, count: u32, faces: u32) -> Vec<u32> {
        let info = match &mut self.form {
            Form::First { made } => {
                let mut info = b"dice-roll/v1".to_vec();
                info.extend(made.to_be_bytes());
                *made += 1;
                info
            }
            Form::Second => {
                let mut info = b"dice-roll/v2".to_vec();
                info.extend(length_prefixed(label.as_bytes()));
                info
            }
        };
        self.dice(&info, count, faces)
    }

    /// A byte below the largest multiple of `faces` gives `1 + byte mod faces`; others are skipped. Faces are brought
    /// into 1..=256.
    fn dice(&self, info: &[u8], count: u32, faces: u32) -> Vec<u32> {
        let faces = faces.clamp(1, 256);
        let wanted = usize::try_from(count).unwrap_or(usize::MAX);
        // A longer expansion begins with the shorter one, so a short one is tried first. RFC 5869
        // ends a stream at 255 blocks of 32 bytes; no ruleset's ten dice come near it.
        let short = self.fair_dice(info, &mut [0u8; 64], faces, wanted);
        if short.len() >= wanted {
            return short;
        }
        self.fair_dice(info, &mut [0u8; 255 * 32], faces, wanted)
    }

    fn fair_dice(&self, info: &[u8], stream: &mut [u8], faces: u32, wanted: usize) -> Vec<u32> {
        let bound = 256 - 256 % faces;
        if self.extracted.expand(info, stream).is_err() {
            return Vec::new();
        }
        stream
            .iter()
            .map(|&byte| u32::from(byte))
            .filter(|&byte| byte < bound)
            .map(|byte| 1 + byte % faces)
            .take(wanted)
            .collect()
    }
}

fn salt(seeds: &Seeds<'_>) -> Bytes32 {
    let mut hash = Sha256::new();
    hash.update(b"dice-salt/v2");
    hash.update(length_prefixed(seeds.game));
    hash.update(seeds.player_turn.to_be_bytes());
    hash.update(seeds.attempt.to_be_bytes());
    hash.finalize().into()
}

/// The length as four bytes, big end first, then the bytes: so that no two lists of parts run into the same bytes.
pub(crate) fn length_prefixed(bytes: &[u8]) -> Vec<u8> {
    let length = u32::try_from(bytes.len()).unwrap_or(u32::MAX);
    let mut out = length.to_be_bytes().to_vec();
    out.extend_from_slice(bytes);
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    pub(super) fn run(from: u8) -> Bytes32 {
        std::array::from_fn(|i| from + u8::try_from(i).expect("below 32"))
    }

    pub(super) fn vector_game() -> [u8; 16] {
        let bytes = hex::decode("0192f0c1e8a07b3c9d4e5f60718293a4").expect("hex");
        bytes.try_into().expect("16 bytes")
    }

    fn vector_throws(attempt: u32) -> Throws {
        Throws::new(&Seeds {
            game: &vector_game(),
            player_turn: 7,
            attempt,
            secret: &run(0x00),
            number: &run(0x20),
        })
    }

    /// The check vector that the manual publishes, made by another implementation.
    #[test]
    fn the_recipe_gives_its_check_vector() {
        assert_eq!(
            hex::encode(commitment(&vector_game(), 7, 1, &run(0x00))),
            "61a45c8c9bc2938a9c4be37354a4a15a49e666c531f02f528d8be67660e895cc"
        );
        let dice = vector_throws(1).throw("battle 1", 20, 6);
        assert_eq!(
            dice,
            [5, 2, 4, 2, 6, 6, 2, 3, 3, 5, 2, 5, 2, 2, 5, 1, 3, 5, 6, 4]
        );
    }

    #[test]
    fn the_prk_of_the_vector() {
        let salt = salt(&Seeds {
            game: &vector_game(),
            player_turn: 7,
            attempt: 1,
            secret: &run(0x00),
            number: &run(0x20),
        });
        let mut material = run(0x00).to_vec();
        material.extend(run(0x20));
        let (prk, _) = Hkdf::<Sha256>::extract(Some(&salt), &material);
        assert_eq!(
            hex::encode(prk),
            "647f2828e3161e76b7d423bdc9f6aa94b39e8be97500db2b17b5d3b56d31019a"
        );
    }

    #[test]
    fn a_label_gives_the_same_dice_whatever_was_thrown_before() {
        let mut throws = vector_throws(1);
        let first = throws.throw("battle 1", 5, 6);
        throws.throw("withdrawal red-3", 1, 6);
        assert_eq!(throws.throw("battle 1", 5, 6), first);
        assert_ne!(throws.throw("battle 2", 5, 6), first);
        assert_ne!(vector_throws(2).throw("battle 1", 5, 6), first);
        assert_eq!(throws.counted(), None);
    }

    /// RFC 5869, appendix A.1.
    #[test]
    fn the_library_keeps_to_rfc_5869() {
        let ikm = [0x0b; 22];
        let salt: Vec<u8> = (0x00..=0x0c).collect();
        let info: Vec<u8> = (0xf0..=0xf9).collect();
        let mut out = [0u8; 42];
        let (prk, hkdf) = Hkdf::<Sha256>::extract(Some(&salt), &ikm);
        hkdf.expand(&info, &mut out).expect("short enough");
        assert_eq!(
            hex::encode(prk),
            "077709362c2e32df0ddc3f0dc47bba6390b6c73bb50f9c3122ec844ad7c2b3e5"
        );
        assert_eq!(
            hex::encode(out),
            "3cb25f25faacd57a90434f64d0362f2a2d2d0a90cf1a5a4c5db02d56ecc4c5bf34007208d5b887185865"
        );
    }
}

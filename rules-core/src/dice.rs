//! Dice that nobody can doubt: thrown from a secret the server committed to, the poster's own
//! number, the record so far and the sheet itself.
//!
//! The recipe, byte for byte, is in the manual; `SHA-256` is FIPS 180-4, `HKDF` RFC 5869.

use hkdf::Hkdf;
use sha2::{Digest, Sha256};

/// 32 bytes: a secret, a number, a hash.
pub type Bytes32 = [u8; 32];

/// The server's commitment to the secret of player turn `player_turn`.
#[must_use]
pub fn commitment(game: &[u8; 16], player_turn: u64, secret: &Bytes32) -> Bytes32 {
    let mut hash = Sha256::new();
    hash.update(b"dice-commit/v1");
    hash.update(length_prefixed(game));
    hash.update(player_turn.to_be_bytes());
    hash.update(length_prefixed(secret));
    hash.finalize().into()
}

/// The throws of one player turn.
#[derive(Clone)]
pub struct Throws {
    extracted: Hkdf<Sha256>,
    made: u32,
}

/// Everything the throws of one player turn depend on.
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

impl Throws {
    /// The throws that follow from these seeds.
    #[must_use]
    pub fn new(seeds: &Seeds<'_>) -> Self {
        let salt = salt(seeds);
        let mut material = [0u8; 64];
        material[..32].copy_from_slice(seeds.secret);
        material[32..].copy_from_slice(seeds.number);
        Self {
            extracted: Hkdf::new(Some(&salt), &material),
            made: 0,
        }
    }

    /// Number of the next throw, from 0.
    #[must_use]
    pub fn made(&self) -> u32 {
        self.made
    }

    /// Throws `count` dice of `faces` faces as the next throw.
    pub fn throw(&mut self, count: u32, faces: u32) -> Vec<u32> {
        let dice = self.dice_of(self.made, count, faces);
        self.made += 1;
        dice
    }

    /// The dice of throw `index`. A byte below the largest multiple of `faces` gives
    /// `1 + byte mod faces`; others are skipped. Faces are brought into 1..=256.
    #[must_use]
    pub fn dice_of(&self, index: u32, count: u32, faces: u32) -> Vec<u32> {
        let faces = faces.clamp(1, 256);
        let wanted = usize::try_from(count).unwrap_or(usize::MAX);
        let mut info = b"dice-roll/v1".to_vec();
        info.extend(index.to_be_bytes());
        // A longer expansion begins with the shorter one, so a short one is tried first. RFC 5869
        // ends a stream at 255 blocks of 32 bytes; no ruleset's ten dice come near it.
        let short = self.fair_dice(&info, &mut [0u8; 64], faces, wanted);
        if short.len() >= wanted {
            return short;
        }
        self.fair_dice(&info, &mut [0u8; 255 * 32], faces, wanted)
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
    let sheet: Bytes32 = Sha256::digest(seeds.canonical_sheet).into();
    let mut hash = Sha256::new();
    hash.update(b"dice-salt/v1");
    hash.update(length_prefixed(seeds.game));
    hash.update(seeds.player_turn.to_be_bytes());
    hash.update(length_prefixed(seeds.previous_hash));
    hash.update(length_prefixed(&sheet));
    hash.finalize().into()
}

/// The length as four bytes, big end first, then the bytes.
fn length_prefixed(bytes: &[u8]) -> Vec<u8> {
    let length = u32::try_from(bytes.len()).unwrap_or(u32::MAX);
    let mut out = length.to_be_bytes().to_vec();
    out.extend_from_slice(bytes);
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    fn run(from: u8) -> Bytes32 {
        std::array::from_fn(|i| from + u8::try_from(i).expect("below 32"))
    }

    fn vector_game() -> [u8; 16] {
        let bytes = hex::decode("0192f0c1e8a07b3c9d4e5f60718293a4").expect("hex");
        bytes.try_into().expect("16 bytes")
    }

    /// Check vector of the recipe, agreed by three independent implementations (manual, "Dice").
    #[test]
    fn the_recipe_gives_its_check_vector() {
        let (secret, number, previous) = (run(0x00), run(0x20), run(0x40));
        let game = vector_game();
        assert_eq!(
            hex::encode(commitment(&game, 7, &secret)),
            "c51a7c34dc040a919f9a20147650e8587369126c240a8df5e9a0b1e9c49e68d2"
        );
        let throws = Throws::new(&Seeds {
            game: &game,
            player_turn: 7,
            previous_hash: &previous,
            canonical_sheet: br#"{"orders":[]}"#,
            secret: &secret,
            number: &number,
        });
        assert_eq!(
            throws.dice_of(3, 20, 6),
            [1, 6, 4, 2, 5, 1, 6, 3, 2, 5, 2, 6, 4, 5, 6, 1, 4, 1, 3, 3]
        );
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

    #[test]
    fn the_prk_of_the_vector() {
        let (secret, number, previous) = (run(0x00), run(0x20), run(0x40));
        let game = vector_game();
        let salt = salt(&Seeds {
            game: &game,
            player_turn: 7,
            previous_hash: &previous,
            canonical_sheet: br#"{"orders":[]}"#,
            secret: &secret,
            number: &number,
        });
        let mut material = secret.to_vec();
        material.extend(number);
        let (prk, _) = Hkdf::<Sha256>::extract(Some(&salt), &material);
        assert_eq!(
            hex::encode(prk),
            "ff174e0a4782cc7fd6fa9a3bb1dca00bb1d21b21a3a6675b151087f0667887fc"
        );
    }
}

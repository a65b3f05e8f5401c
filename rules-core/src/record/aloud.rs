//! A hash in a form that two people can read to each other.

use crate::dice::Bytes32;

/// Digits of the form, in groups of four.
const DIGITS: usize = 32;

/// A hash as eight groups of four digits, which every language can say and nobody mistakes for each other: its first 16
/// bytes as a number, the high byte first, of which the last 32 decimal digits are kept.
///
/// Two hashes that read the same are found by about 2^53 trials by somebody who may choose both, and by 2^106 by somebody
/// who must meet one that is given.
///
/// ```
/// use fieldpost_rules::record::read_aloud;
///
/// assert_eq!(read_aloud(&[0; 32]), "0000 0000 0000 0000 0000 0000 0000 0000");
/// // 2^127 = 170141183460469231731687303715884105728
/// let mut hash = [0; 32];
/// hash[0] = 0x80;
/// assert_eq!(read_aloud(&hash), "8346 0469 2317 3168 7303 7158 8410 5728");
/// ```
#[must_use]
pub fn read_aloud(hash: &Bytes32) -> String {
    let mut first = [0; 16];
    first.copy_from_slice(&hash[..16]);
    let kept = u128::from_be_bytes(first) % 10_u128.pow(DIGITS as u32);
    let digits = format!("{kept:0DIGITS$}");
    let mut said = String::with_capacity(DIGITS + DIGITS / 4);
    for (place, digit) in digits.chars().enumerate() {
        if place > 0 && place % 4 == 0 {
            said.push(' ');
        }
        said.push(digit);
    }
    said
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_hash_is_eight_groups_of_four_digits() {
        let mut hash = [0; 32];
        hash[15] = 42;
        // What comes after the first half is not read.
        hash[16..].fill(0xff);
        assert_eq!(read_aloud(&hash), "0000 0000 0000 0000 0000 0000 0000 0042");
        // 2^128 - 1 = 340282366920938463463374607431768211455
        assert_eq!(
            read_aloud(&[0xff; 32]),
            "6692 0938 4634 6337 4607 4317 6821 1455"
        );
    }

    #[test]
    fn another_hash_reads_otherwise() {
        let hash: Bytes32 = std::array::from_fn(|place| place as u8);
        let said = read_aloud(&hash);
        for bit in 0..128 {
            let mut other = hash;
            other[bit / 8] ^= 1 << (bit % 8);
            assert_ne!(read_aloud(&other), said, "bit {bit}");
        }
    }
}

//! Chances for automatic commanders: the same from the same seed, everywhere. Never for recorded dice.

/// A stream of numbers that follow from a seed: the published SplitMix64 generator (Steele, Lea and
/// Flood, "Fast Splittable Pseudorandom Number Generators", 2014; constants from memory).
#[derive(Debug, Clone)]
pub struct Chance(u64);

impl Chance {
    /// The stream of a seed.
    #[must_use]
    pub fn new(seed: u64) -> Self {
        Self(seed)
    }

    /// The stream of several numbers together, such as a seed, a battle and a turn: streams of
    /// neighbouring numbers have nothing to do with one another.
    #[must_use]
    pub fn of(parts: &[u64]) -> Self {
        Self(
            parts
                .iter()
                .fold(0, |state, part| Self(state ^ part).number()),
        )
    }

    /// The next number.
    pub fn number(&mut self) -> u64 {
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut mixed = self.0;
        mixed = (mixed ^ (mixed >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        mixed = (mixed ^ (mixed >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        mixed ^ (mixed >> 31)
    }

    /// A share in `[0, 1)`.
    pub fn share(&mut self) -> f64 {
        #[expect(clippy::cast_precision_loss, reason = "53 bits are exact")]
        let share = (self.number() >> 11) as f64 / (1u64 << 53) as f64;
        share
    }

    /// Whether something with this chance comes about.
    pub fn comes(&mut self, chance: f64) -> bool {
        self.share() < chance
    }

    /// 32 bytes.
    pub fn bytes(&mut self) -> [u8; 32] {
        let mut bytes = [0; 32];
        for eight in bytes.chunks_exact_mut(8) {
            eight.copy_from_slice(&self.number().to_le_bytes());
        }
        bytes
    }
}

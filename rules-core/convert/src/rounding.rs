//! How strength points become whole bases.

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

/// Most bases of one unit, as in a scenario's block of 100 files.
const MOST_BASES: f64 = 1000.0;

/// How a number of bases that is not whole is rounded; every unit has one base at least.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum Rounding {
    /// To the nearest whole number, halves up.
    Nearest,
    /// Up.
    Up,
    /// Down.
    Down,
}

impl Rounding {
    /// All ways.
    pub const ALL: [Self; 3] = [Self::Nearest, Self::Up, Self::Down];

    /// Bases for so much strength.
    #[must_use]
    pub fn bases(self, strength: f64, per_base: f64) -> u16 {
        let exact = strength / per_base;
        // a billionth of slack for decimals that floats do not hold exactly
        let rounded = match self {
            Self::Nearest => (exact + 0.5 + 1e-9).floor(),
            Self::Up => (exact - 1e-9).ceil(),
            Self::Down => (exact + 1e-9).floor(),
        };
        // 1 to 1000
        #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss)]
        let bases = rounded.clamp(1.0, MOST_BASES) as u16;
        bases
    }

    /// The way in words.
    #[must_use]
    pub fn words(self) -> &'static str {
        match self {
            Self::Nearest => "nearest",
            Self::Up => "up",
            Self::Down => "down",
        }
    }
}

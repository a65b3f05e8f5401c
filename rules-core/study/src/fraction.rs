//! Exact fractions of whole numbers, none negative.

use std::fmt;

use serde::ser::{Serialize, SerializeStruct, Serializer};

/// A fraction in lowest terms.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Fraction {
    over: u128,
    under: u128,
}

impl Fraction {
    /// Nothing.
    pub const ZERO: Self = Self { over: 0, under: 1 };
    /// One whole; as a chance, certainty.
    pub const ONE: Self = Self { over: 1, under: 1 };

    /// `over` parts of `under`; `None` when `under` is 0.
    #[must_use]
    pub fn new(over: u128, under: u128) -> Option<Self> {
        if under == 0 {
            return None;
        }
        let common = common_divisor(over, under);
        Some(Self {
            over: over / common,
            under: under / common,
        })
    }

    /// The number above the line.
    #[must_use]
    pub fn over(self) -> u128 {
        self.over
    }

    /// The number below the line.
    #[must_use]
    pub fn under(self) -> u128 {
        self.under
    }

    /// Whether it is nothing.
    #[must_use]
    pub fn is_zero(self) -> bool {
        self.over == 0
    }

    /// As a floating-point number, to its last place or the one before.
    #[must_use]
    #[expect(clippy::cast_precision_loss, reason = "the nearest float is wanted")]
    pub fn value(self) -> f64 {
        self.over as f64 / self.under as f64
    }

    /// The sum; `None` when it does not fit.
    #[must_use]
    pub fn plus(self, other: Self) -> Option<Self> {
        let common = common_divisor(self.under, other.under);
        let (ours, theirs) = (other.under / common, self.under / common);
        let over = self
            .over
            .checked_mul(ours)?
            .checked_add(other.over.checked_mul(theirs)?)?;
        Self::new(over, self.under.checked_mul(ours)?)
    }

    /// The product; `None` when it does not fit.
    #[must_use]
    pub fn times(self, other: Self) -> Option<Self> {
        let first = common_divisor(self.over, other.under);
        let second = common_divisor(other.over, self.under);
        let over = (self.over / first).checked_mul(other.over / second)?;
        let under = (self.under / second).checked_mul(other.under / first)?;
        Self::new(over, under)
    }

    /// What a chance leaves to certainty; nothing when it is more than one whole.
    #[must_use]
    pub fn rest(self) -> Self {
        Self {
            over: self.under.saturating_sub(self.over),
            under: self.under,
        }
    }
}

/// Euclid's; 1 at least, so that it can divide.
fn common_divisor(a: u128, b: u128) -> u128 {
    let (mut a, mut b) = (a, b);
    while b != 0 {
        (a, b) = (b, a % b);
    }
    if a == 0 { 1 } else { a }
}

impl fmt::Display for Fraction {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        if self.under == 1 {
            write!(f, "{}", self.over)
        } else {
            write!(f, "{}/{}", self.over, self.under)
        }
    }
}

/// For programs: the exact fraction as text, for 128 bits fit no number of JSON, and its value.
impl Serialize for Fraction {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        let mut fields = serializer.serialize_struct("Fraction", 2)?;
        fields.serialize_field("exact", &self.to_string())?;
        fields.serialize_field("value", &self.value())?;
        fields.end()
    }
}

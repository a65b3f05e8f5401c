//! Lengths as rules writers give them: base widths, movement points, or real units.

use std::borrow::Cow;
use std::fmt;

use schemars::{JsonSchema, Schema, SchemaGenerator, json_schema};
use serde::de::{self, Visitor};
use serde::{Deserialize, Deserializer, Serialize, Serializer};

use super::Scale;

/// What a length in an authored file is counted in.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum LengthUnit {
    /// Base widths: the unit that a whole game scales with.
    BaseWidths,
    /// Movement points, worth `movement_point` each.
    MovementPoints,
    /// Millimetres on the table.
    Millimetres,
    /// Centimetres on the table.
    Centimetres,
    /// Inches of exactly 25.4 mm (international yard and pound agreement, 1959; NIST SP 811).
    Inches,
    /// Feet of exactly 304.8 mm (the same agreement).
    Feet,
}

impl LengthUnit {
    /// The unit that a written suffix names, whatever its case.
    #[must_use]
    pub fn named(word: &str) -> Option<Self> {
        match word.to_ascii_lowercase().as_str() {
            "bw" => Some(Self::BaseWidths),
            "mp" => Some(Self::MovementPoints),
            "mm" => Some(Self::Millimetres),
            "cm" => Some(Self::Centimetres),
            "in" | "inch" | "inches" | "\"" => Some(Self::Inches),
            "ft" | "foot" | "feet" | "'" => Some(Self::Feet),
            _ => None,
        }
    }

    /// The suffix in its usual spelling.
    #[must_use]
    pub fn suffix(self) -> &'static str {
        match self {
            Self::BaseWidths => "bw",
            Self::MovementPoints => "MP",
            Self::Millimetres => "mm",
            Self::Centimetres => "cm",
            Self::Inches => "in",
            Self::Feet => "ft",
        }
    }

    /// Millimetres in one of this unit under a ruleset's scale.
    #[must_use]
    pub fn worth_mm(self, scale: &Scale) -> f64 {
        match self {
            Self::BaseWidths => scale.base_width_mm,
            Self::MovementPoints => scale.movement_point_mm(),
            Self::Millimetres => 1.0,
            Self::Centimetres => 10.0,
            Self::Inches => 25.4,
            Self::Feet => 304.8,
        }
    }
}

/// A length whose bare number counts base widths (`CHARGE = false`) or movement points
/// (`CHARGE = true`); a string such as `"40 mm"` names its own unit.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Length<const CHARGE: bool> {
    /// How many.
    pub amount: f64,
    /// Of what.
    pub unit: LengthUnit,
}

/// A distance: bare numbers are base widths.
pub type Distance = Length<false>;
/// A movement charge: bare numbers are movement points.
pub type Charge = Length<true>;

impl<const CHARGE: bool> Length<CHARGE> {
    /// The unit of a bare number.
    pub const BARE: LengthUnit = if CHARGE {
        LengthUnit::MovementPoints
    } else {
        LengthUnit::BaseWidths
    };

    /// A length of so many of the bare unit.
    #[must_use]
    pub const fn new(amount: f64) -> Self {
        Self {
            amount,
            unit: Self::BARE,
        }
    }

    /// This length in millimetres.
    #[must_use]
    pub fn mm(&self, scale: &Scale) -> f64 {
        self.amount * self.unit.worth_mm(scale)
    }

    /// Reads `"40 mm"`, `"1.5bw"` or `"2"`.
    ///
    /// # Errors
    /// A sentence that says what is wrong and what would do.
    pub fn parse(text: &str) -> Result<Self, String> {
        let text = text.trim();
        let split = text
            .find(|c: char| !(c.is_ascii_digit() || c == '.' || c == '-' || c == '+'))
            .unwrap_or(text.len());
        let (number, suffix) = text.split_at(split);
        let advice = "write a number, or a number with mm, cm, in, ft, bw or MP, such as \"40 mm\"";
        let amount: f64 = number
            .parse()
            .map_err(|_| format!("{text:?} is not a length; {advice}"))?;
        let unit = match suffix.trim() {
            "" => Self::BARE,
            word => LengthUnit::named(word)
                .ok_or_else(|| format!("{word:?} is not a unit of length; {advice}"))?,
        };
        Self { amount, unit }.checked()
    }

    fn checked(self) -> Result<Self, String> {
        if self.amount.is_finite() && (0.0..=1e6).contains(&self.amount) {
            Ok(self)
        } else {
            Err(format!(
                "a length must lie between 0 and 1 000 000, not {}",
                self.amount
            ))
        }
    }
}

impl<const CHARGE: bool> fmt::Display for Length<CHARGE> {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{} {}", self.amount, self.unit.suffix())
    }
}

impl<const CHARGE: bool> Serialize for Length<CHARGE> {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        if self.unit == Self::BARE {
            serializer.serialize_f64(self.amount)
        } else {
            serializer.collect_str(self)
        }
    }
}

impl<'de, const CHARGE: bool> Deserialize<'de> for Length<CHARGE> {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        struct Written<const CHARGE: bool>;
        impl<const CHARGE: bool> Visitor<'_> for Written<CHARGE> {
            type Value = Length<CHARGE>;
            fn expecting(&self, f: &mut fmt::Formatter) -> fmt::Result {
                f.write_str("a number, or a length such as \"40 mm\"")
            }
            fn visit_f64<E: de::Error>(self, amount: f64) -> Result<Self::Value, E> {
                Length::new(amount).checked().map_err(E::custom)
            }
            #[expect(clippy::cast_precision_loss, reason = "range is checked after")]
            fn visit_i64<E: de::Error>(self, amount: i64) -> Result<Self::Value, E> {
                self.visit_f64(amount as f64)
            }
            #[expect(clippy::cast_precision_loss, reason = "range is checked after")]
            fn visit_u64<E: de::Error>(self, amount: u64) -> Result<Self::Value, E> {
                self.visit_f64(amount as f64)
            }
            fn visit_str<E: de::Error>(self, text: &str) -> Result<Self::Value, E> {
                Length::parse(text).map_err(E::custom)
            }
        }
        deserializer.deserialize_any(Written::<CHARGE>)
    }
}

impl<const CHARGE: bool> JsonSchema for Length<CHARGE> {
    fn schema_name() -> Cow<'static, str> {
        if CHARGE { "Charge" } else { "Distance" }.into()
    }

    fn json_schema(_: &mut SchemaGenerator) -> Schema {
        let bare = if CHARGE {
            "movement points"
        } else {
            "base widths"
        };
        json_schema!({
            "description": format!("A number of {bare}, or a length with its unit, such as \"40 mm\"."),
            "anyOf": [
                { "type": "number", "minimum": 0, "maximum": 1_000_000 },
                { "type": "string", "pattern": r"^\s*[0-9]+(\.[0-9]+)?\s*([bB][wW]|[mM][pP]|[mM][mM]|[cC][mM]|[iI][nN]([cC][hH]([eE][sS])?)?|[fF]([tT]|[oO][oO][tT]|[eE][eE][tT]))?\s*$" }
            ]
        })
    }
}

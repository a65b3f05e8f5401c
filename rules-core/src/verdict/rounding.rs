//! The one place where figures are rounded for people and for the wire.

/// Figures from here on come from rubbish: they have no decimals worth a thought, and to round them could
/// overflow.
const HUGE: f64 = 1e12;

/// What people do not see of a length in millimetres or an angle in degrees: they see tenths, and less than
/// half of one would be told as 0.0.
pub const UNSEEN: f64 = 0.05;

/// Rounds to hundredths, never to minus zero.
#[must_use]
pub fn to_hundredths(value: f64) -> f64 {
    to_parts(value, 100.0)
}

fn to_parts(value: f64, parts: f64) -> f64 {
    if value.abs() >= HUGE {
        return value;
    }
    let rounded = (value * parts).round() / parts;
    if rounded == 0.0 { 0.0 } else { rounded }
}

/// A figure for people: tenths, as in `12.3`, or its size, as in `1e300`.
#[must_use]
pub fn tenths(value: f64) -> String {
    if value.abs() >= HUGE {
        return format!("{value:e}");
    }
    format!("{:.1}", to_parts(value, 10.0))
}

/// Serde form of figures on the wire: hundredths of a millimetre or degree.
pub mod hundredths {
    use serde::{Deserialize, Deserializer, Serializer};

    pub fn serialize<S: Serializer>(value: &f64, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.serialize_f64(super::to_hundredths(*value))
    }

    pub fn deserialize<'de, D: Deserializer<'de>>(deserializer: D) -> Result<f64, D::Error> {
        f64::deserialize(deserializer)
    }
}

/// A coordinate of a drawing: at most two decimals, no trailing zeros, never minus zero, and
/// 0 for what is no number, so that a drawing is the same text everywhere.
#[must_use]
pub fn hundredths_text(value: f64) -> String {
    if !value.is_finite() {
        return "0".to_owned();
    }
    if value.abs() >= HUGE {
        return format!("{value:e}");
    }
    let text = format!("{:.2}", to_hundredths(value));
    text.trim_end_matches('0').trim_end_matches('.').to_owned()
}

/// A length of table for people, in centimetres with the tenth of a millimetre: `41.23`.
#[must_use]
pub fn centimetres(mm: f64) -> String {
    format!("{:.2}", to_hundredths(mm / 10.0))
}

/// A bearing for people: tenths of a degree in `0.0..360.0`.
#[must_use]
pub fn bearing(degrees: f64) -> String {
    let tenths = tenths(degrees);
    if tenths == "360.0" {
        "0.0".to_owned()
    } else {
        tenths
    }
}

/// A strength or a count for people: no decimals where there are none, else at most two.
#[must_use]
pub fn amount(value: f64) -> String {
    hundredths_text(value)
}

/// The same for figures that may be absent.
pub mod hundredths_if_any {
    use serde::{Deserialize, Deserializer, Serialize, Serializer};

    #[expect(clippy::ref_option, reason = "serde's signature")]
    pub fn serialize<S: Serializer>(value: &Option<f64>, serializer: S) -> Result<S::Ok, S::Error> {
        value.map(super::to_hundredths).serialize(serializer)
    }

    pub fn deserialize<'de, D: Deserializer<'de>>(
        deserializer: D,
    ) -> Result<Option<f64>, D::Error> {
        Option::deserialize(deserializer)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn no_figure_overflows() {
        for value in [1e12, -1e13, 1e300, f64::MAX, f64::MIN] {
            assert_eq!(to_hundredths(value).to_bits(), value.to_bits());
            assert_eq!(tenths(value).parse(), Ok(value));
            assert_eq!(hundredths_text(value).parse(), Ok(value));
        }
        assert_eq!(to_hundredths(12.345_6).to_bits(), 12.35_f64.to_bits());
        assert_eq!(tenths(999_999_999_999.0), "999999999999.0");
        assert_eq!(tenths(1e300), "1e300");
    }
}

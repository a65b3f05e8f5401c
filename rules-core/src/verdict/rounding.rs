//! The one place where figures are rounded for people and for the wire.

/// Rounds to hundredths, never to minus zero.
#[must_use]
pub(crate) fn to_hundredths(value: f64) -> f64 {
    let rounded = (value * 100.0).round() / 100.0;
    if rounded == 0.0 { 0.0 } else { rounded }
}

/// A figure for people: tenths, as in `12.3`.
#[must_use]
pub(crate) fn tenths(value: f64) -> String {
    let rounded = (value * 10.0).round() / 10.0;
    format!("{:.1}", if rounded == 0.0 { 0.0 } else { rounded })
}

/// Serde form of figures on the wire: hundredths of a millimetre or degree.
pub(crate) mod hundredths {
    use serde::{Deserialize, Deserializer, Serializer};

    pub(crate) fn serialize<S: Serializer>(value: &f64, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.serialize_f64(super::to_hundredths(*value))
    }

    pub(crate) fn deserialize<'de, D: Deserializer<'de>>(deserializer: D) -> Result<f64, D::Error> {
        f64::deserialize(deserializer)
    }
}

/// A coordinate of a drawing: at most two decimals, no trailing zeros, never minus zero, and
/// 0 for what is no number, so that a drawing is the same text everywhere.
#[must_use]
pub(crate) fn hundredths_text(value: f64) -> String {
    if !value.is_finite() {
        return "0".to_owned();
    }
    let text = format!("{:.2}", to_hundredths(value));
    text.trim_end_matches('0').trim_end_matches('.').to_owned()
}

/// A length of table for people, in centimetres with the tenth of a millimetre: `41.23`.
#[must_use]
pub(crate) fn centimetres(mm: f64) -> String {
    format!("{:.2}", to_hundredths(mm / 10.0))
}

/// A bearing for people: tenths of a degree in `0.0..360.0`.
#[must_use]
pub(crate) fn bearing(degrees: f64) -> String {
    let tenths = tenths(degrees);
    if tenths == "360.0" {
        "0.0".to_owned()
    } else {
        tenths
    }
}

/// A strength or a count for people: no decimals where there are none, else at most two.
#[must_use]
pub(crate) fn amount(value: f64) -> String {
    hundredths_text(value)
}

/// The same for figures that may be absent.
pub(crate) mod hundredths_if_any {
    use serde::{Deserialize, Deserializer, Serialize, Serializer};

    #[expect(clippy::ref_option, reason = "serde's signature")]
    pub(crate) fn serialize<S: Serializer>(
        value: &Option<f64>,
        serializer: S,
    ) -> Result<S::Ok, S::Error> {
        value.map(super::to_hundredths).serialize(serializer)
    }

    pub(crate) fn deserialize<'de, D: Deserializer<'de>>(
        deserializer: D,
    ) -> Result<Option<f64>, D::Error> {
        Option::deserialize(deserializer)
    }
}

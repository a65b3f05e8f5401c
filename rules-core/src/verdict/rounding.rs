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

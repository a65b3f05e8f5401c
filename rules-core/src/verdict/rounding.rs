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

/// A figure in whole hundredths, as it goes over the wire: what people see is always rounded from this, so
/// that a figure read back is shown as it was shown before.
fn in_hundredths(value: f64) -> f64 {
    (value * 100.0).round()
}

/// A figure in whole units of the decimals shown, rounded from its hundredths.
pub fn counted(value: f64, decimals: usize) -> f64 {
    match decimals {
        0 => (in_hundredths(value) / 100.0).round(),
        1 => (in_hundredths(value) / 10.0).round(),
        2 => in_hundredths(value),
        3 => (value * 1e3).round(),
        _ => (value * 1e6).round(),
    }
}

/// A count of such units, written with their decimals, never as minus nought.
pub fn written(count: f64, decimals: usize) -> String {
    let units = match decimals {
        0 => 1.0,
        1 => 10.0,
        2 => 100.0,
        3 => 1e3,
        _ => 1e6,
    };
    let value = if count == 0.0 { 0.0 } else { count / units };
    format!("{value:.decimals$}")
}

/// A figure for people: tenths, as in `12.3`, or its size, as in `1e300`.
#[must_use]
pub fn tenths(value: f64) -> String {
    if value.abs() >= HUGE {
        return format!("{value:e}");
    }
    written(counted(value, 1), 1)
}

/// Whole figures for people, as in `12`.
#[must_use]
pub fn whole(value: f64) -> String {
    if value.abs() >= HUGE {
        return format!("{value:e}");
    }
    written(counted(value, 0), 0)
}

/// Tenths, left out where they are nought: `120`, `97.5`.
#[must_use]
pub fn tenths_short(value: f64) -> String {
    let text = tenths(value);
    text.strip_suffix(".0").map_or(text.clone(), str::to_owned)
}

/// A share in per cent, with tenths: `12.5`.
#[must_use]
pub fn percent(share: f64) -> String {
    tenths(share * 100.0)
}

/// The finest that an order is shown to be, in millimetres or degrees: a thousandth.
const FINEST_ORDERED: f64 = 0.001;
/// Less than this many tenths off a whole one, an ordered figure is shown in tenths.
const TENTH_ORDERED: f64 = 0.005;

/// A figure as it was ordered: tenths, or as many decimals, up to three, as it has.
#[must_use]
pub fn ordered(value: f64) -> String {
    if value.abs() >= HUGE {
        return format!("{value:e}");
    }
    let has = |decimals| {
        let units = if decimals == 1 { 10.0 } else { 100.0 };
        (value * units - (value * units).round()).abs() < units * FINEST_ORDERED / 2.0
    };
    let decimals = [1, 2].into_iter().find(|d| has(*d)).unwrap_or(3);
    written(counted(value, decimals), decimals)
}

/// Something that is there, however little: tenths, or more decimals until it is not nought.
#[must_use]
pub fn seen(value: f64) -> String {
    if value.abs() >= HUGE {
        return format!("{value:e}");
    }
    match [1, 2].into_iter().find(|d| counted(value, *d) != 0.0) {
        Some(decimals) => written(counted(value, decimals), decimals),
        None => format!("less than {LEAST}"),
    }
}

/// The least that two decimals can show.
const LEAST: &str = "0.01";

/// Two figures beside each other and how far they are apart, in as many decimals as it takes to see that they
/// differ; the difference is that of the figures as written.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Apart {
    /// The first.
    pub first: String,
    /// The second.
    pub second: String,
    /// How far they are apart, never negative.
    pub by: String,
}

/// Figures that were measured, and are known in hundredths.
#[must_use]
pub fn apart(first: f64, second: f64) -> Apart {
    apart_in(first, second, &[1, 2])
}

/// Figures that were ordered, and are known in thousandths.
#[must_use]
pub fn ordered_apart(first: f64, second: f64) -> Apart {
    let least = if [first, second].iter().any(|value| !is_tenths(*value)) {
        [2, 3]
    } else {
        [1, 2]
    };
    apart_in(first, second, &least)
}

fn is_tenths(value: f64) -> bool {
    (value * 10.0 - (value * 10.0).round()).abs() < TENTH_ORDERED
}

fn apart_in(first: f64, second: f64, decimals: &[usize]) -> Apart {
    if first.abs() >= HUGE || second.abs() >= HUGE {
        return Apart {
            first: tenths(first),
            second: tenths(second),
            by: tenths((first - second).abs()),
        };
    }
    let differ = |d: usize| counted(first, d) != counted(second, d);
    let finest = decimals.last().copied().unwrap_or(1);
    let found = decimals.iter().copied().find(|d| differ(*d));
    let is_same = found.is_none() && first == second;
    let d = match found {
        Some(d) => d,
        None if is_same => decimals.first().copied().unwrap_or(1),
        None => finest,
    };
    let by = (counted(first, d) - counted(second, d)).abs();
    Apart {
        first: written(counted(first, d), d),
        second: written(counted(second, d), d),
        by: if found.is_some() || is_same {
            written(by, d)
        } else {
            format!("less than {}", written(1.0, d))
        },
    }
}

/// Parts of a sum in whole units of the decimals shown, so that they add up to the sum as it is shown: each is
/// rounded by itself, and what is missing then goes to those that were rounded farthest the other way. Parts that
/// do not make up the sum at all are left as they are.
#[must_use]
pub fn shared(parts: &[f64], sum: f64, decimals: usize) -> Vec<f64> {
    let mut counts: Vec<f64> = parts.iter().map(|part| counted(*part, decimals)).collect();
    let units = if decimals == 1 { 10.0 } else { 1.0 };
    let total = counts.iter().fold(0.0, |all, count| all + count);
    let mut missing = counted(sum, decimals) - total;
    let most = f64::from(u32::try_from(parts.len()).unwrap_or(u32::MAX));
    if !missing.is_finite() || missing.abs() > most {
        return counts;
    }
    while missing != 0.0 {
        let step = if missing > 0.0 { 1.0 } else { -1.0 };
        let short = |index: usize| (in_hundredths(parts[index]) - counts[index] * units) * step;
        let takers = (0..parts.len()).filter(|index| counts[*index] + step >= 0.0);
        let taker = takers.reduce(|best, next| {
            if short(next) > short(best) {
                next
            } else {
                best
            }
        });
        let Some(taker) = taker else { break };
        counts[taker] += step;
        missing -= step;
    }
    counts
}

/// Serde form of figures on the wire: hundredths of a millimetre or degree.
pub mod hundredths {
    use serde::{Deserialize, Deserializer, Serializer};

    /// Writes it rounded to hundredths.
    ///
    /// # Errors
    /// Those of the serializer.
    pub fn serialize<S: Serializer>(value: &f64, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.serialize_f64(super::to_hundredths(*value))
    }

    /// Reads it as it stands.
    ///
    /// # Errors
    /// Those of the deserializer.
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
    written(counted(mm, 1), 2)
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
    /// Writes it rounded to hundredths.
    ///
    /// # Errors
    /// Those of the serializer.
    pub fn serialize<S: Serializer>(value: &Option<f64>, serializer: S) -> Result<S::Ok, S::Error> {
        value.map(super::to_hundredths).serialize(serializer)
    }

    /// Reads it as it stands.
    ///
    /// # Errors
    /// Those of the deserializer.
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

    /// 57.149 is 57.15 on the wire, so it is 57.2 before and after: one figure had two roundings.
    #[test]
    fn a_figure_is_shown_as_it_will_be_when_it_is_read_back() {
        for value in [57.149, 57.145, 352.049, 156.147, 0.045, -0.045, 1_000.249] {
            let wire = to_hundredths(value);
            assert_eq!(tenths(value), tenths(wire), "{value}");
            assert_eq!(whole(value), whole(wire), "{value}");
            let centimetres = centimetres(value).parse::<f64>().map(|cm| cm * 10.0);
            assert_eq!(centimetres.map(tenths), Ok(tenths(value)), "{value}");
        }
        assert_eq!(tenths(57.149), "57.2");
        assert_eq!(
            (tenths(-0.04), tenths(0.0)),
            ("0.0".to_owned(), "0.0".to_owned())
        );
    }

    #[test]
    fn a_difference_is_shown_until_it_can_be_seen() {
        let told = |a, b| {
            let Apart { first, second, by } = apart(a, b);
            format!("{first} {second} {by}")
        };
        assert_eq!(told(120.0, 172.36), "120.0 172.4 52.4");
        assert_eq!(told(20.0, 20.04), "20.00 20.04 0.04");
        assert_eq!(told(20.0, 20.001), "20.00 20.00 less than 0.01");
        assert_eq!(told(20.0, 20.0), "20.0 20.0 0.0");
        let Apart { first, second, by } = ordered_apart(96.34, 96.3);
        assert_eq!(format!("{first} {second} {by}"), "96.34 96.30 0.04");
        assert_eq!(
            (seen(0.3), seen(0.03), seen(0.003)),
            ("0.3".into(), "0.03".into(), "less than 0.01".into())
        );
        assert_eq!(
            (ordered(120.0), ordered(96.34), ordered(22.125)),
            ("120.0".into(), "96.34".into(), "22.125".into())
        );
    }

    proptest::proptest! {
        /// Whatever the parts, as shown they add up to the sum as shown, and none is off by more than the last digit.
        #[test]
        fn parts_add_up_as_they_are_shown(parts in proptest::collection::vec(0.0..400.0f64, 1..12), two in proptest::bool::ANY) {
            let decimals = if two { 2 } else { 1 };
            let sum = parts.iter().fold(0.0, |all, part| all + part);
            let counts = shared(&parts, sum, decimals);
            let total = counts.iter().fold(0.0, |all, count| all + count);
            proptest::prop_assert_eq!(total, counted(sum, decimals));
            for (part, count) in parts.iter().zip(&counts) {
                proptest::prop_assert!((counted(*part, decimals) - count).abs() <= 1.0 + 1e-9, "{:?} {:?}", parts, counts);
                proptest::prop_assert!(*count >= 0.0);
            }
            // read back from the wire they are shared out alike
            let wire: Vec<f64> = parts.iter().map(|part| to_hundredths(*part)).collect();
            proptest::prop_assert_eq!(shared(&wire, to_hundredths(sum), decimals), counts);
        }
    }
}

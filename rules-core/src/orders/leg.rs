//! One leg of a move, how far it goes, and how both are written as data.

use std::borrow::Cow;
use std::fmt;

use schemars::{JsonSchema, Schema, SchemaGenerator, json_schema};
use serde::de::{self, Visitor};
use serde::{Deserialize, Deserializer, Serialize, Serializer};

use super::Hand;

/// The longest distance that may be ordered, in millimetres: five of the largest tables.
pub const LENGTH_MAX_MM: f64 = 100_000.0;
/// The widest angle that may be ordered, in degrees.
pub const ANGLE_MAX_DEG: f64 = 360.0;

/// One leg of a move.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(from = "Written", into = "Written")]
pub enum Leg {
    /// Straight ahead.
    Forward {
        /// Length of tape in millimetres.
        distance_mm: Extent,
    },
    /// Straight back, bearing kept.
    Back {
        /// Length of tape in millimetres.
        distance_mm: Extent,
    },
    /// Straight sideways, bearing kept.
    Sidestep {
        /// To which side.
        side: Hand,
        /// Length of tape in millimetres.
        distance_mm: Extent,
    },
    /// Along a bearing off straight ahead, bearing kept.
    Oblique {
        /// To which side.
        side: Hand,
        /// Degrees off straight ahead.
        angle_deg: f64,
        /// Length of tape in millimetres.
        distance_mm: Extent,
    },
    /// Round the front corner of that side.
    Wheel {
        /// To which side.
        side: Hand,
        /// Degrees.
        angle_deg: Extent,
    },
    /// A quarter turn about the centre.
    Turn {
        /// To which side.
        side: Hand,
    },
    /// Half a turn about the centre.
    About,
    /// A small turn about the anchor, in an enemy halt zone.
    Align {
        /// To which side.
        side: Hand,
        /// Degrees.
        angle_deg: f64,
    },
    /// A new block of the same bases.
    Reform {
        /// Bases abreast.
        files: u16,
        /// Bases deep.
        ranks: u16,
    },
}

/// How far a leg goes, in the unit of the leg: millimetres of tape, of a wheel degrees.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Extent {
    /// So far and no less.
    Exactly(f64),
    /// So far, or to the first limit met before.
    UpTo(f64),
    /// To the first limit met, wherever it is.
    AsFarAsAllowed,
}

impl Extent {
    /// An amount that must be kept, or that a limit may cut short.
    #[must_use]
    pub fn new(amount: f64, up_to: bool) -> Self {
        if up_to {
            Self::UpTo(amount)
        } else {
            Self::Exactly(amount)
        }
    }

    /// The amount that was named, if one was.
    #[must_use]
    pub fn amount(self) -> Option<f64> {
        match self {
            Self::Exactly(amount) | Self::UpTo(amount) => Some(amount),
            Self::AsFarAsAllowed => None,
        }
    }

    /// Whether it ends by itself at the first limit met.
    #[must_use]
    pub fn is_up_to(self) -> bool {
        !matches!(self, Self::Exactly(_))
    }

    /// The same, ending at the first limit met.
    #[must_use]
    pub fn said_up_to(self) -> Self {
        match self {
            Self::Exactly(amount) => Self::UpTo(amount),
            already => already,
        }
    }
}

impl Leg {
    /// The leg's name in the trade.
    #[must_use]
    pub fn name(&self) -> &'static str {
        match self {
            Self::Forward { .. } => "forward",
            Self::Back { .. } => "back",
            Self::Sidestep { .. } => "sidestep",
            Self::Oblique { .. } => "oblique",
            Self::Wheel { .. } => "wheel",
            Self::Turn { .. } => "turn",
            Self::About => "about",
            Self::Align { .. } => "align",
            Self::Reform { .. } => "reform",
        }
    }

    /// The side the leg goes or turns to, if it has one.
    #[must_use]
    pub fn side(&self) -> Option<Hand> {
        match *self {
            Self::Sidestep { side, .. }
            | Self::Oblique { side, .. }
            | Self::Wheel { side, .. }
            | Self::Turn { side }
            | Self::Align { side, .. } => Some(side),
            Self::Forward { .. } | Self::Back { .. } | Self::About | Self::Reform { .. } => None,
        }
    }

    /// How far a leg goes that slides or wheels: in millimetres of tape, of a wheel in degrees.
    #[must_use]
    pub fn extent(&self) -> Option<Extent> {
        match *self {
            Self::Forward { distance_mm }
            | Self::Back { distance_mm }
            | Self::Sidestep { distance_mm, .. }
            | Self::Oblique { distance_mm, .. } => Some(distance_mm),
            Self::Wheel { angle_deg, .. } => Some(angle_deg),
            Self::Turn { .. } | Self::About | Self::Align { .. } | Self::Reform { .. } => None,
        }
    }

    /// The leg going so far instead; one that has no extent stays as it is.
    #[must_use]
    pub fn with_extent(mut self, extent: Extent) -> Self {
        match &mut self {
            Self::Forward { distance_mm }
            | Self::Back { distance_mm }
            | Self::Sidestep { distance_mm, .. }
            | Self::Oblique { distance_mm, .. } => *distance_mm = extent,
            Self::Wheel { angle_deg, .. } => *angle_deg = extent,
            Self::Turn { .. } | Self::About | Self::Align { .. } | Self::Reform { .. } => {}
        }
        self
    }

    /// Whether the leg is a straight one, bearing kept.
    #[must_use]
    pub fn is_straight(&self) -> bool {
        match self {
            Self::Forward { .. }
            | Self::Back { .. }
            | Self::Sidestep { .. }
            | Self::Oblique { .. } => true,
            Self::Wheel { .. }
            | Self::Turn { .. }
            | Self::About
            | Self::Align { .. }
            | Self::Reform { .. } => false,
        }
    }

    /// Whether the leg stops by itself at the first limit it meets.
    #[must_use]
    pub fn is_up_to(&self) -> bool {
        self.extent().is_some_and(Extent::is_up_to)
    }
}

/// A leg as data. An extent is an amount with `up_to` beside it where a limit may cut it short, or
/// the words `as-far-as-allowed` in place of the amount.
#[derive(Clone, Serialize, Deserialize, JsonSchema)]
#[serde(tag = "leg", rename_all = "kebab-case", deny_unknown_fields)]
#[schemars(rename = "Leg")]
enum Written {
    /// Straight ahead.
    Forward {
        /// Length of tape in millimetres.
        distance_mm: Amount<Length>,
        /// Stop at the first limit met.
        #[serde(default, skip_serializing_if = "is_false")]
        up_to: bool,
    },
    /// Straight back, bearing kept.
    Back {
        /// Length of tape in millimetres.
        distance_mm: Amount<Length>,
        /// Stop at the first limit met.
        #[serde(default, skip_serializing_if = "is_false")]
        up_to: bool,
    },
    /// Straight sideways, bearing kept.
    Sidestep {
        /// To which side.
        side: Hand,
        /// Length of tape in millimetres.
        distance_mm: Amount<Length>,
        /// Stop at the first limit met.
        #[serde(default, skip_serializing_if = "is_false")]
        up_to: bool,
    },
    /// Along a bearing off straight ahead, bearing kept.
    Oblique {
        /// To which side.
        side: Hand,
        /// Degrees off straight ahead.
        angle_deg: f64,
        /// Length of tape in millimetres.
        distance_mm: Amount<Length>,
        /// Stop at the first limit met.
        #[serde(default, skip_serializing_if = "is_false")]
        up_to: bool,
    },
    /// Round the front corner of that side.
    Wheel {
        /// To which side.
        side: Hand,
        /// Degrees.
        angle_deg: Amount<Angle>,
        /// Stop at the first limit met.
        #[serde(default, skip_serializing_if = "is_false")]
        up_to: bool,
    },
    /// A quarter turn about the centre.
    Turn {
        /// To which side.
        side: Hand,
    },
    /// Half a turn about the centre.
    About,
    /// A small turn about the anchor, in an enemy halt zone.
    Align {
        /// To which side.
        side: Hand,
        /// Degrees.
        angle_deg: f64,
    },
    /// A new block of the same bases.
    Reform {
        /// Bases abreast.
        files: u16,
        /// Bases deep.
        ranks: u16,
    },
}

impl From<Written> for Leg {
    fn from(written: Written) -> Self {
        match written {
            Written::Forward { distance_mm, up_to } => Self::Forward {
                distance_mm: distance_mm.extent(up_to),
            },
            Written::Back { distance_mm, up_to } => Self::Back {
                distance_mm: distance_mm.extent(up_to),
            },
            Written::Sidestep {
                side,
                distance_mm,
                up_to,
            } => Self::Sidestep {
                side,
                distance_mm: distance_mm.extent(up_to),
            },
            Written::Oblique {
                side,
                angle_deg,
                distance_mm,
                up_to,
            } => Self::Oblique {
                side,
                angle_deg,
                distance_mm: distance_mm.extent(up_to),
            },
            Written::Wheel {
                side,
                angle_deg,
                up_to,
            } => Self::Wheel {
                side,
                angle_deg: angle_deg.extent(up_to),
            },
            Written::Turn { side } => Self::Turn { side },
            Written::About => Self::About,
            Written::Align { side, angle_deg } => Self::Align { side, angle_deg },
            Written::Reform { files, ranks } => Self::Reform { files, ranks },
        }
    }
}

impl From<Leg> for Written {
    fn from(leg: Leg) -> Self {
        match leg {
            Leg::Forward { distance_mm } => Self::Forward {
                distance_mm: Amount::of(distance_mm),
                up_to: is_up_to_amount(distance_mm),
            },
            Leg::Back { distance_mm } => Self::Back {
                distance_mm: Amount::of(distance_mm),
                up_to: is_up_to_amount(distance_mm),
            },
            Leg::Sidestep { side, distance_mm } => Self::Sidestep {
                side,
                distance_mm: Amount::of(distance_mm),
                up_to: is_up_to_amount(distance_mm),
            },
            Leg::Oblique {
                side,
                angle_deg,
                distance_mm,
            } => Self::Oblique {
                side,
                angle_deg,
                distance_mm: Amount::of(distance_mm),
                up_to: is_up_to_amount(distance_mm),
            },
            Leg::Wheel { side, angle_deg } => Self::Wheel {
                side,
                angle_deg: Amount::of(angle_deg),
                up_to: is_up_to_amount(angle_deg),
            },
            Leg::Turn { side } => Self::Turn { side },
            Leg::About => Self::About,
            Leg::Align { side, angle_deg } => Self::Align { side, angle_deg },
            Leg::Reform { files, ranks } => Self::Reform { files, ranks },
        }
    }
}

/// Whether `up_to` is written beside the amount; where there is no amount it goes without saying.
fn is_up_to_amount(extent: Extent) -> bool {
    matches!(extent, Extent::UpTo(_))
}

#[expect(clippy::trivially_copy_pass_by_ref, reason = "serde's signature")]
fn is_false(value: &bool) -> bool {
    !value
}

/// In place of an amount: as far as allowed.
const AS_FAR_AS_ALLOWED: &str = "as-far-as-allowed";

/// What an amount measures.
trait Measured {
    const NAME: &'static str;
    const MOST: f64;
}

#[derive(Clone, Copy)]
struct Length;

#[derive(Clone, Copy)]
struct Angle;

impl Measured for Length {
    const NAME: &'static str = "LengthOfLeg";
    const MOST: f64 = LENGTH_MAX_MM;
}

impl Measured for Angle {
    const NAME: &'static str = "AngleOfLeg";
    const MOST: f64 = ANGLE_MAX_DEG;
}

/// A number, or none where the leg goes as far as allowed.
#[derive(Clone, Copy)]
struct Amount<M> {
    number: Option<f64>,
    measures: std::marker::PhantomData<M>,
}

impl<M> Amount<M> {
    fn number(number: Option<f64>) -> Self {
        Self {
            number,
            measures: std::marker::PhantomData,
        }
    }

    fn of(extent: Extent) -> Self {
        Self::number(extent.amount())
    }

    fn extent(self, up_to: bool) -> Extent {
        match self.number {
            Some(number) => Extent::new(number, up_to),
            None => Extent::AsFarAsAllowed,
        }
    }
}

impl<M> Serialize for Amount<M> {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        match self.number {
            Some(number) => serializer.serialize_f64(number),
            None => serializer.serialize_str(AS_FAR_AS_ALLOWED),
        }
    }
}

impl<'de, M> Deserialize<'de> for Amount<M> {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        deserializer
            .deserialize_any(AmountVisitor)
            .map(Self::number)
    }
}

struct AmountVisitor;

impl Visitor<'_> for AmountVisitor {
    type Value = Option<f64>;

    fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "a number, or {AS_FAR_AS_ALLOWED:?}")
    }

    fn visit_f64<E: de::Error>(self, number: f64) -> Result<Self::Value, E> {
        Ok(Some(number))
    }

    #[expect(
        clippy::cast_precision_loss,
        reason = "as serde reads a number for an f64"
    )]
    fn visit_u64<E: de::Error>(self, number: u64) -> Result<Self::Value, E> {
        Ok(Some(number as f64))
    }

    #[expect(
        clippy::cast_precision_loss,
        reason = "as serde reads a number for an f64"
    )]
    fn visit_i64<E: de::Error>(self, number: i64) -> Result<Self::Value, E> {
        Ok(Some(number as f64))
    }

    fn visit_str<E: de::Error>(self, word: &str) -> Result<Self::Value, E> {
        if word == AS_FAR_AS_ALLOWED {
            Ok(None)
        } else {
            Err(E::invalid_value(de::Unexpected::Str(word), &self))
        }
    }
}

impl<M: Measured> JsonSchema for Amount<M> {
    fn schema_name() -> Cow<'static, str> {
        M::NAME.into()
    }

    fn inline_schema() -> bool {
        true
    }

    fn json_schema(_: &mut SchemaGenerator) -> Schema {
        json_schema!({
            "anyOf": [
                // A sheet with another figure is read and answered, so this is no bound of the data.
                {
                    "type": "number",
                    "format": "double",
                    "description": format!("From 0 to {}; the referee refuses others.", M::MOST),
                },
                {"type": "string", "const": AS_FAR_AS_ALLOWED},
            ]
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use serde_json::{Value, json};

    fn read(data: &Value) -> Result<Leg, String> {
        serde_json::from_value(data.clone()).map_err(|error| error.to_string())
    }

    #[test]
    fn each_extent_is_written_in_its_own_way_and_read_back() {
        for (extent, data) in [
            (
                Extent::Exactly(120.0),
                json!({"leg": "forward", "distance_mm": 120.0}),
            ),
            (
                Extent::UpTo(120.0),
                json!({"leg": "forward", "distance_mm": 120.0, "up_to": true}),
            ),
            (
                Extent::AsFarAsAllowed,
                json!({"leg": "forward", "distance_mm": "as-far-as-allowed"}),
            ),
        ] {
            let leg = Leg::Forward {
                distance_mm: extent,
            };
            assert_eq!(serde_json::to_value(leg).expect("written"), data);
            assert_eq!(read(&data), Ok(leg));
        }
        let wheel = json!({"leg": "wheel", "side": "left", "angle_deg": "as-far-as-allowed"});
        let leg = read(&wheel).expect("a wheel");
        assert_eq!(leg.extent(), Some(Extent::AsFarAsAllowed));
        assert_eq!(serde_json::to_value(leg).expect("written"), wheel);
    }

    #[test]
    fn whole_numbers_and_a_limit_said_twice_are_read() {
        let whole = read(&json!({"leg": "back", "distance_mm": 40, "up_to": false}));
        let distance_mm = Extent::Exactly(40.0);
        assert_eq!(whole, Ok(Leg::Back { distance_mm }));
        let twice = json!({"leg": "back", "distance_mm": "as-far-as-allowed", "up_to": true});
        let distance_mm = Extent::AsFarAsAllowed;
        assert_eq!(read(&twice), Ok(Leg::Back { distance_mm }));
    }

    #[test]
    fn an_amount_left_out_or_misspelt_is_no_leave_to_go_as_far_as_allowed() {
        for data in [
            json!({"leg": "forward"}),
            json!({"leg": "forward", "up_to": true}),
            json!({"leg": "forward", "distance_mm": null}),
            json!({"leg": "forward", "distance_mm": "far"}),
            json!({"leg": "align", "side": "left", "angle_deg": "as-far-as-allowed"}),
            json!({"leg": "forward", "distance_mm": 1, "speed": 2}),
        ] {
            read(&data).expect_err("not a leg");
        }
        let far = read(&json!({"leg": "forward", "distance_mm": "far"})).expect_err("not a leg");
        assert!(far.contains("\"as-far-as-allowed\""), "{far}");
    }

    #[test]
    fn the_schema_names_the_bounds_and_the_words() {
        let schema = schemars::schema_for!(Leg);
        let text = serde_json::to_string(&schema).expect("a schema");
        assert!(text.contains("as-far-as-allowed"), "{text}");
        assert!(text.contains("From 0 to 100000;"), "{text}");
        assert!(text.contains("From 0 to 360;"), "{text}");
    }
}

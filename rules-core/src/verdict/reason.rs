//! Why an order is marginal or refused: always a limit and a measurement.

use std::borrow::Cow;

use schemars::{JsonSchema, Schema, SchemaGenerator, json_schema};
use serde::{Deserialize, Deserializer, Serialize, Serializer};

use crate::geometry::ARITHMETIC;

use super::rounding::to_hundredths;
use super::{Place, Ruling, sentences};

/// Stable codes of reasons, in order of precedence: the first is the headline.
#[derive(
    Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize, JsonSchema,
)]
#[serde(rename_all = "kebab-case")]
pub enum Code {
    /// The sheet is for another turn or side, or the game is over.
    NotInPhase,
    /// No unit has that id, or it is not on the table.
    NoSuchUnit,
    /// It belongs to the other side.
    NotYourUnit,
    /// It has an order already.
    MovedAlready,
    /// The ruleset has no such law, or the leg or order cannot be carried out by this unit.
    NotPossible,
    /// A unit locked in an enemy halt zone may not make this leg.
    Locked,
    /// A unit out of command may not enter or close within an enemy halt zone.
    OutOfCommand,
    /// An oblique or aligning is wider than allowed.
    AngleTooLarge,
    /// The move leaves the table.
    OffTable,
    /// It overlaps an impassable patch.
    Impassable,
    /// It overlaps an enemy.
    EnemyContact,
    /// It goes on within an enemy halt zone that it must stop at.
    EnemyZone,
    /// It costs more than the allowance.
    OverAllowance,
    /// It overlaps a friend where it may not.
    EndsOnFriend,
    /// An attacker does not have a defender in its strike zone.
    NotInStrikeZone,
    /// A unit with an enemy in its strike zone does not attack.
    MustAttack,
    /// An enemy in a strike zone is not attacked.
    MustBeAttacked,
    /// A unit is in more than one battle.
    AttacksTwice,
    /// A target is beyond range.
    OutOfRange,
    /// A gun in an enemy strike zone may not bombard.
    GunInZone,
    /// A bombardment needs a battle that another unit fights.
    NoJoiningAttack,
    /// A unit that bombards is no gun.
    NotAGun,
    /// The target is not in sight.
    NotInSight,
}

impl Code {
    /// The code as programs see it.
    #[must_use]
    pub fn as_str(self) -> &'static str {
        match self {
            Self::NotInPhase => "not-in-phase",
            Self::NoSuchUnit => "no-such-unit",
            Self::NotYourUnit => "not-your-unit",
            Self::MovedAlready => "moved-already",
            Self::NotPossible => "not-possible",
            Self::Locked => "locked",
            Self::OutOfCommand => "out-of-command",
            Self::AngleTooLarge => "angle-too-large",
            Self::OffTable => "off-table",
            Self::Impassable => "impassable",
            Self::EnemyContact => "enemy-contact",
            Self::EnemyZone => "enemy-zone",
            Self::OverAllowance => "over-allowance",
            Self::EndsOnFriend => "ends-on-friend",
            Self::NotInStrikeZone => "not-in-strike-zone",
            Self::MustAttack => "must-attack",
            Self::MustBeAttacked => "must-be-attacked",
            Self::AttacksTwice => "attacks-twice",
            Self::OutOfRange => "out-of-range",
            Self::GunInZone => "gun-in-zone",
            Self::NoJoiningAttack => "no-joining-attack",
            Self::NotAGun => "not-a-gun",
            Self::NotInSight => "not-in-sight",
        }
    }
}

/// What was measured against which limit.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Amounts {
    /// Millimetres of table or of allowance.
    Millimetres {
        /// The limit.
        limit: f64,
        /// The measurement.
        measured: f64,
    },
    /// Degrees.
    Degrees {
        /// The limit.
        limit: f64,
        /// The measurement.
        measured: f64,
    },
    /// No figures: what a law forbids whatever is measured, or what cannot be at all. Always refused.
    Unmeasured,
    /// Things counted: game turns, orders, units. Counts have no tolerance.
    Count {
        /// The limit.
        limit: u32,
        /// The count.
        measured: u32,
    },
}

/// A point on the ordered path.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct PathPoint {
    /// Number of the leg, from 0.
    pub leg: usize,
    /// Millimetres of that leg's tape up to it.
    #[serde(with = "super::rounding::hundredths")]
    #[schemars(with = "f64")]
    pub along_mm: f64,
    /// Millimetres east.
    #[serde(with = "super::rounding::hundredths")]
    #[schemars(with = "f64")]
    pub x_mm: f64,
    /// Millimetres north.
    #[serde(with = "super::rounding::hundredths")]
    #[schemars(with = "f64")]
    pub y_mm: f64,
    /// Degrees clockwise from north.
    #[serde(with = "super::rounding::hundredths")]
    #[schemars(with = "f64")]
    pub bearing_deg: f64,
}

impl PathPoint {
    /// The pose `along_mm` into leg `leg`.
    #[must_use]
    pub fn new(leg: usize, along_mm: f64, place: Place) -> Self {
        Self {
            leg,
            along_mm,
            x_mm: place.x_mm,
            y_mm: place.y_mm,
            bearing_deg: place.bearing_deg,
        }
    }

    /// Whether it comes before another point of the same path.
    #[must_use]
    pub fn is_before(&self, other: &Self) -> bool {
        (self.leg, self.along_mm) < (other.leg, other.along_mm)
    }

    /// Where it is.
    #[must_use]
    pub fn place(&self) -> Place {
        Place {
            x_mm: self.x_mm,
            y_mm: self.y_mm,
            bearing_deg: self.bearing_deg,
        }
    }
}

/// One limit broken, or one thing done that is forbidden whatever is measured. All constructors but that of the
/// latter take a limit and a measurement.
#[derive(Debug, Clone, PartialEq)]
pub struct Reason {
    code: Code,
    amounts: Amounts,
    excess: f64,
    ruling: Ruling,
    at: Option<PathPoint>,
    with: Option<String>,
    note: Option<String>,
}

impl Reason {
    /// A measured length that should not be more than the limit. `None` when it is not.
    #[must_use]
    pub fn length_over(code: Code, limit_mm: f64, measured_mm: f64, tolerance_mm: f64) -> Self {
        Self::measured(
            code,
            Amounts::Millimetres {
                limit: limit_mm,
                measured: measured_mm,
            },
            measured_mm - limit_mm,
            tolerance_mm,
        )
    }

    /// A measured length that is over the limit, but granted by the tolerance of something else: always marginal.
    #[must_use]
    pub fn length_granted(code: Code, limit_mm: f64, measured_mm: f64) -> Self {
        Self::length_over(code, limit_mm, measured_mm, f64::INFINITY)
    }

    /// A measured length that should not be less than the limit.
    #[must_use]
    pub fn length_under(code: Code, limit_mm: f64, measured_mm: f64, tolerance_mm: f64) -> Self {
        Self::measured(
            code,
            Amounts::Millimetres {
                limit: limit_mm,
                measured: measured_mm,
            },
            limit_mm - measured_mm,
            tolerance_mm,
        )
    }

    /// A measured angle that should not be more than the limit. Its tolerance is an angle too:
    /// what the tolerance subtends at the unit's half frontage.
    #[must_use]
    pub fn angle_over(code: Code, limit_deg: f64, measured_deg: f64, tolerance_deg: f64) -> Self {
        Self::measured(
            code,
            Amounts::Degrees {
                limit: limit_deg,
                measured: measured_deg,
            },
            measured_deg - limit_deg,
            tolerance_deg,
        )
    }

    /// What a law forbids, whatever is measured, or what cannot be at all: a refusal without figures.
    #[must_use]
    pub fn forbidden(code: Code) -> Self {
        Self {
            code,
            amounts: Amounts::Unmeasured,
            excess: 0.0,
            ruling: Ruling::Refused,
            at: None,
            with: None,
            note: None,
        }
    }

    /// Whether it has no figures: no limit was measured.
    #[must_use]
    pub fn is_without_figures(&self) -> bool {
        self.amounts == Amounts::Unmeasured
    }

    /// A count that is not what it must be. Always refused.
    #[must_use]
    pub fn count(code: Code, limit: u32, measured: u32) -> Self {
        Self {
            code,
            amounts: Amounts::Count { limit, measured },
            excess: f64::from(measured.abs_diff(limit)),
            ruling: Ruling::Refused,
            at: None,
            with: None,
            note: None,
        }
    }

    fn measured(code: Code, amounts: Amounts, excess: f64, tolerance: f64) -> Self {
        Self {
            code,
            amounts,
            excess: if excess > 0.0 { excess } else { 0.0 },
            ruling: if excess > tolerance + ARITHMETIC {
                Ruling::Refused
            } else {
                Ruling::Marginal
            },
            at: None,
            with: None,
            note: None,
        }
    }

    /// Adds the point on the path at which the limit was reached.
    #[must_use]
    pub fn at(mut self, at: PathPoint) -> Self {
        self.at = Some(at);
        self
    }

    /// Adds the other party: an enemy's id, a patch's name, an edge.
    #[must_use]
    pub fn with(mut self, other: impl Into<String>) -> Self {
        self.with = Some(other.into());
        self
    }

    /// Adds what the code alone does not say, as the end of a sentence.
    #[must_use]
    pub fn note(mut self, note: impl Into<String>) -> Self {
        self.note = Some(note.into());
        self
    }

    /// Its code.
    #[must_use]
    pub fn code(&self) -> Code {
        self.code
    }

    /// Limit and measurement.
    #[must_use]
    pub fn amounts(&self) -> Amounts {
        self.amounts
    }

    /// By how much the limit is broken, in the unit of the amounts.
    #[must_use]
    pub fn excess(&self) -> f64 {
        self.excess
    }

    /// Marginal or refused.
    #[must_use]
    pub fn ruling(&self) -> Ruling {
        self.ruling
    }

    /// The point on the path at which the limit was reached.
    #[must_use]
    pub fn place_on_path(&self) -> Option<&PathPoint> {
        self.at.as_ref()
    }

    /// The other party.
    #[must_use]
    pub fn other(&self) -> Option<&str> {
        self.with.as_deref()
    }

    /// What the code alone does not say.
    #[must_use]
    pub fn remark(&self) -> Option<&str> {
        self.note.as_deref()
    }

    /// The reason as a sentence.
    #[must_use]
    pub fn text(&self) -> String {
        sentences::of(self)
    }
}

/// The wire form; which keys stand depends on the kind of amounts.
#[derive(Serialize, Deserialize, Default)]
#[serde(deny_unknown_fields, default)]
struct Wire {
    code: Option<Code>,
    ruling: Option<Ruling>,
    #[serde(skip_serializing_if = "Option::is_none")]
    limit_mm: Option<f64>,
    #[serde(skip_serializing_if = "Option::is_none")]
    measured_mm: Option<f64>,
    #[serde(skip_serializing_if = "Option::is_none")]
    excess_mm: Option<f64>,
    #[serde(skip_serializing_if = "Option::is_none")]
    limit_deg: Option<f64>,
    #[serde(skip_serializing_if = "Option::is_none")]
    measured_deg: Option<f64>,
    #[serde(skip_serializing_if = "Option::is_none")]
    excess_deg: Option<f64>,
    #[serde(skip_serializing_if = "Option::is_none")]
    limit: Option<u32>,
    #[serde(skip_serializing_if = "Option::is_none")]
    measured: Option<u32>,
    #[serde(skip_serializing_if = "Option::is_none")]
    excess: Option<u32>,
    #[serde(skip_serializing_if = "Option::is_none")]
    at: Option<PathPoint>,
    #[serde(skip_serializing_if = "Option::is_none")]
    with: Option<String>,
    #[serde(skip_serializing_if = "Option::is_none")]
    note: Option<String>,
    text: String,
}

impl Serialize for Reason {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        let mut wire = Wire {
            code: Some(self.code),
            ruling: Some(self.ruling),
            at: self.at,
            with: self.with.clone(),
            note: self.note.clone(),
            text: self.text(),
            ..Wire::default()
        };
        let excess = Some(to_hundredths(self.excess));
        match self.amounts {
            Amounts::Millimetres { limit, measured } => {
                wire.limit_mm = Some(to_hundredths(limit));
                wire.measured_mm = Some(to_hundredths(measured));
                wire.excess_mm = excess;
            }
            Amounts::Degrees { limit, measured } => {
                wire.limit_deg = Some(to_hundredths(limit));
                wire.measured_deg = Some(to_hundredths(measured));
                wire.excess_deg = excess;
            }
            Amounts::Unmeasured => {}
            Amounts::Count { limit, measured } => {
                wire.limit = Some(limit);
                wire.measured = Some(measured);
                wire.excess = Some(measured.abs_diff(limit));
            }
        }
        wire.serialize(serializer)
    }
}

/// The schema of what [`Wire`] writes.
impl JsonSchema for Reason {
    fn schema_name() -> Cow<'static, str> {
        "Reason".into()
    }

    fn json_schema(generator: &mut SchemaGenerator) -> Schema {
        json_schema!({
            "description": "Why an order is marginal or refused: a limit and a measurement, in millimetres, degrees or as counts; or, without figures, what is forbidden whatever is measured.",
            "type": "object",
            "required": ["code", "ruling", "text"],
            "properties": {
                "code": generator.subschema_for::<Code>(),
                "ruling": generator.subschema_for::<Ruling>(),
                "limit_mm": {"type": "number"},
                "measured_mm": {"type": "number"},
                "excess_mm": {"type": "number"},
                "limit_deg": {"type": "number"},
                "measured_deg": {"type": "number"},
                "excess_deg": {"type": "number"},
                "limit": {"type": "integer", "minimum": 0},
                "measured": {"type": "integer", "minimum": 0},
                "excess": {"type": "integer", "minimum": 0},
                "at": generator.subschema_for::<PathPoint>(),
                "with": {"type": "string", "description": "The other party."},
                "note": {"type": "string", "description": "What the code alone does not say."},
                "text": {"type": "string", "description": "The reason as a sentence."},
            },
            "additionalProperties": false,
            "oneOf": [
                {"required": ["limit_mm", "measured_mm", "excess_mm"]},
                {"required": ["limit_deg", "measured_deg", "excess_deg"]},
                {"required": ["limit", "measured", "excess"]},
                {"not": {"anyOf": [
                    {"required": ["limit_mm"]},
                    {"required": ["limit_deg"]},
                    {"required": ["limit"]},
                ]}},
            ],
        })
    }
}

impl<'de> Deserialize<'de> for Reason {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        use serde::de::Error;
        let wire = Wire::deserialize(deserializer)?;
        let amounts = match wire {
            Wire {
                limit_mm: Some(limit),
                measured_mm: Some(measured),
                ..
            } => Amounts::Millimetres { limit, measured },
            Wire {
                limit_deg: Some(limit),
                measured_deg: Some(measured),
                ..
            } => Amounts::Degrees { limit, measured },
            Wire {
                limit: Some(limit),
                measured: Some(measured),
                ..
            } => Amounts::Count { limit, measured },
            Wire {
                limit_mm: None,
                measured_mm: None,
                excess_mm: None,
                limit_deg: None,
                measured_deg: None,
                excess_deg: None,
                limit: None,
                measured: None,
                excess: None,
                ..
            } => Amounts::Unmeasured,
            _ => {
                return Err(D::Error::custom(
                    "a reason with a limit needs a measurement of it",
                ));
            }
        };
        Ok(Self {
            code: wire.code.ok_or_else(|| D::Error::missing_field("code"))?,
            amounts,
            excess: wire
                .excess_mm
                .or(wire.excess_deg)
                .or(wire.excess.map(f64::from))
                .or((amounts == Amounts::Unmeasured).then_some(0.0))
                .ok_or_else(|| D::Error::missing_field("excess"))?,
            ruling: wire
                .ruling
                .ok_or_else(|| D::Error::missing_field("ruling"))?,
            at: wire.at,
            with: wire.with,
            note: wire.note,
        })
    }
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;

    proptest! {
        /// A record's text must stay the same when it is read and written again: tenths of the exact figure
        /// are not always tenths of its hundredths (12.345 is 12.3, but 12.35 is 12.4).
        #[test]
        fn a_reason_read_back_is_written_the_same(limit in 0.0..500.0f64, over in 0.0..90.0f64) {
            let at = PathPoint { leg: 1, along_mm: over, x_mm: limit, y_mm: over, bearing_deg: over };
            for reason in [
                Reason::length_over(Code::OverAllowance, limit, limit + over, 0.5),
                Reason::length_under(Code::EnemyZone, limit, limit - over, 0.5).with("blue-1"),
                Reason::angle_over(Code::AngleTooLarge, limit, limit + over, 0.5),
                Reason::forbidden(Code::Locked).with("blue-1").note("why"),
            ] {
                let written = serde_json::to_string(&reason.at(at)).expect("json");
                let read: Reason = serde_json::from_str(&written).expect("a reason");
                prop_assert_eq!(serde_json::to_string(&read).expect("json"), written);
            }
        }
    }

    /// What records hold from before refusals without figures were a kind of their own stays what it was.
    #[test]
    fn counts_of_older_records_are_read_as_they_were_written() {
        let written = r#"{"code":"locked","ruling":"refused","limit":0,"measured":1,"excess":1,"with":"b1","note":"\"about\" is neither aligning nor closing straight in","text":"It began in the halt zone of b1 and may only align or close straight in: \"about\" is neither aligning nor closing straight in."}"#;
        let read: Reason = serde_json::from_str(written).expect("a reason");
        assert_eq!(
            read.amounts(),
            Amounts::Count {
                limit: 0,
                measured: 1
            }
        );
        assert_eq!(serde_json::to_string(&read).expect("json"), written);
        let half = r#"{"code":"locked","ruling":"refused","limit":0,"text":""}"#;
        assert!(serde_json::from_str::<Reason>(half).is_err());
    }

    /// Whatever number an order holds, what is said of it is data: a rounding once made infinities of it.
    #[test]
    fn a_reason_of_a_huge_figure_is_read_back() {
        for figure in [1e12, 1e300, f64::MAX] {
            let reason = Reason::length_over(Code::NotPossible, 1e6, figure, 0.0);
            let written = serde_json::to_string(&reason).expect("json");
            let read: Reason = serde_json::from_str(&written).expect("a reason");
            assert_eq!(serde_json::to_string(&read).expect("json"), written);
            assert!(written.len() < 300, "{written}");
        }
    }
}

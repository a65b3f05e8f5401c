//! What was measured between two units: distance, zones, arcs, cover, sight, command.

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use crate::geometry::Point;
use crate::orders::UnitId;

use super::rounding::{hundredths, hundredths_if_any};

/// A place on the table as people see it.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Spot {
    /// Millimetres east.
    #[serde(with = "hundredths")]
    #[schemars(with = "f64")]
    pub x_mm: f64,
    /// Millimetres north.
    #[serde(with = "hundredths")]
    #[schemars(with = "f64")]
    pub y_mm: f64,
}

impl From<Point> for Spot {
    fn from(point: Point) -> Self {
        Self {
            x_mm: point.x,
            y_mm: point.y,
        }
    }
}

impl From<Spot> for Point {
    fn from(spot: Spot) -> Self {
        Self::new(spot.x_mm, spot.y_mm)
    }
}

/// Everything the rules would measure between two units.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Measurement {
    /// Shortest distance between the footprints; 0 when they touch or overlap.
    #[serde(with = "hundredths")]
    #[schemars(with = "f64")]
    pub distance_mm: f64,
    /// Where the shortest tape lies: on the first unit, then on the second.
    pub nearest: [Spot; 2],
    /// Whether they are of different sides.
    pub enemies: bool,
    /// The first unit in regard to the second, then the second to the first.
    pub regards: [Regard; 2],
}

/// One unit in regard to another.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Regard {
    /// Who.
    pub unit: UnitId,
    /// In regard to whom.
    pub other: UnitId,
    /// Bearing of the other's middle from its own, in degrees clockwise from north.
    #[serde(with = "hundredths")]
    #[schemars(with = "f64")]
    pub bearing_deg: f64,
    /// The same from straight ahead: clockwise positive, from −180 to 180 degrees.
    #[serde(with = "hundredths")]
    #[schemars(with = "f64")]
    pub off_ahead_deg: f64,
    /// What of the other it can face by a wheel: its middle, then its corners clockwise from the front left one.
    #[serde(default)]
    pub aims: Vec<Aim>,
    /// In which arc of the unit the other's front edge has its midpoint: from where it would attack.
    pub arc: Arc,
    /// Whether the other is within its halt zone; absent between friends and when it has none.
    pub halt_zone: Option<Within>,
    /// Whether the other is within its strike zone; absent between friends and without strength.
    pub strike_zone: Option<Within>,
    /// Whether the other is within its bombardment; absent between friends and for all but guns.
    pub bombardment: Option<Within>,
    /// Whether the other is within the farthest range band of its own fire; absent without that law.
    pub fire: Option<Within>,
    /// Whether it sees the other; absent in rulesets without sight.
    pub sight: Option<SightMeasured>,
    /// What would help or hurt it if the other attacked from where it stands; absent between friends.
    pub cover: Vec<Cover>,
    /// Its command.
    pub command: CommandMeasured,
}

/// A point of another unit, and the wheels after which the line straight ahead of a unit's anchor meets it.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Aim {
    /// Which point.
    pub point: AimPoint,
    /// Where it is.
    pub at: Spot,
    /// Its bearing from the unit's anchor, in degrees clockwise from north.
    #[serde(with = "hundredths")]
    #[schemars(with = "f64")]
    pub bearing_deg: f64,
    /// Its distance from the anchor.
    #[serde(with = "hundredths")]
    #[schemars(with = "f64")]
    pub distance_mm: f64,
    /// The wheel to the left that faces it, in degrees and whole millionths of one; absent where none does.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub wheel_left_deg: Option<f64>,
    /// The wheel to the right that does.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub wheel_right_deg: Option<f64>,
}

/// A point of a footprint.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum AimPoint {
    /// The middle of the footprint.
    Middle,
    /// The front left corner.
    FrontLeft,
    /// The front right corner.
    FrontRight,
    /// The rear right corner.
    RearRight,
    /// The rear left corner.
    RearLeft,
}

impl AimPoint {
    /// In words.
    #[must_use]
    pub fn words(self) -> &'static str {
        match self {
            Self::Middle => "middle",
            Self::FrontLeft => "front left corner",
            Self::FrontRight => "front right corner",
            Self::RearRight => "rear right corner",
            Self::RearLeft => "rear left corner",
        }
    }
}

/// The part of a unit's surroundings.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum Arc {
    /// Before it.
    Front,
    /// Beside it.
    Flank,
    /// Behind the line of its rear edge.
    Rear,
}

/// A distance against a limit.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Within {
    /// Whether it is within.
    pub within: bool,
    /// The limit.
    #[serde(with = "hundredths")]
    #[schemars(with = "f64")]
    pub limit_mm: f64,
    /// The distance as this limit measures it; absent when no part can be within: zones that look
    /// ahead only, and nothing of the other ahead.
    #[serde(with = "hundredths_if_any")]
    #[schemars(with = "Option<f64>")]
    pub measured_mm: Option<f64>,
}

/// A line of sight.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct SightMeasured {
    /// Whether the other is in sight.
    pub clear: bool,
    /// Length of the string from the midpoint of its front edge.
    #[serde(with = "hundredths")]
    #[schemars(with = "f64")]
    pub string_mm: f64,
    /// How far the string runs clear.
    #[serde(with = "hundredths")]
    #[schemars(with = "f64")]
    pub clear_mm: f64,
    /// What stops it.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub by: Option<String>,
}

/// Ground that changes a battle.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Cover {
    /// A patch it stands on or a line it stands behind.
    pub ground: String,
    /// Whether it is a line.
    pub line: bool,
    /// Factor on its strength.
    pub factor: f64,
    /// Columns; negative favours it.
    pub shift: i32,
}

/// A unit's command.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct CommandMeasured {
    /// Whether it is in command as it stands.
    pub in_command: bool,
    /// The commander measured to; absent when it needs none or there is none on the table.
    pub commander: Option<UnitId>,
    /// Distance to that commander, base to base.
    #[serde(with = "hundredths")]
    #[schemars(with = "f64")]
    pub distance_mm: f64,
    /// That commander's radius.
    #[serde(with = "hundredths")]
    #[schemars(with = "f64")]
    pub radius_mm: f64,
}

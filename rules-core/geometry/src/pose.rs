//! Where a unit stands: stored in whole quanta, computed in floats.

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use super::{Point, Vector};

/// A full turn in micro-degrees.
const FULL_TURN_UDEG: i64 = 360_000_000;
const QUARTER_TURN_UDEG: i64 = 90_000_000;

/// A stored pose: the midpoint of the front edge and the bearing, in whole quanta, so that a
/// record replays to the same table to the bit.
#[derive(
    Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize, JsonSchema,
)]
#[serde(deny_unknown_fields)]
pub struct Pose {
    /// Micrometres east of the table's south-west corner.
    pub x_um: i32,
    /// Micrometres north of it.
    pub y_um: i32,
    /// Micro-degrees clockwise from north, in `0..360_000_000`.
    pub bearing_udeg: i32,
}

/// A pose in floats: what legs are computed with between two stored poses.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Placement {
    /// Midpoint of the front edge.
    pub anchor: Point,
    /// Unit vector straight ahead.
    pub ahead: Vector,
}

impl Pose {
    /// The pose nearest to the given millimetres and degrees; `None` when a number is not
    /// finite or out of reach (±2 147 mm × 1000 for places, any finite bearing).
    #[must_use]
    pub fn from_mm_deg(x_mm: f64, y_mm: f64, bearing_deg: f64) -> Option<Self> {
        Some(
            Self {
                x_um: quanta(x_mm * 1e3)?,
                y_um: quanta(y_mm * 1e3)?,
                bearing_udeg: quanta((bearing_deg % 360.0) * 1e6)?,
            }
            .normalised(),
        )
    }

    /// The same pose with its bearing brought into `0..360°`.
    #[must_use]
    pub fn normalised(self) -> Self {
        let bearing = i64::from(self.bearing_udeg).rem_euclid(FULL_TURN_UDEG);
        Self {
            // rem_euclid of 360e6 fits an i32
            bearing_udeg: i32::try_from(bearing).unwrap_or(0),
            ..self
        }
    }

    /// Millimetres east.
    #[must_use]
    pub fn x_mm(self) -> f64 {
        f64::from(self.x_um) / 1e3
    }

    /// Millimetres north.
    #[must_use]
    pub fn y_mm(self) -> f64 {
        f64::from(self.y_um) / 1e3
    }

    /// Degrees clockwise from north.
    #[must_use]
    pub fn bearing_deg(self) -> f64 {
        f64::from(self.bearing_udeg) / 1e6
    }

    /// This pose in floats. Quarter turns are exact: the quadrant is taken from the integer.
    #[must_use]
    pub fn placement(self) -> Placement {
        let bearing = i64::from(self.bearing_udeg).rem_euclid(FULL_TURN_UDEG);
        let quadrant = bearing / QUARTER_TURN_UDEG;
        #[expect(clippy::cast_precision_loss, reason = "below 90e6, exact in f64")]
        let within_deg = (bearing % QUARTER_TURN_UDEG) as f64 / 1e6;
        let mut ahead = Vector::along_bearing(within_deg.to_radians());
        for _ in 0..quadrant {
            ahead = ahead.quarter_right();
        }
        Placement {
            anchor: Point::new(self.x_mm(), self.y_mm()),
            ahead,
        }
    }

    /// The pose turned clockwise by whole quarters about a point given in floats is not exact;
    /// this turns only the bearing.
    #[must_use]
    pub fn with_bearing_turned(self, clockwise_udeg: i32) -> Self {
        let bearing = i64::from(self.bearing_udeg) + i64::from(clockwise_udeg);
        Self {
            bearing_udeg: i32::try_from(bearing.rem_euclid(FULL_TURN_UDEG)).unwrap_or(0),
            ..self
        }
    }
}

impl Placement {
    /// Unit vector to the unit's right.
    #[must_use]
    pub fn right(&self) -> Vector {
        self.ahead.quarter_right()
    }

    /// Bearing in degrees clockwise from north, in `[0, 360)`.
    #[must_use]
    pub fn bearing_deg(&self) -> f64 {
        let degrees = self.ahead.bearing_rad().to_degrees();
        let round = if degrees < 0.0 {
            degrees + 360.0
        } else {
            degrees
        };
        // a hair west of north rounds up to a full turn
        if round < 360.0 { round } else { 0.0 }
    }

    /// The nearest stored pose; `None` when it would lie out of reach of an `i32`.
    #[must_use]
    pub fn rounded(&self) -> Option<Pose> {
        Pose::from_mm_deg(self.anchor.x, self.anchor.y, self.bearing_deg())
    }

    /// This placement shifted.
    #[must_use]
    pub fn shifted(&self, by: Vector) -> Self {
        Self {
            anchor: self.anchor + by,
            ahead: self.ahead,
        }
    }

    /// This placement turned clockwise about a pivot.
    #[must_use]
    pub fn turned_about(&self, pivot: Point, clockwise_rad: f64) -> Self {
        Self {
            anchor: self.anchor.turned_about(pivot, clockwise_rad),
            ahead: self.ahead.turned(clockwise_rad),
        }
    }
}

fn quanta(value: f64) -> Option<i32> {
    let rounded = value.round();
    let in_reach = rounded >= f64::from(i32::MIN) && rounded <= f64::from(i32::MAX);
    #[expect(clippy::cast_possible_truncation, reason = "range checked above")]
    in_reach.then_some(rounded as i32)
}

//! The tape: the track of one point, straight or along an arc.

use super::Point;

/// The track of one point during one motion.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Path {
    /// A straight tape.
    Straight {
        /// Where it begins.
        from: Point,
        /// Where it ends.
        to: Point,
    },
    /// An arc of a circle.
    Arc {
        /// Centre of the circle.
        centre: Point,
        /// Where the arc begins.
        from: Point,
        /// How far it goes round, clockwise positive.
        clockwise_rad: f64,
    },
}

impl Path {
    /// Length along the tape in millimetres; of an arc, radius × angle.
    #[must_use]
    pub fn length_mm(&self) -> f64 {
        match *self {
            Self::Straight { from, to } => from.distance_to(to),
            Self::Arc {
                centre,
                from,
                clockwise_rad,
            } => centre.distance_to(from) * clockwise_rad.abs(),
        }
    }

    /// The point a share of the way along.
    #[must_use]
    pub fn at(&self, share: f64) -> Point {
        match *self {
            Self::Straight { from, to } if share < 1.0 => from.towards(to, share),
            Self::Straight { to, .. } => to,
            Self::Arc {
                centre,
                from,
                clockwise_rad,
            } => from.turned_about(centre, clockwise_rad * share),
        }
    }

    /// The first part of it.
    #[must_use]
    pub fn part(&self, share: f64) -> Self {
        match *self {
            Self::Straight { from, .. } => Self::Straight {
                from,
                to: self.at(share),
            },
            Self::Arc {
                centre,
                from,
                clockwise_rad,
            } => Self::Arc {
                centre,
                from,
                clockwise_rad: clockwise_rad * share,
            },
        }
    }

    /// Where the tape begins.
    #[must_use]
    pub fn start(&self) -> Point {
        match *self {
            Self::Straight { from, .. } | Self::Arc { from, .. } => from,
        }
    }

    /// Where the tape ends.
    #[must_use]
    pub fn end(&self) -> Point {
        self.at(1.0)
    }
}

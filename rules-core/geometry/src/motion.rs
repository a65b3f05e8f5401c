//! How a footprint moves in one leg: straight, or turning about a pivot.

use super::{Footprint, Path, Placement, Point, Vector};

/// One rigid motion of a footprint.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Motion {
    /// Shifted without turning.
    Straight {
        /// The whole displacement.
        by: Vector,
    },
    /// Turned about a fixed point.
    Turn {
        /// The point that stays.
        pivot: Point,
        /// The whole turn, clockwise positive; up to a full turn either way.
        clockwise_rad: f64,
    },
}

impl Motion {
    /// The footprint when a share of the motion is done; share 1 is the exact end.
    #[must_use]
    pub fn footprint_at(&self, start: &Footprint, share: f64) -> Footprint {
        match *self {
            Self::Straight { by } => start.shifted(by * share),
            Self::Turn {
                pivot,
                clockwise_rad,
            } => start.turned_about(pivot, clockwise_rad * share),
        }
    }

    /// The placement when a share of the motion is done; share 1 is the exact end.
    #[must_use]
    pub fn placement_at(&self, start: &Placement, share: f64) -> Placement {
        match *self {
            Self::Straight { by } => start.shifted(by * share),
            Self::Turn {
                pivot,
                clockwise_rad,
            } => start.turned_about(pivot, clockwise_rad * share),
        }
    }

    /// The first part of the motion.
    #[must_use]
    pub fn part(&self, share: f64) -> Self {
        match *self {
            Self::Straight { by } => Self::Straight { by: by * share },
            Self::Turn {
                pivot,
                clockwise_rad,
            } => Self::Turn {
                pivot,
                clockwise_rad: clockwise_rad * share,
            },
        }
    }

    /// The track of a point that moves along.
    #[must_use]
    pub fn track_of(&self, point: Point) -> Path {
        match *self {
            Self::Straight { by } => Path::Straight {
                from: point,
                to: point + by,
            },
            Self::Turn {
                pivot,
                clockwise_rad,
            } => Path::Arc {
                centre: pivot,
                from: point,
                clockwise_rad,
            },
        }
    }

    /// The motion as the mover sees the table: what stands still moves the opposite way.
    /// At every share, a fixed point lies to the moved footprint as its track under the
    /// reversed motion lies to the footprint at its start.
    #[must_use]
    pub fn reversed(&self) -> Self {
        match *self {
            Self::Straight { by } => Self::Straight { by: -by },
            Self::Turn {
                pivot,
                clockwise_rad,
            } => Self::Turn {
                pivot,
                clockwise_rad: -clockwise_rad,
            },
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::Block;

    #[test]
    fn a_quarter_wheel_right_about_the_front_right_corner() {
        let start = Footprint::new(
            &Placement {
                anchor: Point::new(100.0, 100.0),
                ahead: Vector::new(0.0, 1.0),
            },
            Block {
                frontage_mm: 80.0,
                depth_mm: 40.0,
            },
        );
        let pivot = start.front_right();
        assert_eq!(pivot, Point::new(140.0, 100.0));
        let wheel = Motion::Turn {
            pivot,
            clockwise_rad: std::f64::consts::FRAC_PI_2,
        };
        let end = wheel.footprint_at(&start, 1.0);
        // the front left corner has come round from west of the pivot to north of it
        assert!(end.front_left().distance_to(Point::new(140.0, 180.0)) < 1e-12);
        assert!(end.front_right().distance_to(pivot) < 1e-12);
        let tape = wheel.track_of(start.front_left());
        assert!((tape.length_mm() - 80.0 * std::f64::consts::FRAC_PI_2).abs() < 1e-12);
        assert!(tape.end().distance_to(end.front_left()) < 1e-12);
    }
}

//! Cheap answers first: whether a moving footprint can come near anything at all.

use super::{Footprint, Motion, Path, Point, Vector, larger, smaller};

/// An upright rectangle that holds something.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Bounds {
    /// South-west corner.
    pub low: Point,
    /// North-east corner.
    pub high: Point,
}

impl Bounds {
    /// The least upright rectangle about some points; empty (low above high) about none.
    #[must_use]
    pub fn about(points: &[Point]) -> Self {
        let mut bounds = Self {
            low: Point::new(f64::INFINITY, f64::INFINITY),
            high: Point::new(f64::NEG_INFINITY, f64::NEG_INFINITY),
        };
        for point in points {
            bounds.low = Point::new(
                smaller(bounds.low.x, point.x),
                smaller(bounds.low.y, point.y),
            );
            bounds.high = Point::new(
                larger(bounds.high.x, point.x),
                larger(bounds.high.y, point.y),
            );
        }
        bounds
    }

    /// This rectangle made larger on every side.
    #[must_use]
    pub fn widened(self, by_mm: f64) -> Self {
        let by = Vector::new(by_mm, by_mm);
        Self {
            low: self.low - by,
            high: self.high + by,
        }
    }

    /// Whether two rectangles share a point.
    #[must_use]
    pub fn meets(&self, other: &Self) -> bool {
        self.low.x <= other.high.x
            && other.low.x <= self.high.x
            && self.low.y <= other.high.y
            && other.low.y <= self.high.y
    }

    /// Whether a point lies in the rectangle or on its edge.
    #[must_use]
    pub fn holds(&self, point: Point) -> bool {
        self.low.x <= point.x
            && point.x <= self.high.x
            && self.low.y <= point.y
            && point.y <= self.high.y
    }
}

/// Whether boxes or circles alone show that the moving footprint stays farther than `reach_mm`
/// from the obstacle. Nearly all pairs on a table end here, most at the boxes.
pub(super) fn out_of_reach(
    moving: &Footprint,
    motion: &Motion,
    obstacle: &Footprint,
    reach_mm: f64,
) -> bool {
    boxes_apart(moving, motion, obstacle, reach_mm)
        || circles_apart(moving, motion, obstacle, reach_mm)
}

/// Additions and comparisons only: half frontage plus half depth bounds a footprint's radius.
fn boxes_apart(moving: &Footprint, motion: &Motion, obstacle: &Footprint, reach_mm: f64) -> bool {
    let near = moving.half_frontage
        + moving.half_depth
        + obstacle.half_frontage
        + obstacle.half_depth
        + reach_mm;
    let offset = obstacle.centre - moving.centre;
    let (low, high) = match *motion {
        Motion::Straight { by } => (
            Vector::new(smaller(by.x, 0.0), smaller(by.y, 0.0)),
            Vector::new(larger(by.x, 0.0), larger(by.y, 0.0)),
        ),
        Motion::Turn {
            pivot,
            clockwise_rad,
        } => {
            let arm = moving.centre - pivot;
            let travel = (arm.x.abs() + arm.y.abs()) * smaller(clockwise_rad.abs(), 2.0);
            (Vector::new(-travel, -travel), Vector::new(travel, travel))
        }
    };
    offset.x < low.x - near
        || offset.x > high.x + near
        || offset.y < low.y - near
        || offset.y > high.y + near
}

fn circles_apart(moving: &Footprint, motion: &Motion, obstacle: &Footprint, reach_mm: f64) -> bool {
    let near = moving.reach() + obstacle.reach() + reach_mm;
    let offset = obstacle.centre - moving.centre;
    match *motion {
        Motion::Straight { by } => {
            let squared = by.dot(by);
            let share = if squared > 0.0 {
                larger(smaller(offset.dot(by) / squared, 1.0), 0.0)
            } else {
                0.0
            };
            let nearest = offset - by * share;
            nearest.dot(nearest) > near * near
        }
        Motion::Turn {
            pivot,
            clockwise_rad,
        } => {
            let arm = (moving.centre - pivot).length();
            let travel = arm * smaller(clockwise_rad.abs(), 2.0);
            if offset.dot(offset) > (near + travel) * (near + travel) {
                return true;
            }
            let apart = (obstacle.centre - pivot).length();
            apart > arm + near || apart + near < arm
        }
    }
}

/// An upright rectangle that holds everything the moving footprint ever covers.
pub(super) fn swept_bounds(moving: &Footprint, motion: &Motion) -> Bounds {
    let reach = moving.reach();
    let centres = match *motion {
        Motion::Straight { by } => Bounds::about(&[moving.centre, moving.centre + by]),
        Motion::Turn { .. } => path_bounds(&motion.track_of(moving.centre)),
    };
    centres.widened(reach)
}

/// An upright rectangle that holds the path: exact when straight, of an arc the smaller of its
/// circle's and of its length's.
pub(super) fn path_bounds(path: &Path) -> Bounds {
    match *path {
        Path::Straight { from, to } => Bounds::about(&[from, to]),
        Path::Arc { centre, from, .. } => {
            let length = path.length_mm();
            let radius = centre.distance_to(from);
            let (round, near) = (
                Bounds::about(&[centre]).widened(radius),
                Bounds::about(&[from]).widened(length),
            );
            Bounds {
                low: Point::new(
                    larger(round.low.x, near.low.x),
                    larger(round.low.y, near.low.y),
                ),
                high: Point::new(
                    smaller(round.high.x, near.high.x),
                    smaller(round.high.y, near.high.y),
                ),
            }
        }
    }
}

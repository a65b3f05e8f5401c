//! A straight stretch: an edge of a polygon or a leg of a line, ready for many questions.

use super::figures::{MEETING_MM, SHALLOW};
use super::{Bounds, EPS_MM, Path, Point, Span, Vector, larger, smaller};

/// A straight stretch with its unit direction and normal.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Stretch {
    pub from: Point,
    pub to: Point,
    /// Unit vector from `from` to `to`.
    pub along: Vector,
    /// Unit vector to the left of `along`.
    pub left: Vector,
    /// Length in millimetres; not a number when the line is endless.
    pub length: f64,
}

impl Stretch {
    /// The stretch between two points; `None` when they coincide.
    pub fn between(from: Point, to: Point) -> Option<Self> {
        let along = (to - from).unit()?;
        Some(Self {
            from,
            to,
            along,
            left: -along.quarter_right(),
            length: from.distance_to(to),
        })
    }

    /// A line without ends through a point, square to a unit normal on its left.
    pub fn endless(through: Point, normal: Vector) -> Self {
        Self {
            from: through,
            to: through,
            along: normal.quarter_right(),
            left: normal,
            length: f64::NAN,
        }
    }

    /// Whether a point lies beside the stretch, its ends taken generously.
    pub fn reaches(&self, point: Point) -> bool {
        if self.length.is_nan() {
            return true;
        }
        let along = (point - self.from).dot(self.along);
        along >= -MEETING_MM && along <= self.length + MEETING_MM
    }

    /// The place on the stretch nearest to a point, in millimetres from its beginning.
    pub fn nearest_mm(&self, point: Point) -> f64 {
        larger(
            smaller((point - self.from).dot(self.along), self.length),
            0.0,
        )
    }

    /// Squared distance of a point from the stretch.
    pub fn distance_squared(&self, point: Point) -> f64 {
        let offset = point - self.from;
        let along = offset.dot(self.along);
        if along <= 0.0 {
            offset.dot(offset)
        } else if along >= self.length {
            let beyond = point - self.to;
            beyond.dot(beyond)
        } else {
            let across = offset.dot(self.left);
            across * across
        }
    }

    /// Whether the stretch comes near an upright rectangle, by its own upright rectangle.
    pub fn meets(&self, bounds: &Bounds) -> bool {
        Bounds::about(&[self.from, self.to]).meets(bounds)
    }

    /// The part of a straight path that merely runs along the stretch: within EPS of it, nearly
    /// parallel, and changing its distance by less than half of EPS over that part. A tape that
    /// passes through the band on its way across, however shallow, does not run along.
    pub fn run_along(&self, path: &Path) -> Option<Span> {
        let Path::Straight { from, to } = *path else {
            return None;
        };
        let step = to - from;
        let length = step.length();
        let (forward, drift) = (step.dot(self.along), step.dot(self.left));
        if length <= EPS_MM || drift.abs() > SHALLOW * length {
            return None;
        }
        let offset = from - self.from;
        let (first, last) = shares_between(offset.dot(self.along), forward, 0.0, self.length)?;
        let (near, far) = shares_between(offset.dot(self.left), drift, -EPS_MM, EPS_MM)?;
        let span = Span::new(
            larger(larger(first, near), 0.0),
            smaller(smaller(last, far), 1.0),
        );
        let runs = span.length() * length > EPS_MM && span.length() * drift.abs() < EPS_MM / 2.0;
        runs.then_some(span)
    }
}

/// The shares at which `start + speed × share` lies between two values.
fn shares_between(start: f64, speed: f64, low: f64, high: f64) -> Option<(f64, f64)> {
    if speed == 0.0 {
        return (start >= low && start <= high).then_some((f64::NEG_INFINITY, f64::INFINITY));
    }
    let (one, other) = ((low - start) / speed, (high - start) / speed);
    Some((smaller(one, other), larger(one, other)))
}

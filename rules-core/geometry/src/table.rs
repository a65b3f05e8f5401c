//! The table's edge: how far inside it a footprint stands, and when it goes beyond.

use super::crossing::meet_stretch;
use super::reach::swept_bounds;
use super::span::spans_where;
use super::stretch::Stretch;
use super::{Footprint, Motion, Point, Span, Vector, smaller};

/// The table: its south-west corner is the origin.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Table {
    /// West to east in millimetres.
    pub width_mm: f64,
    /// South to north in millimetres.
    pub depth_mm: f64,
}

impl Table {
    /// Least distance of a corner from the table's edge, measured inwards, in millimetres;
    /// negative when a corner is off the table, by how far.
    #[must_use]
    pub fn margin_mm(&self, footprint: &Footprint) -> f64 {
        let mut least = f64::INFINITY;
        for corner in footprint.corners() {
            least = smaller(least, smaller(corner.x, self.width_mm - corner.x));
            least = smaller(least, smaller(corner.y, self.depth_mm - corner.y));
        }
        least
    }

    /// The share of a straight way at which a footprint that begins on the table is first `beyond_mm` off it;
    /// `None` when it stays on.
    #[must_use]
    pub fn leaves_at(&self, moving: &Footprint, by: Vector, beyond_mm: f64) -> Option<f64> {
        let mut first = 1.0;
        let mut leaves = |room_mm: f64, step_mm: f64| {
            if step_mm > 0.0 {
                first = smaller(first, (room_mm + beyond_mm) / step_mm);
            }
        };
        for corner in moving.corners() {
            leaves(corner.x, -by.x);
            leaves(self.width_mm - corner.x, by.x);
            leaves(corner.y, -by.y);
            leaves(self.depth_mm - corner.y, by.y);
        }
        (first < 1.0).then_some(first)
    }

    /// Sorted, disjoint spans of the motion in which a corner is more than `beyond_mm` off the
    /// table. Exact: every corner's crossing of every edge, moved out by `beyond_mm`.
    #[must_use]
    pub fn spans_off(&self, moving: &Footprint, motion: &Motion, beyond_mm: f64) -> Vec<Span> {
        let swept = swept_bounds(moving, motion);
        if swept.low.x >= -beyond_mm
            && swept.low.y >= -beyond_mm
            && swept.high.x <= self.width_mm + beyond_mm
            && swept.high.y <= self.depth_mm + beyond_mm
        {
            return Vec::new();
        }
        let (east, north) = (Vector::new(1.0, 0.0), Vector::new(0.0, 1.0));
        let edges = [
            (Point::new(-beyond_mm, 0.0), east),
            (Point::new(self.width_mm + beyond_mm, 0.0), east),
            (Point::new(0.0, -beyond_mm), north),
            (Point::new(0.0, self.depth_mm + beyond_mm), north),
        ];
        let mut events = Vec::new();
        for corner in moving.corners() {
            let track = motion.track_of(corner);
            for (through, normal) in edges {
                meet_stretch(&track, &Stretch::endless(through, normal), 0.0, &mut events);
            }
        }
        let mut found = Vec::new();
        spans_where(
            &mut events,
            |share| self.margin_mm(&motion.footprint_at(moving, share)) < -beyond_mm,
            &mut found,
        );
        found
    }
}

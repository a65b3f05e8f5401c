//! A patch of the table: a closed outline, perhaps with holes.

use super::polygon_faults::{PolygonFault, check};
use super::ring::{doubled_area, sides};
use super::stretch::Stretch;
use super::{Bounds, EPS_MM, Point, smaller};

/// A checked outline with holes. The outline runs counter-clockwise and holes clockwise,
/// however they were given, so that the inside is always on the left of an edge.
#[derive(Debug, Clone, PartialEq)]
pub struct Polygon {
    outer: Vec<Point>,
    holes: Vec<Vec<Point>>,
    edges: Vec<Stretch>,
    bounds: Bounds,
}

/// Where a point lies in regard to a polygon.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Location {
    /// Inside, farther than EPS from every edge.
    Inside,
    /// Within EPS of an edge.
    Edge,
    /// Outside, or in a hole.
    Outside,
}

impl Polygon {
    /// A polygon from its outline and holes, each a list of corners that closes by itself.
    ///
    /// # Errors
    /// Every fault of every ring; the lists are then good for nothing.
    pub fn new(
        mut outer: Vec<Point>,
        mut holes: Vec<Vec<Point>>,
    ) -> Result<Self, Vec<PolygonFault>> {
        let faults = check(&outer, &holes);
        if !faults.is_empty() {
            return Err(faults);
        }
        if doubled_area(&outer) < 0.0 {
            outer.reverse();
        }
        for hole in &mut holes {
            if doubled_area(hole) > 0.0 {
                hole.reverse();
            }
        }
        let edges = std::iter::once(&outer)
            .chain(&holes)
            .flat_map(|ring| sides(ring))
            .filter_map(|(from, to)| Stretch::between(from, to))
            .collect();
        let bounds = Bounds::about(&outer);
        Ok(Self {
            outer,
            holes,
            edges,
            bounds,
        })
    }

    /// Corners of the outline, counter-clockwise.
    #[must_use]
    pub fn outer(&self) -> &[Point] {
        &self.outer
    }

    /// Corners of each hole, clockwise.
    #[must_use]
    pub fn holes(&self) -> &[Vec<Point>] {
        &self.holes
    }

    /// The least upright rectangle about the outline.
    #[must_use]
    pub fn bounds(&self) -> Bounds {
        self.bounds
    }

    /// Area without the holes, in square millimetres.
    #[must_use]
    pub fn area_mm2(&self) -> f64 {
        let mut doubled = doubled_area(&self.outer);
        for hole in &self.holes {
            doubled += doubled_area(hole);
        }
        doubled / 2.0
    }

    /// Inside, outside, or on an edge within EPS.
    #[must_use]
    pub fn locate(&self, point: Point) -> Location {
        if !self.bounds.widened(EPS_MM).holds(point) {
            return Location::Outside;
        }
        if self
            .edges
            .iter()
            .any(|edge| edge.distance_squared(point) <= EPS_MM * EPS_MM)
        {
            return Location::Edge;
        }
        if self.encloses(point) {
            Location::Inside
        } else {
            Location::Outside
        }
    }

    /// Distance of a point from the nearest edge of outline or hole in millimetres, inside as
    /// well as outside.
    #[must_use]
    pub fn distance_to_edge_mm(&self, point: Point) -> f64 {
        self.edges
            .iter()
            .fold(f64::INFINITY, |least, edge| {
                smaller(least, edge.distance_squared(point))
            })
            .sqrt()
    }

    /// Whether an odd number of edges lies east of the point: inside, with no band about the
    /// edges. Half-open per edge, so that a corner counts once.
    pub(super) fn encloses(&self, point: Point) -> bool {
        if !self.bounds.holds(point) {
            return false;
        }
        let mut inside = false;
        for edge in &self.edges {
            if (edge.from.y > point.y) != (edge.to.y > point.y) {
                let upward = edge.to.y > edge.from.y;
                let left = (edge.to - edge.from).cross(point - edge.from);
                if (left > 0.0) == upward {
                    inside = !inside;
                }
            }
        }
        inside
    }

    /// All edges of outline and holes, inside on their left.
    pub(super) fn edges(&self) -> &[Stretch] {
        &self.edges
    }
}

//! What can be wrong with an outline and its holes, every fault with its place.

use std::fmt;

use super::ring::{doubled_area, sides};
use super::stretch::Stretch;
use super::{EPS_MM, Point, larger, smaller};

/// Which ring of a polygon.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Ring {
    /// The outline.
    Outer,
    /// A hole, counted from 0.
    Hole(usize),
}

/// One fault of a polygon. Indices count from 0, and edge `i` runs from point `i` to the next;
/// the words count from 1.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum PolygonFault {
    /// Fewer than three points.
    TooFewPoints {
        /// Which ring.
        ring: Ring,
        /// How many it has.
        count: usize,
    },
    /// A coordinate is not a finite number.
    NotFinite {
        /// Which ring.
        ring: Ring,
        /// Which point.
        point: usize,
    },
    /// A point repeats the one before it (the first, the last) within EPS.
    RepeatedPoint {
        /// Which ring.
        ring: Ring,
        /// Which point.
        point: usize,
    },
    /// Two edges of one ring cross, touch or lie on each other.
    CrossesItself {
        /// Which ring.
        ring: Ring,
        /// The earlier edge.
        first_edge: usize,
        /// The later edge.
        second_edge: usize,
        /// Where.
        at: Point,
    },
    /// All points lie on one line.
    NoArea {
        /// Which ring.
        ring: Ring,
    },
    /// A hole lies outside the outline.
    HoleOutside {
        /// Which hole.
        hole: usize,
    },
    /// A hole crosses or touches the outline.
    HoleMeetsOutline {
        /// Which hole.
        hole: usize,
        /// Edge of the hole.
        hole_edge: usize,
        /// Edge of the outline.
        outer_edge: usize,
        /// Where.
        at: Point,
    },
    /// Two holes cross, touch or lie in each other.
    HolesOverlap {
        /// The earlier hole.
        first: usize,
        /// The later hole.
        second: usize,
        /// Where.
        at: Point,
    },
}

impl fmt::Display for Ring {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Outer => f.write_str("the outline"),
            Self::Hole(index) => write!(f, "hole {}", index + 1),
        }
    }
}

impl fmt::Display for PolygonFault {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match *self {
            Self::TooFewPoints { ring, count } => write!(
                f,
                "{ring} has {count} of the at least 3 points that an area needs"
            ),
            Self::NotFinite { ring, point } => {
                write!(f, "point {} of {ring} is not a finite number", point + 1)
            }
            Self::RepeatedPoint { ring, point: 0 } => write!(
                f,
                "the last point of {ring} repeats the first: leave it out, an outline closes by itself"
            ),
            Self::RepeatedPoint { ring, point } => write!(
                f,
                "point {} of {ring} repeats the point before it: leave it out",
                point + 1
            ),
            Self::CrossesItself {
                ring,
                first_edge,
                second_edge,
                at,
            } => write!(
                f,
                "{ring} crosses or touches itself near ({:.1}, {:.1}): the edge after point {} and the edge after point {}",
                at.x,
                at.y,
                first_edge + 1,
                second_edge + 1
            ),
            Self::NoArea { ring } => {
                write!(f, "{ring} has no area: all its points lie on one line")
            }
            Self::HoleOutside { hole } => write!(f, "hole {} lies outside the outline", hole + 1),
            Self::HoleMeetsOutline {
                hole,
                hole_edge,
                outer_edge,
                at,
            } => write!(
                f,
                "hole {} meets the outline near ({:.1}, {:.1}): its edge after point {} and the outline's edge after point {}",
                hole + 1,
                at.x,
                at.y,
                hole_edge + 1,
                outer_edge + 1
            ),
            Self::HolesOverlap { first, second, at } => write!(
                f,
                "holes {} and {} meet or lie in each other near ({:.1}, {:.1})",
                first + 1,
                second + 1,
                at.x,
                at.y
            ),
        }
    }
}

impl std::error::Error for PolygonFault {}

/// Every fault of an outline and its holes.
pub(super) fn check(outer: &[Point], holes: &[Vec<Point>]) -> Vec<PolygonFault> {
    let mut faults = Vec::new();
    check_ring(outer, Ring::Outer, &mut faults);
    for (index, hole) in holes.iter().enumerate() {
        check_ring(hole, Ring::Hole(index), &mut faults);
    }
    // how rings lie to each other means something only when each is sound
    if faults.is_empty() {
        check_holes(outer, holes, &mut faults);
    }
    faults
}

fn check_ring(points: &[Point], ring: Ring, faults: &mut Vec<PolygonFault>) {
    let known = faults.len();
    if points.len() < 3 {
        faults.push(PolygonFault::TooFewPoints {
            ring,
            count: points.len(),
        });
    }
    for (point, place) in points.iter().enumerate() {
        if !(place.x.is_finite() && place.y.is_finite()) {
            faults.push(PolygonFault::NotFinite { ring, point });
        }
    }
    if faults.len() > known {
        return;
    }
    for (edge, (from, to)) in sides(points).enumerate() {
        if from.distance_to(to) <= EPS_MM {
            let point = (edge + 1) % points.len();
            faults.push(PolygonFault::RepeatedPoint { ring, point });
        }
    }
    if faults.len() > known {
        return;
    }
    check_crossings(points, ring, faults);
}

fn check_crossings(points: &[Point], ring: Ring, faults: &mut Vec<PolygonFault>) {
    let edges = stretches(points);
    let known = faults.len();
    let count = edges.len();
    for first in 0..count {
        for second in first + 2..count {
            if first == 0 && second + 1 == count {
                continue;
            }
            if let Some(at) = meeting(&edges[first], &edges[second]) {
                faults.push(PolygonFault::CrossesItself {
                    ring,
                    first_edge: first,
                    second_edge: second,
                    at,
                });
            }
        }
    }
    let around = edges.iter().fold(0.0, |sum, edge| sum + edge.length);
    if faults.len() == known && doubled_area(points).abs() <= EPS_MM * around {
        faults.push(PolygonFault::NoArea { ring });
        return;
    }
    for first in 0..count {
        let second = (first + 1) % count;
        if let Some(at) = folds_back(&edges[first], &edges[second]) {
            faults.push(PolygonFault::CrossesItself {
                ring,
                first_edge: smaller_index(first, second),
                second_edge: first + second - smaller_index(first, second),
                at,
            });
        }
    }
}

fn check_holes(outer: &[Point], holes: &[Vec<Point>], faults: &mut Vec<PolygonFault>) {
    let outline = stretches(outer);
    let hole_edges: Vec<Vec<Stretch>> = holes.iter().map(|hole| stretches(hole)).collect();
    for (hole, edges) in hole_edges.iter().enumerate() {
        let known = faults.len();
        for (hole_edge, edge) in edges.iter().enumerate() {
            for (outer_edge, other) in outline.iter().enumerate() {
                if let Some(at) = meeting(edge, other) {
                    faults.push(PolygonFault::HoleMeetsOutline {
                        hole,
                        hole_edge,
                        outer_edge,
                        at,
                    });
                }
            }
        }
        if faults.len() == known && !holds_first(&outline, edges) {
            faults.push(PolygonFault::HoleOutside { hole });
        }
    }
    for (first, edges) in hole_edges.iter().enumerate() {
        for (second, others) in hole_edges.iter().enumerate().skip(first + 1) {
            if let Some(at) = overlap(edges, others) {
                faults.push(PolygonFault::HolesOverlap { first, second, at });
            }
        }
    }
}

/// A place where two rings meet, or a corner of one that lies in the other.
fn overlap(edges: &[Stretch], others: &[Stretch]) -> Option<Point> {
    let crossing = edges
        .iter()
        .find_map(|edge| others.iter().find_map(|other| meeting(edge, other)));
    crossing
        .or_else(|| {
            holds_first(edges, others)
                .then(|| others.first().map(|edge| edge.from))
                .flatten()
        })
        .or_else(|| {
            holds_first(others, edges)
                .then(|| edges.first().map(|edge| edge.from))
                .flatten()
        })
}

/// Whether a ring encloses the first corner of another that it does not meet.
fn holds_first(ring: &[Stretch], other: &[Stretch]) -> bool {
    let Some(point) = other.first().map(|edge| edge.from) else {
        return false;
    };
    let mut inside = false;
    for edge in ring {
        if (edge.from.y > point.y) != (edge.to.y > point.y) {
            let upward = edge.to.y > edge.from.y;
            if ((edge.to - edge.from).cross(point - edge.from) > 0.0) == upward {
                inside = !inside;
            }
        }
    }
    inside
}

fn stretches(points: &[Point]) -> Vec<Stretch> {
    sides(points)
        .filter_map(|(from, to)| Stretch::between(from, to))
        .collect()
}

fn smaller_index(a: usize, b: usize) -> usize {
    if a < b { a } else { b }
}

/// Where two edges cross or come within EPS of each other.
fn meeting(first: &Stretch, second: &Stretch) -> Option<Point> {
    let apart = |a: f64, b: f64, c: f64, d: f64| {
        larger(a, b) + EPS_MM < smaller(c, d) || larger(c, d) + EPS_MM < smaller(a, b)
    };
    if apart(first.from.x, first.to.x, second.from.x, second.to.x)
        || apart(first.from.y, first.to.y, second.from.y, second.to.y)
    {
        return None;
    }
    for (point, stretch) in [
        (second.from, first),
        (second.to, first),
        (first.from, second),
        (first.to, second),
    ] {
        if stretch.distance_squared(point) <= EPS_MM * EPS_MM {
            return Some(point);
        }
    }
    let one = (second.from - first.from).dot(first.left);
    let other = (second.to - first.from).dot(first.left);
    let back_one = (first.from - second.from).dot(second.left);
    let back_other = (first.to - second.from).dot(second.left);
    let crosses = (one > 0.0) != (other > 0.0) && (back_one > 0.0) != (back_other > 0.0);
    crosses.then(|| second.from.towards(second.to, one / (one - other)))
}

/// Where an edge lies back upon the one before it.
fn folds_back(edge: &Stretch, next: &Stretch) -> Option<Point> {
    if edge.distance_squared(next.to) <= EPS_MM * EPS_MM {
        return Some(next.to);
    }
    (next.distance_squared(edge.from) <= EPS_MM * EPS_MM).then_some(edge.from)
}

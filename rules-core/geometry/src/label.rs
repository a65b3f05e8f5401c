//! A point well inside a polygon: where a label has most room.

use std::cmp::Ordering;
use std::collections::BinaryHeap;

use super::{Point, Polygon, larger, smaller};

/// The answer's room is within this of the greatest.
const PRECISION_MM: f64 = 1.0;
/// Squares looked at before the best so far must do; a few hundred are usual.
const MOST_SQUARES: u32 = 20_000;

/// A square of the search with the most room any point of it could have.
struct Square {
    centre: Point,
    half: f64,
    room: f64,
    most: f64,
}

impl Square {
    fn new(polygon: &Polygon, centre: Point, half: f64) -> Self {
        let room = room(polygon, centre);
        Self {
            centre,
            half,
            room,
            most: room + half * std::f64::consts::SQRT_2,
        }
    }
}

impl Ord for Square {
    fn cmp(&self, other: &Self) -> Ordering {
        self.most
            .total_cmp(&other.most)
            .then(self.centre.x.total_cmp(&other.centre.x))
            .then(self.centre.y.total_cmp(&other.centre.y))
    }
}
impl PartialOrd for Square {
    fn partial_cmp(&self, other: &Self) -> Option<Ordering> {
        Some(self.cmp(other))
    }
}
impl PartialEq for Square {
    fn eq(&self, other: &Self) -> bool {
        self.cmp(other) == Ordering::Equal
    }
}
impl Eq for Square {}

impl Polygon {
    /// A point well inside, for a label: the place farthest from every edge, to about 1 mm.
    #[must_use]
    pub fn label_point(&self) -> Point {
        point_well_inside(self)
    }
}

/// The pole of inaccessibility to about a millimetre: squares are looked at in the order of the
/// most room they could hold, and quartered, until none could hold more than the best found.
fn point_well_inside(polygon: &Polygon) -> Point {
    let bounds = polygon.bounds();
    let (wide, high) = (bounds.high.x - bounds.low.x, bounds.high.y - bounds.low.y);
    let side = larger(smaller(wide, high), larger(wide, high) / 64.0);
    let half = side / 2.0;
    // whole steps, so that a speck far away cannot make a sum that never grows
    let steps = |length: f64| (0..=64_u32).take_while(move |step| f64::from(*step) * side < length);
    let mut waiting = BinaryHeap::new();
    for row in steps(high) {
        for column in steps(wide) {
            let centre = Point::new(
                bounds.low.x + side * f64::from(column) + half,
                bounds.low.y + side * f64::from(row) + half,
            );
            waiting.push(Square::new(polygon, centre, half));
        }
    }
    let mut best = (bounds.low, f64::NEG_INFINITY);
    for _ in 0..MOST_SQUARES {
        let Some(square) = waiting.pop() else { break };
        if square.room > best.1 {
            best = (square.centre, square.room);
        }
        // not yet inside: the last quarter of a millimetre of a sliver still counts
        let enough = if best.1 > 0.0 { PRECISION_MM } else { 0.0 };
        if square.most <= best.1 + enough {
            break;
        }
        let quarter = square.half / 2.0;
        for (east, north) in [(-1.0, -1.0), (1.0, -1.0), (-1.0, 1.0), (1.0, 1.0)] {
            let centre = Point::new(
                square.centre.x + east * quarter,
                square.centre.y + north * quarter,
            );
            waiting.push(Square::new(polygon, centre, quarter));
        }
    }
    best.0
}

/// Distance from the edge, negative outside.
fn room(polygon: &Polygon, point: Point) -> f64 {
    let distance = polygon.distance_to_edge_mm(point);
    if polygon.encloses(point) {
        distance
    } else {
        -distance
    }
}

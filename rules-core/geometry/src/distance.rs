//! Distance between footprints: signed, with the places where they are nearest.

use super::{ARITHMETIC_MM, EPS_MM, Footprint, Point, TOUCH_MM, Vector, larger, smaller};

/// How two footprints stand to each other.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Separation {
    /// Shortest distance in millimetres; when they overlap, minus the least shift along an
    /// edge's normal that would part them (separating axes).
    pub distance_mm: f64,
    /// Nearest place on the first; of facing parallel edges, the middle of the facing stretch.
    pub on_first: Point,
    /// Nearest place on the second.
    pub on_second: Point,
    /// Unit vector from the first towards the second; for touching or parallel edges the
    /// edge's normal, for a corner that touches a corner along the line through both centres.
    pub normal: Vector,
}

/// Signed distance in millimetres: the shortest distance, or minus the depth of overlap by
/// separating axes. Exactly the same when the two are exchanged.
#[must_use]
pub fn signed_distance_mm(first: &Footprint, second: &Footprint) -> f64 {
    let gap = larger(widest_gap(first, second), widest_gap(second, first));
    if gap <= 0.0 {
        return gap;
    }
    smaller(
        corners_squared(first, second),
        corners_squared(second, first),
    )
    .sqrt()
}

/// Shortest distance between any two points of the footprints in millimetres, 0 when they
/// touch or overlap.
#[must_use]
pub fn distance_mm(first: &Footprint, second: &Footprint) -> f64 {
    larger(signed_distance_mm(first, second), 0.0)
}

/// Shortest distance from a point to a footprint in millimetres, 0 inside.
#[must_use]
pub fn distance_point_footprint_mm(point: Point, footprint: &Footprint) -> f64 {
    outside_squared(footprint, point).sqrt()
}

/// Shortest distance from a point to the stretch between two others, which may be one and the same, in
/// millimetres.
#[must_use]
pub fn distance_point_stretch_mm(point: Point, from: Point, to: Point) -> f64 {
    let along = to - from;
    let squared = along.dot(along);
    let share = if squared > 0.0 {
        smaller(larger((point - from).dot(along) / squared, 0.0), 1.0)
    } else {
        0.0
    };
    point.distance_to(from.towards(to, share))
}

/// Signed distance with the nearest places and the direction between them.
#[must_use]
pub fn separation(first: &Footprint, second: &Footprint) -> Separation {
    let (gap, normal) = widest_face(first, second);
    let distance_mm = signed_distance_mm(first, second);
    if let Some((on_first, on_second)) = touching_corners(first, second, distance_mm, normal) {
        return Separation {
            distance_mm,
            on_first,
            on_second,
            normal: (second.centre - first.centre).unit().unwrap_or(normal),
        };
    }
    if distance_mm - gap < ARITHMETIC_MM || distance_mm < EPS_MM {
        let (on_first, on_second) = facing_places(first, second, normal);
        return Separation {
            distance_mm,
            on_first,
            on_second,
            normal,
        };
    }
    let (on_first, on_second) = nearest_corners(first, second);
    Separation {
        distance_mm,
        on_first,
        on_second,
        normal: (on_second - on_first).unit().unwrap_or(normal),
    }
}

/// Widest gap along the two axes of `owner`; negative where the projections overlap.
fn widest_gap(owner: &Footprint, other: &Footprint) -> f64 {
    let offset = other.centre - owner.centre;
    let right = owner.right();
    larger(
        offset.dot(right).abs() - owner.half_frontage - half_along(other, right),
        offset.dot(owner.ahead).abs() - owner.half_depth - half_along(other, owner.ahead),
    )
}

/// Half of the footprint's extent along a unit direction, in millimetres.
pub(super) fn half_along(footprint: &Footprint, direction: Vector) -> f64 {
    footprint.right().dot(direction).abs() * footprint.half_frontage
        + footprint.ahead.dot(direction).abs() * footprint.half_depth
}

/// Squared distance of a point from a footprint, 0 inside.
fn outside_squared(footprint: &Footprint, point: Point) -> f64 {
    let (right, ahead) = footprint.local(point);
    let beside = larger(right.abs() - footprint.half_frontage, 0.0);
    let beyond = larger(ahead.abs() - footprint.half_depth, 0.0);
    beside * beside + beyond * beyond
}

fn corners_squared(of: &Footprint, to: &Footprint) -> f64 {
    let [a, b, c, d] = of.corners();
    smaller(
        smaller(outside_squared(to, a), outside_squared(to, b)),
        smaller(outside_squared(to, c), outside_squared(to, d)),
    )
}

/// The edge normal with the widest gap, pointing from the first to the second.
fn widest_face(first: &Footprint, second: &Footprint) -> (f64, Vector) {
    let offset = second.centre - first.centre;
    let mut widest = (f64::NEG_INFINITY, first.ahead);
    for axis in [first.ahead, first.right(), second.ahead, second.right()] {
        let apart = offset.dot(axis);
        let gap = apart.abs() - half_along(first, axis) - half_along(second, axis);
        // of equal gaps the first named, whatever the last bit says
        if gap > widest.0 + ARITHMETIC_MM {
            widest = (gap, if apart < 0.0 { -axis } else { axis });
        }
    }
    widest
}

/// The corner of one that is nearest to the other, with the place nearest to it.
fn nearest_corners(first: &Footprint, second: &Footprint) -> (Point, Point) {
    let mut nearest = (f64::INFINITY, first.centre, second.centre);
    for corner in first.corners() {
        let squared = outside_squared(second, corner);
        if squared < nearest.0 {
            nearest = (squared, corner, clamped(second, corner));
        }
    }
    for corner in second.corners() {
        let squared = outside_squared(first, corner);
        if squared < nearest.0 {
            nearest = (squared, clamped(first, corner), corner);
        }
    }
    (nearest.1, nearest.2)
}

/// The corners by which two footprints touch, as nearly as storing can tell, when no edge of one lies
/// along an edge of the other.
fn touching_corners(
    first: &Footprint,
    second: &Footprint,
    distance_mm: f64,
    normal: Vector,
) -> Option<(Point, Point)> {
    if distance_mm.abs() > TOUCH_MM || shared_stretch_mm(first, second, normal) > TOUCH_MM {
        return None;
    }
    let mut nearest = (f64::INFINITY, first.centre, second.centre);
    for ours in first.corners() {
        for theirs in second.corners() {
            let apart = ours.distance_to(theirs);
            if apart < nearest.0 {
                nearest = (apart, ours, theirs);
            }
        }
    }
    (nearest.0 <= TOUCH_MM).then_some((nearest.1, nearest.2))
}

/// How long the edges that face each other along a normal stand opposite each other, in millimetres.
fn shared_stretch_mm(first: &Footprint, second: &Footprint, normal: Vector) -> f64 {
    let along = normal.quarter_right();
    let stretch = |edge: (Point, Point)| {
        let place = |point: Point| (point - first.centre).dot(along);
        sorted(place(edge.0), place(edge.1))
    };
    let (ours, theirs) = (
        stretch(farthest(first, normal)),
        stretch(farthest(second, -normal)),
    );
    smaller(ours.1, theirs.1) - larger(ours.0, theirs.0)
}

/// The place of the footprint nearest to a point.
fn clamped(footprint: &Footprint, point: Point) -> Point {
    let (right, ahead) = footprint.local(point);
    footprint.at(
        within(right, footprint.half_frontage),
        within(ahead, footprint.half_depth),
    )
}

fn within(value: f64, half: f64) -> f64 {
    larger(smaller(value, half), -half)
}

/// Nearest places when the nearest direction is an edge's normal.
fn facing_places(first: &Footprint, second: &Footprint, normal: Vector) -> (Point, Point) {
    let along = normal.quarter_right();
    let ours = farthest(first, normal);
    let theirs = farthest(second, -normal);
    let place = |point: Point| (point - first.centre).dot(along);
    let (our_low, our_high) = sorted(place(ours.0), place(ours.1));
    let (their_low, their_high) = sorted(place(theirs.0), place(theirs.1));
    let middle = f64::midpoint(larger(our_low, their_low), smaller(our_high, their_high));
    (
        on_edge(ours, along, middle, first.centre),
        on_edge(theirs, along, middle, first.centre),
    )
}

/// The edge (or corner, given twice) of the footprint that lies farthest in a direction. An
/// edge whose ends differ by less than EPS counts as square to it.
fn farthest(footprint: &Footprint, direction: Vector) -> (Point, Point) {
    let signs = |axis: Vector, half: f64| {
        let lean = axis.dot(direction);
        if lean.abs() * half * 2.0 < EPS_MM {
            (-half, half)
        } else if lean > 0.0 {
            (half, half)
        } else {
            (-half, -half)
        }
    };
    let right = signs(footprint.right(), footprint.half_frontage);
    let ahead = signs(footprint.ahead, footprint.half_depth);
    (
        footprint.at(right.0, ahead.0),
        footprint.at(right.1, ahead.1),
    )
}

fn sorted(a: f64, b: f64) -> (f64, f64) {
    if a < b { (a, b) } else { (b, a) }
}

/// The point of an edge whose place along a direction is as near `wanted` as the edge allows.
fn on_edge(edge: (Point, Point), along: Vector, wanted: f64, origin: Point) -> Point {
    let start = (edge.0 - origin).dot(along);
    let reach = (edge.1 - edge.0).dot(along);
    if reach.abs() < ARITHMETIC_MM {
        return edge.0;
    }
    let share = larger(smaller((wanted - start) / reach, 1.0), 0.0);
    edge.0.towards(edge.1, share)
}

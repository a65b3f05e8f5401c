//! During which parts of a motion a footprint is within reach of another.
//!
//! Straight: the offsets at which two rectangles are within r of each other fill their
//! Minkowski sum rounded by r, a convex shape, so there is at most one span. Turning: the
//! distance can pass r only with a corner of one exactly r from the other, so the corners' arcs
//! (of the moving footprint, and of the standing one turning backwards) cut by the other's
//! rounded rectangle give every event. Both are closed forms, exact but for rounding.

use super::crossing::{line_in_disc, meet_circle_where, meet_stretch};
use super::distance::half_along;
use super::figures::MEETING_MM;
use super::reach::out_of_reach;
use super::span::spans_where;
use super::stretch::Stretch;
use super::{
    ARITHMETIC_MM, Footprint, Motion, NOTHING, Path, Point, Span, Vector, gaps, larger, merged,
    signed_distance_mm, smaller,
};

/// Sorted, disjoint, open spans of the motion in which the signed distance between the moving
/// footprint and the obstacle is less than `reach_mm`. A reach of zero asks for overlap, a
/// negative one for overlap deeper than that by separating axes.
#[must_use]
pub fn spans_within(
    moving: &Footprint,
    motion: &Motion,
    obstacle: &Footprint,
    reach_mm: f64,
) -> Vec<Span> {
    if out_of_reach(moving, motion, obstacle, larger(reach_mm, 0.0)) {
        return Vec::new();
    }
    match *motion {
        Motion::Straight { by } => straight(moving, by, obstacle, reach_mm)
            .into_iter()
            .collect(),
        Motion::Turn { .. } if reach_mm > 0.0 => turning(moving, motion, obstacle, reach_mm),
        Motion::Turn { .. } => turning_into(moving, motion, obstacle, reach_mm),
    }
}

fn straight(moving: &Footprint, by: Vector, obstacle: &Footprint, reach_mm: f64) -> Option<Span> {
    if by.dot(by) < NOTHING * NOTHING {
        return (signed_distance_mm(moving, obstacle) < reach_mm).then_some(Span::WHOLE);
    }
    let (enters, leaves) = if reach_mm > 0.0 {
        rounded_sum(moving, by, obstacle, reach_mm)?
    } else {
        overlap(moving, by, obstacle, reach_mm)?
    };
    let span = Span::new(larger(enters, 0.0), smaller(leaves, 1.0));
    (span.from < span.to).then_some(span)
}

/// Overlap deeper than −reach along all four axes: four slabs.
fn overlap(
    moving: &Footprint,
    by: Vector,
    obstacle: &Footprint,
    reach_mm: f64,
) -> Option<(f64, f64)> {
    let offset = moving.centre - obstacle.centre;
    let (mut enters, mut leaves) = (f64::NEG_INFINITY, f64::INFINITY);
    for axis in [
        obstacle.ahead,
        obstacle.right(),
        moving.ahead,
        moving.right(),
    ] {
        let half = half_along(moving, axis) + half_along(obstacle, axis) + reach_mm;
        let (start, speed) = (offset.dot(axis), by.dot(axis));
        if speed == 0.0 {
            if start.abs() >= half {
                return None;
            }
            continue;
        }
        let (one, other) = ((half - start) / speed, (-half - start) / speed);
        enters = larger(enters, smaller(one, other));
        leaves = smaller(leaves, larger(one, other));
    }
    (enters < leaves).then_some((enters, leaves))
}

/// The chord of a straight motion through the Minkowski sum rounded by `reach_mm`: the eight
/// offset edges and the discs about the eight corners hold its whole outline.
fn rounded_sum(
    moving: &Footprint,
    by: Vector,
    obstacle: &Footprint,
    reach_mm: f64,
) -> Option<(f64, f64)> {
    let offset = moving.centre - obstacle.centre;
    let mut chord: Option<(f64, f64)> = None;
    let mut hit = |enters: f64, leaves: f64| {
        chord = Some(chord.map_or((enters, leaves), |(first, last)| {
            (smaller(first, enters), larger(last, leaves))
        }));
    };
    for (owner, other, with_corners) in [(obstacle, moving, true), (moving, obstacle, false)] {
        for edge in [
            SumEdge::new(other, owner.ahead, owner.half_depth, owner.half_frontage),
            SumEdge::new(other, owner.right(), owner.half_frontage, owner.half_depth),
        ] {
            for side in [1.0, -1.0] {
                if let Some(share) = edge.offset_hit(offset, by, side, reach_mm) {
                    hit(share, share);
                }
                if !with_corners {
                    continue;
                }
                for end in [-edge.half_length, edge.half_length] {
                    let corner =
                        edge.normal * (edge.out * side) + edge.along * (edge.shift * side + end);
                    if let Some((enters, leaves)) = line_in_disc(offset - corner, by, reach_mm) {
                        hit(enters, leaves);
                    }
                }
            }
        }
    }
    chord
}

/// A pair of opposite edges of the Minkowski sum of two rectangles, parallel to an edge of one.
struct SumEdge {
    normal: Vector,
    along: Vector,
    /// Distance of the edge from the sum's centre.
    out: f64,
    /// How far the edge's middle lies along, on the normal's side.
    shift: f64,
    half_length: f64,
}

impl SumEdge {
    fn new(other: &Footprint, normal: Vector, half_out: f64, half_length: f64) -> Self {
        let along = normal.quarter_right();
        let mut edge = Self {
            normal,
            along,
            out: half_out,
            shift: 0.0,
            half_length,
        };
        for (axis, half) in [
            (other.ahead, other.half_depth),
            (other.right(), other.half_frontage),
        ] {
            let lean = axis.dot(normal);
            edge.out += lean.abs() * half;
            if lean.abs() < NOTHING {
                edge.half_length += half;
            } else if lean > 0.0 {
                edge.shift += axis.dot(along) * half;
            } else {
                edge.shift -= axis.dot(along) * half;
            }
        }
        edge
    }

    /// Where the motion crosses the edge moved outwards by the reach.
    fn offset_hit(&self, offset: Vector, by: Vector, side: f64, reach_mm: f64) -> Option<f64> {
        let speed = by.dot(self.normal);
        if speed == 0.0 {
            return None;
        }
        let share = (side * (self.out + reach_mm) - offset.dot(self.normal)) / speed;
        let along = (offset + by * share).dot(self.along) - self.shift * side;
        (along.abs() <= self.half_length + ARITHMETIC_MM).then_some(share)
    }
}

/// Turning within a positive reach.
fn turning(moving: &Footprint, motion: &Motion, obstacle: &Footprint, reach_mm: f64) -> Vec<Span> {
    let mut events = Vec::new();
    let mut found = Vec::new();
    for corner in moving.corners() {
        near_rectangle(
            &motion.track_of(corner),
            obstacle,
            reach_mm,
            &mut events,
            &mut found,
        );
    }
    let backwards = motion.reversed();
    for corner in obstacle.corners() {
        near_rectangle(
            &backwards.track_of(corner),
            moving,
            reach_mm,
            &mut events,
            &mut found,
        );
    }
    with_crossed_gaps(merged(found), |share| {
        signed_distance_mm(&motion.footprint_at(moving, share), obstacle) < reach_mm
    })
}

/// Two bars may cross with no corner of either inside the other. Between the corners' spans
/// nothing changes, so one test a gap settles it.
fn with_crossed_gaps(mut found: Vec<Span>, holds: impl Fn(f64) -> bool) -> Vec<Span> {
    if found.is_empty() {
        found.extend(holds(Span::WHOLE.middle()).then_some(Span::WHOLE));
        return found;
    }
    let between = gaps(&found);
    let known = found.len();
    found.extend(between.into_iter().filter(|gap| holds(gap.middle())));
    if found.len() == known {
        found
    } else {
        merged(found)
    }
}

/// The parts of a corner's arc that are less than `reach_mm` from a rectangle.
fn near_rectangle(
    arc: &Path,
    rectangle: &Footprint,
    reach_mm: f64,
    events: &mut Vec<f64>,
    found: &mut Vec<Span>,
) {
    let Path::Arc {
        centre,
        from,
        clockwise_rad,
    } = *arc
    else {
        return;
    };
    let local = |point: Point| {
        let (right, ahead) = rectangle.local(point);
        Point::new(right, ahead)
    };
    let arc = Path::Arc {
        centre: local(centre),
        from: local(from),
        clockwise_rad,
    };
    let (wide, deep) = (rectangle.half_frontage, rectangle.half_depth);
    if arc_misses(&arc, wide, deep, reach_mm) {
        return;
    }
    for side in [1.0, -1.0] {
        let beside = Stretch {
            from: Point::new((wide + reach_mm) * side, -deep),
            to: Point::new((wide + reach_mm) * side, deep),
            along: Vector::new(0.0, 1.0),
            left: Vector::new(-1.0, 0.0),
            length: 2.0 * deep,
        };
        let beyond = Stretch {
            from: Point::new(-wide, (deep + reach_mm) * side),
            to: Point::new(wide, (deep + reach_mm) * side),
            along: Vector::new(1.0, 0.0),
            left: Vector::new(0.0, 1.0),
            length: 2.0 * wide,
        };
        meet_stretch(&arc, &beside, 0.0, events);
        meet_stretch(&arc, &beyond, 0.0, events);
        for end in [1.0, -1.0] {
            let corner = Point::new(wide * side, deep * end);
            // only the quarter of the disc beyond the corner is outline
            let outline = |point: Point| {
                (point.x - corner.x) * side >= -ARITHMETIC_MM
                    && (point.y - corner.y) * end >= -ARITHMETIC_MM
            };
            meet_circle_where(&arc, corner, reach_mm, outline, events);
        }
    }
    spans_where(
        events,
        |share| {
            let point = arc.at(share);
            let beside = larger(point.x.abs() - wide, 0.0);
            let beyond = larger(point.y.abs() - deep, 0.0);
            beside * beside + beyond * beyond < reach_mm * reach_mm
        },
        found,
    );
}

/// Whether the whole circle passes a rectangle about the origin, outside or around it, or the
/// arc is too short to come within reach of it.
fn arc_misses(arc: &Path, wide: f64, deep: f64, reach_mm: f64) -> bool {
    let Path::Arc {
        centre,
        from,
        clockwise_rad,
    } = *arc
    else {
        return false;
    };
    let away = |point: Point| {
        Vector::new(
            larger(point.x.abs() - wide, 0.0),
            larger(point.y.abs() - deep, 0.0),
        )
        .length()
    };
    let radius = (from - centre).length();
    let farthest = Vector::new(centre.x.abs() + wide, centre.y.abs() + deep).length();
    away(centre) > radius + reach_mm
        || farthest + reach_mm < radius
        || away(from) > radius * clockwise_rad.abs() + reach_mm
}

/// Turning into overlap deeper than −reach along all four axes.
fn turning_into(
    moving: &Footprint,
    motion: &Motion,
    obstacle: &Footprint,
    reach_mm: f64,
) -> Vec<Span> {
    // nearly every motion asked about touches nothing: the corner arcs say so cheaply
    if turning(moving, motion, obstacle, MEETING_MM).is_empty() {
        return Vec::new();
    }
    let mut events = Vec::new();
    for corner in moving.corners() {
        meet_edge_lines(&motion.track_of(corner), obstacle, reach_mm, &mut events);
    }
    let backwards = motion.reversed();
    for corner in obstacle.corners() {
        meet_edge_lines(&backwards.track_of(corner), moving, reach_mm, &mut events);
    }
    let mut found = Vec::new();
    spans_where(
        &mut events,
        |share| signed_distance_mm(&motion.footprint_at(moving, share), obstacle) < reach_mm,
        &mut found,
    );
    found
}

/// Where a track crosses the endless lines through a rectangle's edges moved out by `reach_mm`.
pub(super) fn meet_edge_lines(
    track: &Path,
    rectangle: &Footprint,
    reach_mm: f64,
    events: &mut Vec<f64>,
) {
    for (normal, half) in [
        (rectangle.ahead, rectangle.half_depth),
        (rectangle.right(), rectangle.half_frontage),
    ] {
        let line = Stretch::endless(rectangle.centre, normal);
        meet_stretch(track, &line, half + reach_mm, events);
        meet_stretch(track, &line, -half - reach_mm, events);
    }
}

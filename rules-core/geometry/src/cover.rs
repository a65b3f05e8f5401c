//! How deep a footprint stands in a patch, and during which parts of a motion it does.

use super::crossing::meet_stretch;
use super::reach::{path_bounds, swept_bounds};
use super::span::spans_where;
use super::stretch::Stretch;
use super::{
    Bounds, EPS_MM, Footprint, Motion, Path, Point, Polygon, Polyline, Span, larger, smaller,
};

/// How deep footprint and polygon overlap, in millimetres: the largest of
/// - for a corner of the footprint inside the polygon, its distance from the polygon's edge;
/// - for a point of the polygon's edge inside the footprint, its distance from the footprint's
///   boundary;
/// - when the polygon covers the footprint's middle, half of the footprint's shorter side.
///
/// 0 when they are clear of each other or merely touch.
#[must_use]
pub fn overlap_depth_mm(footprint: &Footprint, polygon: &Polygon) -> f64 {
    if !footprint_bounds(footprint).meets(&polygon.bounds()) {
        return 0.0;
    }
    let mut depth = 0.0;
    for edge in polygon.edges() {
        depth = larger(deepest_along(footprint, edge.from, edge.to), depth);
    }
    for corner in footprint.corners() {
        if polygon.encloses(corner) {
            depth = larger(polygon.distance_to_edge_mm(corner), depth);
        }
    }
    // where an edge crosses the medial line, the edge itself already gave this depth
    if polygon.encloses(footprint.centre) {
        depth = larger(
            smaller(footprint.half_frontage, footprint.half_depth),
            depth,
        );
    }
    depth
}

/// Sorted, disjoint spans of the motion in which the overlap is deeper than EPS. The events are
/// corners' tracks coming EPS inside an edge, and edges of the polygon reaching the footprint
/// made smaller by EPS. At an inward corner of the polygon a span may begin or end half of EPS
/// late, for there a corner of the footprint is deeper than EPS a hair before its core is.
#[must_use]
pub fn spans_over(moving: &Footprint, motion: &Motion, polygon: &Polygon) -> Vec<Span> {
    let swept = swept_bounds(moving, motion).widened(1.0);
    if !swept.meets(&polygon.bounds()) {
        return Vec::new();
    }
    let near: Vec<Stretch> = polygon
        .edges()
        .iter()
        .filter(|edge| edge.meets(&swept))
        .copied()
        .collect();
    if near.is_empty() {
        return if polygon.encloses(moving.centre) {
            vec![Span::WHOLE]
        } else {
            Vec::new()
        };
    }
    let mut events = Vec::new();
    list_events(moving, motion, &near, &mut events);
    let mut found = Vec::new();
    spans_where(
        &mut events,
        |share| deeper_than_eps(&motion.footprint_at(moving, share), polygon, &near),
        &mut found,
    );
    found
}

/// Whether the line passes through the footprint's inside, deeper than EPS.
#[must_use]
pub fn footprint_astride(footprint: &Footprint, line: &Polyline) -> bool {
    footprint_bounds(footprint).meets(&line.bounds())
        && line
            .legs()
            .iter()
            .any(|leg| deepest_along(footprint, leg.from, leg.to) > EPS_MM)
}

fn list_events(moving: &Footprint, motion: &Motion, near: &[Stretch], events: &mut Vec<f64>) {
    let core = Footprint {
        half_frontage: moving.half_frontage - EPS_MM,
        half_depth: moving.half_depth - EPS_MM,
        ..*moving
    };
    for (corner, inner) in moving.corners().into_iter().zip(core.corners()) {
        let track = motion.track_of(corner);
        let inner_track = motion.track_of(inner);
        let bounds = path_bounds(&track).widened(1.0);
        for edge in near.iter().filter(|edge| edge.meets(&bounds)) {
            meet_stretch(&track, edge, EPS_MM, events);
            meet_stretch(&inner_track, edge, 0.0, events);
        }
    }
    let mut ends: Vec<Point> = Vec::with_capacity(near.len() + 1);
    for edge in near {
        if ends.last() != Some(&edge.from) {
            ends.push(edge.from);
        }
        ends.push(edge.to);
    }
    let tracks: Vec<Path> = ends
        .into_iter()
        .map(|end| motion.reversed().track_of(end))
        .collect();
    let [front_left, front_right, rear_right, rear_left] = core.corners();
    for (from, to) in [
        (front_left, front_right),
        (front_right, rear_right),
        (rear_right, rear_left),
        (rear_left, front_left),
    ] {
        let Some(side) = Stretch::between(from, to) else {
            continue;
        };
        for track in &tracks {
            meet_stretch(track, &side, 0.0, events);
        }
    }
}

/// As `overlap_depth_mm(…) > EPS`, stopping at the first proof.
fn deeper_than_eps(footprint: &Footprint, polygon: &Polygon, near: &[Stretch]) -> bool {
    near.iter()
        .any(|edge| deepest_along(footprint, edge.from, edge.to) > EPS_MM)
        || footprint.corners().into_iter().any(|corner| {
            near.iter()
                .all(|edge| edge.distance_squared(corner) > EPS_MM * EPS_MM)
                && polygon.encloses(corner)
        })
        || polygon.encloses(footprint.centre)
}

/// Greatest distance from the footprint's boundary of a point of the stretch from `from` to
/// `to` inside it; 0 when none is inside. The distance is the least of four linear functions,
/// so it is greatest at an end or where two of them are equal.
fn deepest_along(footprint: &Footprint, from: Point, to: Point) -> f64 {
    let (start_x, start_y) = footprint.local(from);
    let (end_x, end_y) = footprint.local(to);
    let (wide, deep) = (footprint.half_frontage, footprint.half_depth);
    let beyond = |a: f64, b: f64, half: f64| (a >= half && b >= half) || (a <= -half && b <= -half);
    if beyond(start_x, end_x, wide) || beyond(start_y, end_y, deep) {
        return 0.0;
    }
    let (step_x, step_y) = (end_x - start_x, end_y - start_y);
    // room to the right, left, front and rear boundary: at the start, and gained by the end
    let rooms = [
        (wide - start_x, -step_x),
        (wide + start_x, step_x),
        (deep - start_y, -step_y),
        (deep + start_y, step_y),
    ];
    let room_at = |share: f64| {
        rooms.iter().fold(f64::INFINITY, |least, (room, gain)| {
            smaller(least, room + gain * share)
        })
    };
    let mut deepest = larger(larger(room_at(0.0), room_at(1.0)), 0.0);
    for (index, first) in rooms.iter().enumerate() {
        for second in rooms.iter().skip(index + 1) {
            let share = (second.0 - first.0) / (first.1 - second.1);
            if share > 0.0 && share < 1.0 {
                deepest = larger(room_at(share), deepest);
            }
        }
    }
    deepest
}

fn footprint_bounds(footprint: &Footprint) -> Bounds {
    Bounds::about(&[footprint.centre]).widened(footprint.reach())
}

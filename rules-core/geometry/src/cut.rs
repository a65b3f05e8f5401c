//! Cutting a tape: the parts of it inside a patch, and the parts near a line.

use super::crossing::{meet_circle, meet_stretch};
use super::reach::path_bounds;
use super::span::spans_where;
use super::{EPS_MM, Path, Polygon, Polyline, Span, merged, without};

/// Sorted, disjoint spans of the path inside the polygon. The path is cut by every edge and
/// each piece judged by its middle. A part of a straight tape that merely runs along an edge,
/// within EPS of it, is outside; an arc cannot run along a straight edge.
#[must_use]
pub fn spans_inside(path: &Path, polygon: &Polygon) -> Vec<Span> {
    let bounds = path_bounds(path).widened(EPS_MM);
    if !bounds.meets(&polygon.bounds()) {
        return Vec::new();
    }
    let mut events = Vec::new();
    let mut along = Vec::new();
    for edge in polygon.edges() {
        if edge.meets(&bounds) {
            meet_stretch(path, edge, 0.0, &mut events);
            along.extend(edge.run_along(path));
        }
    }
    let mut inside = Vec::new();
    spans_where(
        &mut events,
        |share| polygon.encloses(path.at(share)),
        &mut inside,
    );
    if along.is_empty() {
        inside
    } else {
        without(&inside, &merged(along))
    }
}

/// Sorted, disjoint spans of the path within `half_width_mm` of the line, the limit itself
/// included: a tape that runs along the verge is on the road.
#[must_use]
pub fn spans_near(path: &Path, line: &Polyline, half_width_mm: f64) -> Vec<Span> {
    spans_closer(path, line, half_width_mm + EPS_MM)
}

/// Sorted, disjoint spans of the path less than `radius_mm` from the line: cut where a leg is that
/// far beside the path and where a point of the line is that far from it.
#[must_use]
pub fn spans_closer(path: &Path, line: &Polyline, radius_mm: f64) -> Vec<Span> {
    let bounds = path_bounds(path).widened(radius_mm);
    if !bounds.meets(&line.bounds()) {
        return Vec::new();
    }
    let mut events = Vec::new();
    let mut near = false;
    for leg in line.legs() {
        if leg.meets(&bounds) {
            near = true;
            meet_stretch(path, leg, radius_mm, &mut events);
            meet_stretch(path, leg, -radius_mm, &mut events);
            meet_circle(path, leg.from, radius_mm, &mut events);
            meet_circle(path, leg.to, radius_mm, &mut events);
        }
    }
    let mut found = Vec::new();
    if near {
        spans_where(
            &mut events,
            |share| line.distance_mm(path.at(share)) < radius_mm,
            &mut found,
        );
    }
    found
}

//! A footprint beside a line: how near it is, and during which parts of a motion it is near.

use super::reach::swept_bounds;
use super::stretch::Stretch;
use super::{Bounds, Footprint, Motion, Polyline, Span, merged, signed_distance_mm, spans_within};

/// Whether some point of the footprint is less than `within_mm` from the line.
#[must_use]
pub fn is_near_line(footprint: &Footprint, line: &Polyline, within_mm: f64) -> bool {
    let bounds = Bounds::about(&[footprint.centre]).widened(footprint.reach() + within_mm);
    bounds.meets(&line.bounds())
        && line.legs().iter().any(|leg| {
            leg.meets(&bounds) && signed_distance_mm(footprint, &as_footprint(leg)) < within_mm
        })
}

/// Sorted, disjoint spans of the motion in which some point of the footprint is less than
/// `within_mm` from the line. A leg of the line is a rectangle without depth.
#[must_use]
pub fn spans_near_line(
    moving: &Footprint,
    motion: &Motion,
    line: &Polyline,
    within_mm: f64,
) -> Vec<Span> {
    let bounds = swept_bounds(moving, motion).widened(within_mm);
    if !bounds.meets(&line.bounds()) {
        return Vec::new();
    }
    let legs = line.legs().iter().filter(|leg| leg.meets(&bounds));
    merged(
        legs.flat_map(|leg| spans_within(moving, motion, &as_footprint(leg), within_mm))
            .collect(),
    )
}

fn as_footprint(leg: &Stretch) -> Footprint {
    Footprint {
        centre: leg.from.towards(leg.to, 0.5),
        ahead: leg.left,
        half_frontage: leg.length / 2.0,
        half_depth: 0.0,
    }
}

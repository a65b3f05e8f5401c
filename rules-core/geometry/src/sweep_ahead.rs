//! During which parts of a motion a footprint is within reach of another's front.
//!
//! The zone ahead of a front edge is the front edge rounded by the reach, cut off at the front
//! edge's line: convex, with two sharp corners on the line. Contact with it begins and ends
//! only when a corner of the mover crosses the zone's outline, a sharp corner of the zone
//! crosses an edge of the mover, or an edge of the mover is tangent to the round part, that is,
//! when an end of the front edge is at the reach from it. All these events have closed forms;
//! between them one measurement decides. Accuracy is that of the events: rounding only.

use super::crossing::{meet_circle, meet_stretch};
use super::reach::out_of_reach;
use super::span::spans_where;
use super::stretch::Stretch;
use super::sweep::meet_edge_lines;
use super::{EPS_MM, Footprint, Motion, Span, separation_ahead};

/// As `spans_within`, for the zone ahead of the line through the obstacle's front edge: spans
/// in which `separation_ahead` is less than `reach_mm`. There are none when the reach is not
/// more than EPS.
#[must_use]
pub fn spans_within_ahead(
    moving: &Footprint,
    motion: &Motion,
    obstacle: &Footprint,
    reach_mm: f64,
) -> Vec<Span> {
    if reach_mm <= EPS_MM || out_of_reach(moving, motion, obstacle, reach_mm) {
        return Vec::new();
    }
    let mut events = Vec::new();
    list_events(moving, motion, obstacle, (EPS_MM, reach_mm), &mut events);
    let mut found = Vec::new();
    spans_where(
        &mut events,
        |share| {
            separation_ahead(&motion.footprint_at(moving, share), obstacle)
                .is_some_and(|separation| separation.distance_mm < reach_mm)
        },
        &mut found,
    );
    found
}

/// Sorted, disjoint spans of the motion in which `is_in` is true: a question about how far the footprint
/// reaches ahead of the front edge's line, whose answer may change where it reaches `reach_mm` ahead, and about the
/// distance of its part ahead, whose answer may change at `distance_mm`.
#[must_use]
pub fn spans_ahead(
    moving: &Footprint,
    motion: &Motion,
    obstacle: &Footprint,
    (reach_mm, distance_mm): (f64, f64),
    is_in: impl Fn(&Footprint) -> bool,
) -> Vec<Span> {
    if distance_mm <= 0.0 || out_of_reach(moving, motion, obstacle, distance_mm) {
        return Vec::new();
    }
    let mut events = Vec::new();
    list_events(moving, motion, obstacle, (0.0, distance_mm), &mut events);
    let front = Stretch::endless(obstacle.anchor(), obstacle.ahead);
    for corner in moving.corners() {
        meet_stretch(&motion.track_of(corner), &front, reach_mm, &mut events);
    }
    let mut found = Vec::new();
    spans_where(
        &mut events,
        |share| is_in(&motion.footprint_at(moving, share)),
        &mut found,
    );
    found
}

/// Lists the shares at which contact may begin or end with what lies more than `line_mm` ahead of the
/// front edge's line and less than `reach_mm` from the front edge.
fn list_events(
    moving: &Footprint,
    motion: &Motion,
    obstacle: &Footprint,
    (line_mm, reach_mm): (f64, f64),
    events: &mut Vec<f64>,
) {
    let front = Stretch::endless(obstacle.anchor(), obstacle.ahead);
    let ends = [obstacle.front_left(), obstacle.front_right()];
    for corner in moving.corners() {
        let track = motion.track_of(corner);
        meet_stretch(&track, &front, line_mm, events);
        meet_stretch(&track, &front, reach_mm, events);
        for end in ends {
            meet_circle(&track, end, reach_mm, events);
        }
    }
    let backwards = motion.reversed();
    let past_end = (reach_mm * reach_mm - line_mm * line_mm).sqrt();
    let across = obstacle.half_frontage + past_end;
    for side in [-across, across] {
        let sharp = obstacle.at(side, obstacle.half_depth + line_mm);
        meet_edge_lines(&backwards.track_of(sharp), moving, 0.0, events);
    }
    for end in ends {
        meet_edge_lines(&backwards.track_of(end), moving, reach_mm, events);
    }
}

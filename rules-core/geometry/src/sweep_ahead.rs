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
    let front = Stretch::endless(obstacle.anchor(), obstacle.ahead);
    let ends = [obstacle.front_left(), obstacle.front_right()];
    for corner in moving.corners() {
        let track = motion.track_of(corner);
        meet_stretch(&track, &front, EPS_MM, &mut events);
        meet_stretch(&track, &front, reach_mm, &mut events);
        for end in ends {
            meet_circle(&track, end, reach_mm, &mut events);
        }
    }
    let backwards = motion.reversed();
    let past_end = (reach_mm * reach_mm - EPS_MM * EPS_MM).sqrt();
    let across = obstacle.half_frontage + past_end;
    for side in [-across, across] {
        let sharp = obstacle.at(side, obstacle.half_depth + EPS_MM);
        meet_edge_lines(&backwards.track_of(sharp), moving, 0.0, &mut events);
    }
    for end in ends {
        meet_edge_lines(&backwards.track_of(end), moving, reach_mm, &mut events);
    }
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

//! Where the track of a point meets a straight line, a stretch of one, or a circle.
//!
//! These are the events between which every question of a sweep or a cut is constant. An event
//! too many costs a test, a missing one costs a contact: ends are therefore taken generously.

use super::stretch::Stretch;
use super::{Path, Point, Vector};

const FULL_TURN: f64 = std::f64::consts::TAU;

/// Lists the shares at which `path` is `offset_mm` to the left of the stretch, beside it.
pub(super) fn meet_stretch(path: &Path, stretch: &Stretch, offset_mm: f64, events: &mut Vec<f64>) {
    match *path {
        Path::Straight { from, to } => {
            let step = to - from;
            let closing = step.dot(stretch.left);
            if closing == 0.0 {
                return;
            }
            let share = (offset_mm - (from - stretch.from).dot(stretch.left)) / closing;
            if stretch.reaches(from + step * share) {
                events.push(share);
            }
        }
        Path::Arc {
            centre,
            from,
            clockwise_rad,
        } => {
            let radius = from - centre;
            let off = offset_mm - (centre - stretch.from).dot(stretch.left);
            let half_chord_squared = radius.dot(radius) - off * off;
            if half_chord_squared < 0.0 {
                return;
            }
            let half_chord = half_chord_squared.sqrt();
            for side in [half_chord, -half_chord] {
                let to = stretch.left * off + stretch.along * side;
                if stretch.reaches(centre + to) {
                    push_turn(radius, to, clockwise_rad, events);
                }
            }
        }
    }
}

/// Lists the shares at which `path` is `radius_mm` from `about`.
pub(super) fn meet_circle(path: &Path, about: Point, radius_mm: f64, events: &mut Vec<f64>) {
    meet_circle_where(path, about, radius_mm, |_| true, events);
}

/// As `meet_circle`, of an arc only the meetings that `counts` accepts: cheaper than the angle
/// of one that doesn't matter.
pub(super) fn meet_circle_where(
    path: &Path,
    about: Point,
    radius_mm: f64,
    counts: impl Fn(Point) -> bool,
    events: &mut Vec<f64>,
) {
    match *path {
        Path::Straight { from, to } => {
            if let Some((enters, leaves)) = line_in_disc(from - about, to - from, radius_mm) {
                events.push(enters);
                events.push(leaves);
            }
        }
        Path::Arc {
            centre,
            from,
            clockwise_rad,
        } => {
            let start = from - centre;
            let apart = about - centre;
            let Some(towards) = apart.unit() else { return };
            let distance = apart.length();
            let along =
                (distance * distance + start.dot(start) - radius_mm * radius_mm) / (2.0 * distance);
            let half_chord_squared = start.dot(start) - along * along;
            if half_chord_squared < 0.0 {
                return;
            }
            let across = towards.quarter_right() * half_chord_squared.sqrt();
            for to in [towards * along + across, towards * along - across] {
                if counts(centre + to) {
                    push_turn(start, to, clockwise_rad, events);
                }
            }
        }
    }
}

/// The shares at which `offset + step × share` enters and leaves the disc about the origin.
pub(super) fn line_in_disc(offset: Vector, step: Vector, radius_mm: f64) -> Option<(f64, f64)> {
    let squared = step.dot(step);
    if squared == 0.0 {
        return None;
    }
    // measured from the foot of the perpendicular, so that far starts lose no digits
    let foot = -offset.dot(step) / squared;
    let nearest = offset + step * foot;
    let inside = radius_mm * radius_mm - nearest.dot(nearest);
    if inside < 0.0 {
        return None;
    }
    let half = (inside / squared).sqrt();
    Some((foot - half, foot + half))
}

/// Lists the shares of a turn by `clockwise_rad` at which `start` points along `to`. A root a
/// hair before the start is dropped rather than taken for a full turn: shares 0 and 1 are
/// always events.
fn push_turn(start: Vector, to: Vector, clockwise_rad: f64, events: &mut Vec<f64>) {
    let clockwise = libm::atan2(to.cross(start), start.dot(to));
    let angle = if clockwise_rad < 0.0 {
        -clockwise
    } else {
        clockwise
    };
    let first = if angle < 0.0 {
        angle + FULL_TURN
    } else {
        angle
    };
    let whole = clockwise_rad.abs();
    if first < whole {
        events.push(first / whole);
        if first + FULL_TURN < whole {
            events.push((first + FULL_TURN) / whole);
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn an_arc_meets_a_line_twice_and_a_root_before_the_start_is_no_full_turn() {
        let arc = Path::Arc {
            centre: Point::new(0.0, 0.0),
            from: Point::new(0.0, 10.0),
            clockwise_rad: std::f64::consts::PI,
        };
        let line = Stretch::between(Point::new(-50.0, 5.0), Point::new(50.0, 5.0)).unwrap();
        let mut events = Vec::new();
        meet_stretch(&arc, &line, 0.0, &mut events);
        // only the eastern meeting lies on the clockwise half: 60° of 180°
        assert_eq!(events.len(), 1);
        assert!((events[0] - 1.0 / 3.0).abs() < 1e-12);
        events.clear();
        push_turn(
            Vector::new(0.0, 1.0),
            Vector::new(-1e-17, 1.0),
            std::f64::consts::PI,
            &mut events,
        );
        assert!(events.is_empty(), "{events:?}");
    }
}

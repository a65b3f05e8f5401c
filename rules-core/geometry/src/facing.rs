//! How far a rectangle wheels until the line straight ahead of it meets a point.

use super::{Footprint, Point};

/// The angle in radians, from 0 to less than a full turn, of the wheel about the front corner of that side after which the
/// line straight ahead from the anchor meets the point; `None` where no wheel does: the point is nearer to the
/// corner than the anchor is.
///
/// With `h` from the corner to the anchor and `t` from the corner to the point, the way ahead `u` satisfies
/// `t = √(|t|² − h²) u + h r`, `r` being `u` turned a quarter to the right (`h` counts to the right too): so `u` comes of
/// `t` without a search.
#[must_use]
pub fn wheel_to_face_rad(footprint: &Footprint, to_right: bool, target: Point) -> Option<f64> {
    let (pivot, anchor_right_mm) = if to_right {
        (footprint.front_right(), -footprint.half_frontage)
    } else {
        (footprint.front_left(), footprint.half_frontage)
    };
    let towards = target - pivot;
    let ahead_squared = towards.dot(towards) - anchor_right_mm * anchor_right_mm;
    if ahead_squared <= 0.0 {
        return None;
    }
    let ahead = towards * ahead_squared.sqrt() - towards.quarter_right() * anchor_right_mm;
    let clockwise = libm::atan2(-footprint.ahead.cross(ahead), footprint.ahead.dot(ahead));
    Some(round_from_nought(if to_right {
        clockwise
    } else {
        -clockwise
    }))
}

/// An angle in radians brought into `[0, 2π)`; what is less than nought by rounding alone is nought.
fn round_from_nought(angle_rad: f64) -> f64 {
    if angle_rad < -super::NOTHING {
        angle_rad + std::f64::consts::TAU
    } else if angle_rad < 0.0 {
        0.0
    } else {
        angle_rad
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::{Block, Placement, Vector};

    fn block_at(bearing_deg: f64) -> Footprint {
        let placement = Placement {
            anchor: Point::new(500.0, 400.0),
            ahead: Vector::along_bearing(bearing_deg.to_radians()),
        };
        let block = Block {
            frontage_mm: 120.0,
            depth_mm: 30.0,
        };
        Footprint::new(&placement, block)
    }

    /// Worked by hand: the left corner is at (440, 400), and after a quarter to the left the anchor stands 60 mm north of it,
    /// facing west.
    #[test]
    fn a_quarter_to_the_left_faces_what_lies_west_of_the_anchor_then() {
        let angle = wheel_to_face_rad(&block_at(0.0), false, Point::new(100.0, 460.0));
        assert!((angle.unwrap().to_degrees() - 90.0).abs() < 1e-9);
        let there = wheel_to_face_rad(&block_at(0.0), false, Point::new(500.0, 900.0));
        assert_eq!(there, Some(0.0));
        let inside = wheel_to_face_rad(&block_at(0.0), false, Point::new(450.0, 410.0));
        assert_eq!(inside, None);
    }

    #[test]
    fn the_line_ahead_meets_the_point() {
        for at in 0..5_000 {
            let share = f64::from(at) / 5_000.0;
            let target = Point::new(
                500.0 + 700.0 * libm::sin(share * 91.0),
                400.0 + 900.0 * libm::cos(share * 57.0),
            );
            let footprint = block_at(share * 360.0);
            for to_right in [false, true] {
                let Some(angle) = wheel_to_face_rad(&footprint, to_right, target) else {
                    let pivot = if to_right {
                        footprint.front_right()
                    } else {
                        footprint.front_left()
                    };
                    assert!(pivot.distance_to(target) <= 60.0);
                    continue;
                };
                assert!((0.0..std::f64::consts::TAU).contains(&angle));
                let (pivot, clockwise) = if to_right {
                    (footprint.front_right(), angle)
                } else {
                    (footprint.front_left(), -angle)
                };
                let turned = footprint.turned_about(pivot, clockwise);
                let offset = target - turned.anchor();
                assert!(offset.cross(turned.ahead).abs() < 1e-9, "{at}: {offset:?}");
                assert!(offset.dot(turned.ahead) > 0.0, "{at}: behind");
            }
        }
    }
}

//! The wheels after which a unit faces another's middle or corners.

use crate::geometry::{Footprint, Point, wheel_to_face_rad};
use crate::verdict::{Aim, AimPoint, Spot};

/// The middle of a footprint, then its corners clockwise from the front left one, as a unit can face them.
pub(super) fn aims(own: &Footprint, other: &Footprint) -> Vec<Aim> {
    let [front_left, front_right, rear_right, rear_left] = other.corners();
    [
        (AimPoint::Middle, other.centre),
        (AimPoint::FrontLeft, front_left),
        (AimPoint::FrontRight, front_right),
        (AimPoint::RearRight, rear_right),
        (AimPoint::RearLeft, rear_left),
    ]
    .map(|(point, at)| aim(own, point, at))
    .into()
}

fn aim(own: &Footprint, point: AimPoint, at: Point) -> Aim {
    let towards = at - own.anchor();
    let bearing_deg = towards.bearing_rad().to_degrees();
    let wheel_deg = |to_right| wheel_to_face_rad(own, to_right, at).map(in_millionths);
    Aim {
        point,
        at: Spot::from(at),
        bearing_deg: if bearing_deg < 0.0 {
            bearing_deg + 360.0
        } else {
            bearing_deg
        },
        distance_mm: towards.length(),
        wheel_left_deg: wheel_deg(false),
        wheel_right_deg: wheel_deg(true),
    }
}

/// Degrees in whole millionths, as poses are stored and as a typed sheet reads an aimed wheel.
fn in_millionths(angle_rad: f64) -> f64 {
    (angle_rad.to_degrees() * 1e6).round() / 1e6 % 360.0
}

//! Rounding a computed end to a stored pose that encroaches on nothing more than before.
//!
//! Poses are whole micrometres and micro-degrees, so the exact end of a leg, a fall-back or a
//! follow-up can seldom be stored. Plain rounding may carry a unit a fraction of a micrometre
//! into a zone or a base that it only touched. The pose kept is the nearest whole one that the
//! law at hand calls clear.

use crate::geometry::{Placement, Point, Pose};

/// How many quanta either way are tried in each coordinate. An end squeezed between two limits
/// at a right angle has a clear quantum within one step; four leave room for sharp corners.
const REACH: i32 = 4;

/// The stored pose nearest to a computed placement that `is_clear`: the nearest of all, then
/// its neighbours up to 4 µm either way by their distance from the exact place; of equally near
/// ones the western, then the southern. The bearing is rounded to the nearest micro-degree,
/// which moves a corner 100 mm away by less than 2 nm. `None` when no such pose is clear, or
/// the place is out of reach of a stored pose.
#[must_use]
pub fn settle(placement: &Placement, is_clear: impl Fn(&Pose) -> bool) -> Option<Pose> {
    let nearest = placement.rounded()?;
    if is_clear(&nearest) {
        return Some(nearest);
    }
    neighbours(nearest, placement.anchor)
        .into_iter()
        .find(is_clear)
}

/// The neighbouring poses of the same bearing, nearest to the exact place first.
fn neighbours(middle: Pose, exact: Point) -> Vec<Pose> {
    let mut found = Vec::new();
    for dx in -REACH..=REACH {
        for dy in -REACH..=REACH {
            let (Some(x_um), Some(y_um)) =
                (middle.x_um.checked_add(dx), middle.y_um.checked_add(dy))
            else {
                continue;
            };
            let pose = Pose {
                x_um,
                y_um,
                ..middle
            };
            found.push((
                exact.distance_to(Point::new(pose.x_mm(), pose.y_mm())),
                pose,
            ));
        }
    }
    found.sort_by(|a, b| a.0.total_cmp(&b.0).then_with(|| a.1.cmp(&b.1)));
    found.into_iter().map(|(_, pose)| pose).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::geometry::Vector;

    fn at(x: f64, y: f64) -> Placement {
        Placement {
            anchor: Point::new(x, y),
            ahead: Vector::new(0.0, 1.0),
        }
    }

    #[test]
    fn the_nearest_pose_when_it_is_clear() {
        let pose = settle(&at(10.000_4, 20.000_6), |_| true).expect("clear");
        assert_eq!(
            (pose.x_um, pose.y_um, pose.bearing_udeg),
            (10_000, 20_001, 0)
        );
    }

    #[test]
    fn the_nearest_clear_neighbour_otherwise() {
        // a limit at y = 20.0006 mm that the nearest quantum, 20.001, would break
        let pose = settle(&at(10.000_1, 20.000_6), |pose| pose.y_mm() <= 20.000_6).expect("clear");
        assert_eq!((pose.x_um, pose.y_um), (10_000, 20_000));
        // squeezed between two limits: out of both
        let squeezed = |pose: &Pose| pose.y_mm() <= 20.000_6 && pose.x_mm() >= 10.000_1;
        let pose = settle(&at(10.000_1, 20.000_6), squeezed).expect("clear");
        assert_eq!((pose.x_um, pose.y_um), (10_001, 20_000));
    }

    #[test]
    fn none_when_nothing_near_is_clear() {
        assert_eq!(settle(&at(10.0, 20.0), |_| false), None);
        assert_eq!(settle(&at(f64::NAN, 20.0), |_| true), None);
        assert_eq!(settle(&at(1e12, 20.0), |_| true), None);
    }
}

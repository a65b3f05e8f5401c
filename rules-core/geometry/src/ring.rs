//! A closed ring of points: its sides and its area.

use super::Point;

/// The sides of a ring that closes by itself.
pub(super) fn sides(ring: &[Point]) -> impl Iterator<Item = (Point, Point)> + '_ {
    ring.iter()
        .copied()
        .zip(ring.iter().copied().cycle().skip(1))
}

/// Twice the area of a ring, positive when it runs counter-clockwise.
pub(super) fn doubled_area(ring: &[Point]) -> f64 {
    let Some(&origin) = ring.first() else {
        return 0.0;
    };
    sides(ring).fold(0.0, |sum, (from, to)| {
        sum + (from - origin).cross(to - origin)
    })
}

//! On which side of lines a leg ends, so that storing its end carries no unit onto a line or over it.

use crate::geometry::{EPS_MM, Point, Polyline, Side};

use super::Surroundings;

/// Lines farther off than this cannot be come upon by storing an end, in millimetres: it moves an anchor by less than
/// this.
const NEAR_MM: f64 = 0.02;

/// The sides of the lines very near to the end of a leg that does not end on them.
pub(super) struct Banks<'a>(Vec<(&'a Polyline, Side)>);

impl<'a> Banks<'a> {
    /// Those about the exact end of an anchor's track.
    pub(super) fn about(around: &Surroundings<'a>, anchor: Point) -> Self {
        let charging = around.lines.iter().filter(|(_, line)| line.charge_mm > 0.0);
        let near = charging.filter_map(|(_, line)| {
            let course = &line.course;
            let is_near = course.bounds().widened(NEAR_MM).holds(anchor);
            let is_off = || is_off(course, anchor) && course.distance_mm(anchor) < NEAR_MM;
            (is_near && is_off()).then(|| Some((course, course.side_of(anchor)?)))?
        });
        Self(near.collect())
    }

    /// Whether an anchor there is off all of them, on the same sides.
    pub(super) fn are_kept(&self, anchor: Point) -> bool {
        self.0
            .iter()
            .all(|(course, side)| is_off(course, anchor) && course.side_of(anchor) == Some(*side))
    }
}

fn is_off(course: &Polyline, anchor: Point) -> bool {
    course.distance_mm(anchor) > EPS_MM
}

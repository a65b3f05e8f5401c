//! Patches of ground: inside or out, and how deep a base stands in one.

use crate::plane::{Point, Rect, point_to_segment};
use crate::search::greatest;

/// Outline and clearings; a point inside an odd number of rings is in the patch.
#[derive(Debug, Clone)]
pub struct Patch {
    pub rings: Vec<Vec<Point>>,
    pub rate: f64,
    pub impassable: bool,
    pub defence: f64,
    pub shift: i32,
}

impl Patch {
    pub fn edges(&self) -> impl Iterator<Item = (Point, Point)> + '_ {
        self.rings
            .iter()
            .flat_map(|ring| (0..ring.len()).map(|i| (ring[i], ring[(i + 1) % ring.len()])))
    }

    /// Distance to the nearest edge.
    pub fn to_edge(&self, point: Point) -> f64 {
        self.edges()
            .map(|(a, b)| point_to_segment(point, a, b))
            .fold(f64::INFINITY, f64::min)
    }

    pub fn holds(&self, point: Point) -> bool {
        self.edges().fold(false, |inside, (a, b)| {
            let spans = (a.y > point.y) != (b.y > point.y);
            let crosses = spans && point.x < a.x + (point.y - a.y) / (b.y - a.y) * (b.x - a.x);
            inside != crosses
        })
    }

    /// How deep a base stands in it: a corner inside the patch, or the patch's edge inside the base.
    pub fn depth(&self, rect: &Rect) -> f64 {
        let reach = rect.wide + rect.deep;
        let centre = rect.centre();
        let near = self.to_edge(centre) < reach;
        if !near && !self.holds(centre) {
            return 0.0;
        }
        let mut deepest = 0.0f64;
        // where edges lie on edges neither has a corner or an edge inside the other
        if self.holds(centre) {
            let half = (rect.wide / 2.0).min(rect.deep / 2.0);
            deepest = self.to_edge(centre).min(half);
        }
        for corner in rect.corners() {
            if self.holds(corner) {
                deepest = deepest.max(self.to_edge(corner));
            }
        }
        let inner = |point: Point| {
            let (across, along) = rect.local(point);
            (rect.wide / 2.0 - across.abs()).min(rect.deep / 2.0 - along.abs())
        };
        for (a, b) in self.edges() {
            if point_to_segment(centre, a, b) < reach {
                let (_, depth) = greatest(|share| inner(a.towards(b, share)), 8, a.distance_to(b));
                deepest = deepest.max(depth);
            }
        }
        deepest
    }
}

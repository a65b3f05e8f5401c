//! Ground gathered piece by piece, for the anchor and for the footprint, and then outlined.

use crate::geometry::{Block, Bounds, Footprint, Placement, Point, Vector, larger, smaller};
use crate::verdict::Outline;

use super::fan::Ray;
use super::footprint_on;
use super::outlines::outlines;
use super::raster::Raster;

/// How deep a notch between footprints may be filled, in millimetres.
const NOTCH_MM: f64 = 0.3;

/// Ground reached.
pub(super) struct Ground {
    /// Where the anchor can come to stand.
    anchors: Raster,
    /// What the footprint can come to cover.
    footprints: Raster,
}

/// A convex piece with up to sixteen corners.
struct Hull {
    corners: [Point; 16],
    count: usize,
}

/// Both grounds with their outlines.
pub(super) struct Drawn {
    pub(super) anchor: Vec<Outline>,
    pub(super) footprint: Vec<Outline>,
    pub(super) cell_mm: f64,
}

impl Ground {
    /// No ground yet, in bounds that hold all that may be added.
    pub(super) fn within(bounds: &Bounds) -> Self {
        Self {
            anchors: Raster::over(bounds),
            footprints: Raster::over(bounds),
        }
    }

    /// Adds the ground of a unit that stands.
    pub(super) fn stand(&mut self, placement: &Placement, block: Block) {
        self.anchors.draw(placement.anchor, placement.anchor);
        let corners = Footprint::new(placement, block).corners();
        self.footprints.fill(&corners);
    }

    /// Adds the ground of neighbouring rays.
    pub(super) fn cover(&mut self, rays: &[Ray], block: Block) {
        for (index, ray) in rays.iter().enumerate() {
            let next = rays.get(index + 1);
            let joined = ray.joins_next && next.is_some();
            self.tips(ray);
            if !joined {
                self.end_fan(ray, block);
            }
            let Some(next) = next else { continue };
            for (own, others) in pairs(ray, next, joined) {
                self.between_anchors([
                    ray.at(own.0),
                    ray.at(own.1),
                    next.at(others.1),
                    next.at(others.0),
                ]);
                if joined {
                    self.between_footprints(ray, own, next, others, block);
                }
            }
        }
    }

    /// Draws the ends of a ray: in a sharp tip of ground lies no cell's middle.
    fn tips(&mut self, ray: &Ray) {
        const TIP_MM: f64 = 3.0;
        for &(from_mm, to_mm) in &ray.run.stretches {
            let tip_mm = smaller(TIP_MM, to_mm - from_mm);
            self.anchors.draw(ray.at(to_mm - tip_mm), ray.at(to_mm));
            if from_mm > 0.0 {
                self.anchors.draw(ray.at(from_mm), ray.at(from_mm + tip_mm));
            }
        }
    }

    /// Adds the ground of a ray that does not join the next.
    fn end_fan(&mut self, ray: &Ray, block: Block) {
        for &(from_mm, to_mm) in &ray.run.stretches {
            self.anchors.draw(ray.at(from_mm), ray.at(to_mm));
            let corners = [from_mm, to_mm].map(|end| footprint_on(ray, block, end).corners());
            self.footprints.fill(hull(corners.as_flattened()).corners());
        }
    }

    /// Adds the ground between the ends of two stretches, in order round it.
    fn between_anchors(&mut self, corners: [Point; 4]) {
        self.anchors.fill(&corners);
        if is_thin(&corners) {
            let [from, to, to_next, from_next] = corners;
            self.anchors.draw(from, to);
            self.anchors.draw(from, from_next);
            self.anchors.draw(to, to_next);
        }
    }

    /// Adds everything a footprint covers on and between stretches of two neighbouring rays that end alike.
    ///
    /// The hull of two footprints that are turned against each other fills the notch between their
    /// crossed edges, which no footprint between them covers: half a diagonal times half the turn deep. So
    /// the turn is made in steps small enough for that.
    fn between_footprints(
        &mut self,
        one: &Ray,
        own: Stretch,
        other: &Ray,
        others: Stretch,
        block: Block,
    ) {
        let (from, to) = (one.from.placement.ahead, other.from.placement.ahead);
        // clockwise
        let turn_rad = libm::atan2(to.cross(from), from.dot(to));
        let diagonal = Vector::new(block.frontage_mm, block.depth_mm);
        let steps = larger(
            (turn_rad.abs() * diagonal.length() / 4.0 / NOTCH_MM).ceil(),
            1.0,
        );
        let starts = (one.at(own.0), other.at(others.0));
        let ends = (one.at(own.1), other.at(others.1));
        let at = |share: f64| {
            let ahead = from.turned(turn_rad * share);
            let anchors = [
                starts.0.towards(starts.1, share),
                ends.0.towards(ends.1, share),
            ];
            anchors.map(|anchor| Footprint::new(&Placement { anchor, ahead }, block).corners())
        };
        let (mut step, mut before) = (0.0, at(0.0));
        while step < steps {
            step += 1.0;
            let after = at(step / steps);
            let both = [before, after];
            self.footprints
                .fill(hull(both.as_flattened().as_flattened()).corners());
            before = after;
        }
    }

    /// The outlines of everything gathered.
    pub(super) fn outlines(&self) -> Drawn {
        Drawn {
            anchor: outlines(&self.anchors),
            footprint: outlines(&self.footprints),
            // both lie within the same bounds
            cell_mm: self.anchors.cell_mm(),
        }
    }
}

/// Whether ground between two rays may hold no cell's middle: a block that wheels moves its anchor the
/// way it then marches, so some fans are all but lines.
fn is_thin([one, two, three, four]: &[Point; 4]) -> bool {
    const NARROW_MM: f64 = 0.75;
    let (across, other) = (*three - *one, *four - *two);
    let long_mm = larger(across.length(), other.length());
    across.cross(other).abs() / 2.0 < NARROW_MM * long_mm
}

type Stretch = (f64, f64);

/// Stretches of two neighbouring rays with ground between them: each with its like when the rays
/// end alike, else the parts they share.
fn pairs(one: &Ray, other: &Ray, joined: bool) -> Vec<(Stretch, Stretch)> {
    let (ours, theirs) = (&one.run.stretches, &other.run.stretches);
    if joined {
        return ours.iter().copied().zip(theirs.iter().copied()).collect();
    }
    let mut shared = Vec::new();
    for own in ours {
        for others in theirs {
            let both = (larger(own.0, others.0), smaller(own.1, others.1));
            if both.0 < both.1 {
                shared.push((both, both));
            }
        }
    }
    shared
}

/// The convex hull of up to sixteen points, counter-clockwise (the monotone chain, from memory).
fn hull(given: &[Point]) -> Hull {
    let mut points = [Point::new(0.0, 0.0); 16];
    let points = &mut points[..given.len().min(16)];
    points.copy_from_slice(&given[..points.len()]);
    points.sort_unstable_by(|a, b| a.x.total_cmp(&b.x).then(a.y.total_cmp(&b.y)));
    let mut corners = [points[0]; 32];
    let mut count = 0;
    let mut least = 0;
    let turns = |a: Point, b: Point, c: Point| (b - a).cross(c - b) > 0.0;
    for pass in 0..2 {
        for step in 0..points.len() {
            let point = if pass == 0 {
                points[step]
            } else {
                points[points.len() - 1 - step]
            };
            while count >= least + 2 && !turns(corners[count - 2], corners[count - 1], point) {
                count -= 1;
            }
            corners[count] = point;
            count += 1;
        }
        count -= 1;
        least = count;
    }
    let count = count.clamp(1, 16);
    let mut hull = Hull {
        corners: [points[0]; 16],
        count,
    };
    hull.corners[..count].copy_from_slice(&corners[..count]);
    hull
}

impl Hull {
    fn corners(&self) -> &[Point] {
        &self.corners[..self.count]
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_hull_of_two_squares() {
        let square = |x: f64, y: f64| {
            [
                Point::new(x, y),
                Point::new(x + 10.0, y),
                Point::new(x + 10.0, y + 10.0),
                Point::new(x, y + 10.0),
            ]
        };
        let points = [square(0.0, 0.0), square(30.0, 20.0)].concat();
        let hull = hull(&points);
        assert_eq!(
            hull.corners(),
            [
                Point::new(0.0, 0.0),
                Point::new(10.0, 0.0),
                Point::new(40.0, 20.0),
                Point::new(40.0, 30.0),
                Point::new(30.0, 30.0),
                Point::new(0.0, 10.0),
            ]
        );
        let twice = [square(0.0, 0.0), square(0.0, 0.0)].concat();
        assert_eq!(super::hull(&twice).corners(), square(0.0, 0.0));
    }
}

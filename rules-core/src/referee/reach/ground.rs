//! Ground gathered piece by piece, for the anchor and for the footprint, and then outlined.

use crate::geometry::{Block, Bounds, Footprint, Placement, Point, larger, smaller};
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
            let before = index.checked_sub(1).and_then(|before| rays.get(before));
            let before = before.filter(|before| before.joins_next);
            self.tips(ray, before, next.filter(|_| joined));
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

    /// Draws the ends of a ray between those that it joins where they are sharp: in a sharp tip of ground lies no
    /// cell's middle.
    fn tips(&mut self, ray: &Ray, before: Option<&Ray>, next: Option<&Ray>) {
        const TIP_MM: f64 = 3.0;
        let is_sharp = |index: usize, end: fn(Stretch) -> f64| {
            let place = |ray: &Ray| Some(ray.at(end(*ray.run.stretches.get(index)?)));
            match (place(ray), before.and_then(place), next.and_then(place)) {
                (Some(tip), Some(one), Some(other)) => (one - tip).dot(other - tip) >= 0.0,
                _ => true,
            }
        };
        for (index, &(from_mm, to_mm)) in ray.run.stretches.iter().enumerate() {
            let tip_mm = smaller(TIP_MM, to_mm - from_mm);
            if is_sharp(index, |stretch| stretch.1) {
                self.anchors.draw(ray.at(to_mm - tip_mm), ray.at(to_mm));
            }
            if from_mm > 0.0 && is_sharp(index, |stretch| stretch.0) {
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
            // what lies within a cell of that line shows by it
            for (end, next) in [(from, from_next), (to, to_next)] {
                if end.distance_to(next) > self.anchors.cell_mm() {
                    self.anchors.draw(end, next);
                }
            }
        }
    }

    /// Adds everything a footprint covers on and between stretches of two neighbouring rays that end alike.
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
        if turn_rad == 0.0 {
            let both = [at(0.0), at(1.0)];
            let hull = hull(both.as_flattened().as_flattened());
            self.footprints.fill(hull.corners());
            return;
        }
        // who wheels and marches covers the block as the march begins, and the way from its front to that of its end
        self.between_turned(|share| at(share)[0]);
        self.between_turned(|share| {
            let [start, end] = at(share);
            [end[0], end[1], start[1], start[0]]
        });
    }

    /// Adds all that a rectangle covers while it turns and slides, given where it is after which share.
    ///
    /// The hull of two rectangles that are turned against each other fills the notch between their
    /// crossed edges, which none between them covers. So the turn is made in steps small enough for that.
    fn between_turned(&mut self, at: impl Fn(f64) -> [Point; 4]) {
        let mut before = at(0.0);
        let last = at(1.0);
        let steps = larger((notch_mm(&before, &last) / NOTCH_MM).ceil(), 1.0);
        let mut step = 0.0;
        while step < steps {
            step += 1.0;
            let after = if step < steps { at(step / steps) } else { last };
            self.footprints
                .fill(hull([before, after].as_flattened()).corners());
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

/// How deep a notch may be between the edges of two rectangles, corners clockwise, that their hull fills: where
/// two like edges cross, it lies below the line between the ends that stand out.
fn notch_mm(one: &[Point; 4], other: &[Point; 4]) -> f64 {
    let mut deepest_mm = 0.0;
    for index in 0..4 {
        let next = (index + 1) % 4;
        let (own, others) = ((one[index], one[next]), (other[index], other[next]));
        let out = [
            (outside_mm(own, others.0), outside_mm(others, own.1)),
            (outside_mm(own, others.1), outside_mm(others, own.0)),
        ];
        for (here_mm, there_mm) in out {
            deepest_mm = larger(deepest_mm, smaller(here_mm, there_mm));
        }
    }
    deepest_mm
}

/// How far to the left of an edge a point lies, below 0 to its right; 0 when the edge has no length.
fn outside_mm((from, to): (Point, Point), point: Point) -> f64 {
    (to - from)
        .unit()
        .map_or(0.0, |along| along.cross(point - from))
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
    use crate::geometry::Vector;

    #[test]
    fn a_notch_is_as_deep_as_like_edges_cross() {
        let bar = |angle_rad: f64, by: f64| {
            let placement = Placement {
                anchor: Point::new(by, 0.0),
                ahead: Vector::new(0.0, 1.0),
            };
            let block = Block {
                frontage_mm: 80.0,
                depth_mm: 40.0,
            };
            let footprint = Footprint::new(&placement, block);
            footprint
                .turned_about(Point::new(0.0, 0.0), angle_rad)
                .corners()
        };
        // about the middle of the front: the ends of its edge rise by half a frontage times the sine
        let rise_mm = 40.0 * libm::sin(0.05);
        for angle in [0.05, -0.05] {
            let notch_mm = notch_mm(&bar(0.0, 0.0), &bar(angle, 0.0));
            assert!((notch_mm - rise_mm).abs() < 1e-9, "{notch_mm} {rise_mm}");
        }
        // about a front corner nothing crosses, nor in sliding
        assert!(notch_mm(&bar(0.0, 40.0), &bar(0.05, 40.0)) < 1e-9);
        assert!(notch_mm(&bar(0.0, 0.0), &bar(0.0, 30.0)) < 1e-9);
    }

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

//! Ground gathered piece by piece, for the anchor and for the footprint, and then outlined.

use crate::geometry::{Block, Bounds, Footprint, Placement, Point, larger, smaller};
use crate::verdict::Outline;

use super::fan::Ray;
use super::footprint_on;
use super::outlines::outlines;
use super::raster::Raster;

/// How deep a notch between footprints may be filled, in millimetres.
const NOTCH_MM: f64 = 0.3;

/// Pieces of ground reached.
#[derive(Debug, Default)]
pub(super) struct Ground {
    /// Convex pieces the anchor can stand in, each up to four corners; two make a line.
    anchors: Vec<Piece<4>>,
    /// Convex pieces the footprint can cover.
    footprints: Vec<Piece<16>>,
}

/// A convex piece with a few corners.
#[derive(Debug, Clone, Copy)]
struct Piece<const MOST: usize> {
    corners: [Point; MOST],
    count: usize,
}

/// Both grounds with their outlines.
pub(super) struct Drawn {
    pub(super) anchor: Vec<Outline>,
    pub(super) footprint: Vec<Outline>,
    pub(super) cell_mm: f64,
}

impl Ground {
    /// Adds the ground of a unit that stands.
    pub(super) fn stand(&mut self, placement: &Placement, block: Block) {
        self.anchors
            .push(Piece::of(&[placement.anchor, placement.anchor]));
        let corners = Footprint::new(placement, block).corners();
        self.footprints.push(Piece::of(&corners));
    }

    /// Adds the ground of neighbouring rays.
    pub(super) fn cover(&mut self, rays: &[Ray], block: Block) {
        for (index, ray) in rays.iter().enumerate() {
            let next = rays.get(index + 1);
            let joined = ray.joins_next && next.is_some();
            for &stretch in &ray.run.stretches {
                self.anchors
                    .push(Piece::of(&[ray.at(stretch.0), ray.at(stretch.1)]));
                if !joined {
                    let ends = [stretch.0, stretch.1];
                    let corners = ends.map(|end| footprint_on(ray, block, end).corners());
                    self.footprints.push(hull_of(corners.as_flattened()));
                }
            }
            let Some(next) = next else { continue };
            for (own, others) in pairs(ray, next, joined) {
                self.anchors.push(Piece::of(&[
                    ray.at(own.0),
                    ray.at(own.1),
                    next.at(others.1),
                    next.at(others.0),
                ]));
                if joined {
                    self.footprints
                        .extend(between(ray, own, next, others, block));
                }
            }
        }
    }

    /// The outlines of everything gathered.
    pub(super) fn outlines(&self) -> Drawn {
        let mut anchors = raster_for(&self.anchors);
        for piece in &self.anchors {
            match piece.corners() {
                [from, to] => anchors.draw(*from, *to),
                corners => anchors.fill(corners),
            }
        }
        let mut footprints = raster_for(&self.footprints);
        for piece in &self.footprints {
            footprints.fill(piece.corners());
        }
        Drawn {
            anchor: outlines(&anchors),
            footprint: outlines(&footprints),
            cell_mm: larger(anchors.cell_mm(), footprints.cell_mm()),
        }
    }
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

/// Everything a footprint covers on and between stretches of two neighbouring rays that end alike.
///
/// The hull of two footprints that are turned against each other fills the notch between their
/// crossed edges, which no footprint between them covers: half a diagonal times half the turn deep. So the turn is
/// made in steps small enough for that.
fn between(
    one: &Ray,
    own: Stretch,
    other: &Ray,
    others: Stretch,
    block: Block,
) -> impl Iterator<Item = Piece<16>> {
    let (from, to) = (one.from.placement.ahead, other.from.placement.ahead);
    // clockwise
    let turn_rad = libm::atan2(to.cross(from), from.dot(to));
    let half_mm =
        (block.frontage_mm * block.frontage_mm + block.depth_mm * block.depth_mm).sqrt() / 2.0;
    let wanted = (turn_rad.abs() * half_mm / 2.0 / NOTCH_MM).ceil();
    let steps = larger(wanted, 1.0);
    let starts = (one.at(own.0), other.at(others.0));
    let ends = (one.at(own.1), other.at(others.1));
    let at = move |share: f64| {
        let ahead = from.turned(turn_rad * share);
        let anchors = [
            starts.0.towards(starts.1, share),
            ends.0.towards(ends.1, share),
        ];
        anchors.map(|anchor| Footprint::new(&Placement { anchor, ahead }, block).corners())
    };
    let mut step = 0.0;
    std::iter::from_fn(move || {
        (step < steps).then(|| {
            let corners = [at(step / steps), at((step + 1.0) / steps)];
            step += 1.0;
            hull_of(corners.as_flattened().as_flattened())
        })
    })
}

/// The hull of up to sixteen corners.
fn hull_of(corners: &[Point]) -> Piece<16> {
    let mut points = [Point::new(0.0, 0.0); 16];
    let count = corners.len().min(points.len());
    points[..count].copy_from_slice(&corners[..count]);
    hull(&mut points[..count])
}

/// The convex hull of up to sixteen points, counter-clockwise (the monotone chain, from memory).
fn hull(points: &mut [Point]) -> Piece<16> {
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
    Piece::of(&corners[..count.clamp(1, 16)])
}

impl<const MOST: usize> Piece<MOST> {
    fn of(points: &[Point]) -> Self {
        let mut corners = [points[0]; MOST];
        corners[..points.len()].copy_from_slice(points);
        Self {
            corners,
            count: points.len(),
        }
    }

    fn corners(&self) -> &[Point] {
        &self.corners[..self.count]
    }
}

fn raster_for<const MOST: usize>(pieces: &[Piece<MOST>]) -> Raster {
    let mut bounds = Bounds::about(&[]);
    for piece in pieces {
        let own = Bounds::about(piece.corners());
        bounds.low = Point::new(
            smaller(bounds.low.x, own.low.x),
            smaller(bounds.low.y, own.low.y),
        );
        bounds.high = Point::new(
            larger(bounds.high.x, own.high.x),
            larger(bounds.high.y, own.high.y),
        );
    }
    Raster::over(&bounds)
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
        let mut points = [square(0.0, 0.0), square(30.0, 20.0)].concat();
        let hull = hull(&mut points);
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
        let mut twice = [square(0.0, 0.0), square(0.0, 0.0)].concat();
        assert_eq!(super::hull(&mut twice).corners(), square(0.0, 0.0));
    }
}

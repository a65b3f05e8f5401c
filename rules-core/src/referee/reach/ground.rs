//! Ground gathered piece by piece, for the anchor and for the footprint, and then outlined.

use crate::geometry::{Block, Bounds, Footprint, Placement, Point, Vector, larger, smaller};
use crate::verdict::Outline;

use super::fan::Ray;
use super::footprint_on;
use super::hull::Hull;
use super::outlines::outlines;
use super::raster::Raster;

/// How much of the arc of a block's corner may be left out, in millimetres.
const SAG_MM: f64 = 0.1;

/// Ground reached.
pub(super) struct Ground {
    /// Where the anchor can come to stand.
    anchors: Raster,
    /// What the footprint can come to cover.
    footprints: Raster,
    hull: Hull,
}

/// From one place on a ray to another, in millimetres.
type Stretch = (f64, f64);

/// A part of a ray with what the block covers on it: a strip as wide as its front.
#[derive(Clone, Copy)]
struct Strip<'a> {
    ray: &'a Ray,
    stretch: Stretch,
    half_mm: f64,
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
            hull: Hull::default(),
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
        let mut before: Option<&Ray> = None;
        for chain in rays.chunk_by(|ray, _| ray.joins_next) {
            if let (Some(one), Some(next)) = (before, chain.first()) {
                for shared in shared_stretches(one, next) {
                    self.between_anchors(&[(one, shared), (next, shared)]);
                }
            }
            for (index, ray) in chain.iter().enumerate() {
                let before = index.checked_sub(1).and_then(|before| chain.get(before));
                self.tips(ray, before, chain.get(index + 1));
            }
            if let Some(last) = chain.last() {
                self.end_chain(last, block);
            }
            self.chain(chain, block);
            before = chain.last();
        }
    }

    /// Adds the ground between rays that join each other, all of which have as many stretches.
    fn chain(&mut self, chain: &[Ray], block: Block) {
        let Some(count) = chain.iter().map(|ray| ray.run.stretches.len()).min() else {
            return;
        };
        if chain.len() < 2 {
            return;
        }
        let turns = chain[0].from.placement.ahead != chain[1].from.placement.ahead;
        for index in 0..count {
            let stretches = chain.iter().map(|ray| (ray, ray.run.stretches[index]));
            let stretches: Vec<(&Ray, Stretch)> = stretches.collect();
            self.between_anchors(&stretches);
            if turns {
                self.between_turned(&stretches, block);
            } else {
                self.between_slid(&stretches, block);
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
    fn end_chain(&mut self, ray: &Ray, block: Block) {
        for &own in &ray.run.stretches {
            self.anchors.draw(ray.at(own.0), ray.at(own.1));
            let corners = at_both_ends(ray, own, block);
            self.footprints.fill(self.hull.about(&corners).corners());
        }
    }

    /// Adds the ground between stretches of neighbouring rays.
    fn between_anchors(&mut self, stretches: &[(&Ray, Stretch)]) {
        let starts = stretches.iter().map(|(ray, own)| ray.at(own.0));
        let ends = stretches.iter().map(|(ray, own)| ray.at(own.1));
        let ring: Vec<Point> = starts.chain(ends.rev()).collect();
        self.anchors.fill_ring(&ring);
        for index in 0..stretches.len() - 1 {
            let (end, last) = (ring.len() - 1 - index, ring.len() - 2 - index);
            self.show_thin([ring[index], ring[end], ring[last], ring[index + 1]]);
        }
    }

    /// Draws ground between the ends of two stretches, in order round it, where it is thin.
    fn show_thin(&mut self, corners: [Point; 4]) {
        if !is_thin(&corners) {
            return;
        }
        let [from, to, to_next, from_next] = corners;
        self.anchors.draw(from, to);
        // what lies within a cell of that line shows by it
        for (end, next) in [(from, from_next), (to, to_next)] {
            if end.distance_to(next) > self.anchors.cell_mm() {
                self.anchors.draw(end, next);
            }
        }
    }

    /// Adds what a block that does not turn covers on and between stretches of rays that join.
    fn between_slid(&mut self, stretches: &[(&Ray, Stretch)], block: Block) {
        for pair in stretches.windows(2) {
            let corners = [pair[0], pair[1]].map(|(ray, own)| at_both_ends(ray, own, block));
            self.footprints
                .fill(self.hull.about(corners.as_flattened()).corners());
        }
    }

    /// Adds what a block covers on and between stretches of rays after wheels about one front corner: on each ray a
    /// strip, here parted at the line of that corner.
    fn between_turned(&mut self, stretches: &[(&Ray, Stretch)], block: Block) {
        let parts = |part: fn(Stretch) -> Stretch| -> Vec<Strip<'_>> {
            let strip = |&(ray, (from_mm, to_mm)): &(_, Stretch)| Strip {
                ray,
                stretch: part((from_mm - block.depth_mm, to_mm)),
                half_mm: block.frontage_mm / 2.0,
            };
            stretches.iter().map(strip).collect()
        };
        self.strips(&parts(|(from, to)| (larger(from, 0.0), to)));
        let behind = parts(|(from, to)| (smaller(from, 0.0), smaller(to, 0.0)));
        if stretches.iter().any(|(_, own)| own.0 > 0.0) {
            self.strips(&behind);
        } else {
            self.corner_turned(&behind, block);
        }
    }

    /// Adds strips and what they pass over from ray to ray. Their ends only cross: what one leaves the next covers,
    /// but for what their long sides pass over.
    fn strips(&mut self, strips: &[Strip<'_>]) {
        for side in [-1.0, 1.0] {
            let starts = strips.iter().map(|strip| strip.at(side, strip.stretch.0));
            let ends = strips.iter().map(|strip| strip.at(side, strip.stretch.1));
            let ring: Vec<Point> = starts.chain(ends.rev()).collect();
            self.footprints.fill_ring(&ring);
        }
        for strip in strips {
            self.footprints.fill(&strip.corners());
        }
    }

    /// Adds a block that turns about its corner, which moves so little from ray to ray that most are passed over: the
    /// far corner's arc rises above its chord by an eighth of its reach times the angle squared.
    fn corner_turned(&mut self, blocks: &[Strip<'_>], block: Block) {
        let reach_mm = Vector::new(block.frontage_mm, block.depth_mm).length();
        let widest_rad = (8.0 * SAG_MM / reach_mm).sqrt();
        let mut last_rad = f64::NEG_INFINITY;
        for (index, here) in blocks.iter().enumerate() {
            let next = blocks.get(index + 1);
            if next.is_none_or(|next| next.ray.angle_rad - last_rad > widest_rad) {
                self.footprints.fill(&here.corners());
                last_rad = here.ray.angle_rad;
            }
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

impl Strip<'_> {
    /// A place on its long side to the left, -1, or to the right, 1.
    fn at(&self, side: f64, along_mm: f64) -> Point {
        let right = self.ray.from.placement.right();
        self.ray.at(along_mm) + right * (side * self.half_mm)
    }

    fn corners(&self) -> [Point; 4] {
        [
            self.at(-1.0, self.stretch.0),
            self.at(-1.0, self.stretch.1),
            self.at(1.0, self.stretch.1),
            self.at(1.0, self.stretch.0),
        ]
    }
}

/// Corners of the block at the start of a stretch and at its end.
fn at_both_ends(ray: &Ray, (from_mm, to_mm): Stretch, block: Block) -> [Point; 8] {
    let corners = |along_mm: f64| footprint_on(ray, block, along_mm).corners();
    let ([a, b, c, d], [e, f, g, h]) = (corners(from_mm), corners(to_mm));
    [a, b, c, d, e, f, g, h]
}

/// Whether ground between two rays may hold no cell's middle: a block that wheels moves its anchor the
/// way it then marches, so some fans are all but lines.
fn is_thin([one, two, three, four]: &[Point; 4]) -> bool {
    const NARROW_MM: f64 = 0.75;
    let (across, other) = (*three - *one, *four - *two);
    let long_mm = larger(across.length(), other.length());
    across.cross(other).abs() / 2.0 < NARROW_MM * long_mm
}

/// The parts that stretches of two rays share.
fn shared_stretches(one: &Ray, other: &Ray) -> Vec<Stretch> {
    let mut shared = Vec::new();
    for own in &one.run.stretches {
        for others in &other.run.stretches {
            let both = (larger(own.0, others.0), smaller(own.1, others.1));
            if both.0 < both.1 {
                shared.push(both);
            }
        }
    }
    shared
}

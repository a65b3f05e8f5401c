//! Outlines and courses as drawing needs them: inside or not, where to scatter, how to hatch.
//! Nothing here rules; the referee measures with the geometry room.

use fieldpost_rules::geometry::{Point, Vector, distance_point_stretch_mm, larger, smaller};

use super::frame::points_of;

/// An outline with its clearings, in millimetres of table.
pub(crate) struct Shape {
    rings: Vec<Vec<Point>>,
    low: Point,
    high: Point,
}

impl Shape {
    /// From a scenario's corners.
    pub(crate) fn new(outline: &[[f64; 2]], holes: &[Vec<[f64; 2]>]) -> Self {
        let rings: Vec<Vec<Point>> = std::iter::once(points_of(outline))
            .chain(holes.iter().map(|hole| points_of(hole)))
            .collect();
        let start = rings[0].first().copied().unwrap_or(Point::new(0.0, 0.0));
        let (mut low, mut high) = (start, start);
        for point in &rings[0] {
            low = Point::new(smaller(low.x, point.x), smaller(low.y, point.y));
            high = Point::new(larger(high.x, point.x), larger(high.y, point.y));
        }
        Self { rings, low, high }
    }

    /// Outline and clearings.
    pub(crate) fn rings(&self) -> &[Vec<Point>] {
        &self.rings
    }

    /// South-west and north-east corner of its upright box.
    pub(crate) fn bounds(&self) -> (Point, Point) {
        (self.low, self.high)
    }

    fn edges(&self) -> impl Iterator<Item = (Point, Point)> + '_ {
        self.rings.iter().flat_map(|ring| {
            ring.iter()
                .copied()
                .zip(ring.iter().copied().cycle().skip(1))
        })
    }

    /// Whether a point lies inside (even–odd).
    pub(crate) fn holds(&self, point: Point) -> bool {
        let mut inside = false;
        for (a, b) in self.edges() {
            if (a.y > point.y) != (b.y > point.y)
                && point.x < a.x + (b.x - a.x) * (point.y - a.y) / (b.y - a.y)
            {
                inside = !inside;
            }
        }
        inside
    }

    /// Distance to the nearest edge in millimetres.
    pub(crate) fn to_edge_mm(&self, point: Point) -> f64 {
        let mut least = f64::INFINITY;
        for (a, b) in self.edges() {
            least = smaller(least, distance_point_stretch_mm(point, a, b));
        }
        least
    }

    /// Direction of its longest edge.
    pub(crate) fn grain(&self) -> Vector {
        let mut longest = Vector::new(1.0, 0.0);
        let mut length = 0.0;
        for (a, b) in self.edges() {
            if (b - a).length() > length {
                length = (b - a).length();
                longest = b - a;
            }
        }
        longest.unit().unwrap_or(Vector::new(1.0, 0.0))
    }

    /// Scattered places inside, the same every time: one in each cell of a grid, shaken; each
    /// with a number in 0..1 of its own. None is nearer the edge than `inset_mm`.
    pub(crate) fn scattered(&self, spacing_mm: f64, inset_mm: f64, seed: u64) -> Vec<(Point, f64)> {
        let (wide, deep) = (self.high.x - self.low.x, self.high.y - self.low.y);
        let spacing = larger(spacing_mm, (wide * deep / MOST_SCATTERED).sqrt());
        let mut places = Vec::new();
        for row in 0..cells(deep, spacing) {
            for column in 0..cells(wide, spacing) {
                let chance = |part| shaken(seed, row, column, part);
                let shift = if row % 2 == 0 { 0.25 } else { 0.75 };
                let x =
                    self.low.x + (f64::from(column) + shift + 0.5 * (chance(0) - 0.5)) * spacing;
                let y = self.high.y - (f64::from(row) + 0.5 + 0.5 * (chance(1) - 0.5)) * spacing;
                let place = Point::new(x, y);
                if self.holds(place) && self.to_edge_mm(place) >= inset_mm {
                    places.push((place, chance(2)));
                }
            }
        }
        places
    }

    /// Parallel strokes across the inside, at a spacing, along a direction.
    pub(crate) fn hatched(&self, along: Vector, spacing_mm: f64) -> Vec<(Point, Point)> {
        let across = along.quarter_right();
        let middle = self.low.towards(self.high, 0.5);
        let reach = (self.high - self.low).length() / 2.0;
        let spacing = larger(spacing_mm, reach / 150.0);
        let mut strokes = Vec::new();
        for step in 0..cells(reach * 2.0, spacing) {
            let through = middle + across * (-reach + (f64::from(step) + 0.5) * spacing);
            let mut cuts = Vec::new();
            for (a, b) in self.edges() {
                let (side_a, side_b) = ((a - through).dot(across), (b - through).dot(across));
                if (side_a > 0.0) != (side_b > 0.0) {
                    let cut = a.towards(b, side_a / (side_a - side_b));
                    cuts.push((cut - through).dot(along));
                }
            }
            cuts.sort_by(f64::total_cmp);
            for pair in cuts.chunks_exact(2) {
                strokes.push((through + along * pair[0], through + along * pair[1]));
            }
        }
        strokes
    }
}

/// No patch gets more scattered things than about this.
const MOST_SCATTERED: f64 = 1200.0;

fn cells(length: f64, spacing: f64) -> u32 {
    let count = (length / spacing).ceil();
    if count > 0.0 && count < 4096.0 {
        #[expect(
            clippy::cast_possible_truncation,
            clippy::cast_sign_loss,
            reason = "range checked"
        )]
        let count = count as u32;
        count
    } else {
        0
    }
}

/// A number in 0..1 that depends on the cell alone (the finaliser of splitmix64, public domain).
pub(crate) fn shaken(seed: u64, row: u32, column: u32, part: u64) -> f64 {
    let mut bits = seed
        .wrapping_mul(0x9e37_79b9_7f4a_7c15)
        .wrapping_add(u64::from(row) << 40)
        .wrapping_add(u64::from(column) << 8)
        .wrapping_add(part)
        .wrapping_add(0x9e37_79b9_7f4a_7c15);
    bits = (bits ^ (bits >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
    bits = (bits ^ (bits >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
    bits ^= bits >> 31;
    let high = u32::try_from(bits >> 32).unwrap_or(0);
    f64::from(high) / 4_294_967_296.0
}

/// An open course in millimetres of table.
pub(crate) struct Course {
    points: Vec<Point>,
}

impl Course {
    /// From a scenario's corners.
    pub(crate) fn new(points: &[[f64; 2]]) -> Self {
        Self {
            points: points_of(points),
        }
    }

    /// Its corners.
    pub(crate) fn points(&self) -> &[Point] {
        &self.points
    }

    fn stretches(&self) -> impl Iterator<Item = (Point, Point)> + '_ {
        self.points.windows(2).map(|pair| (pair[0], pair[1]))
    }

    /// Distance of a point from it.
    pub(crate) fn to_mm(&self, point: Point) -> f64 {
        let mut least = f64::INFINITY;
        for (a, b) in self.stretches() {
            least = smaller(least, distance_point_stretch_mm(point, a, b));
        }
        least
    }

    /// Length along it of the point nearest to a place, that point, and the way it runs there.
    pub(crate) fn nearest(&self, place: Point) -> (f64, Point, Vector) {
        let mut best = (0.0, place, Vector::new(1.0, 0.0));
        let (mut least, mut before) = (f64::INFINITY, 0.0);
        for (a, b) in self.stretches() {
            let length = a.distance_to(b);
            let distance = distance_point_stretch_mm(place, a, b);
            if let Some(way) = (b - a).unit()
                && distance < least
            {
                least = distance;
                let along = smaller(larger((place - a).dot(way), 0.0), length);
                best = (before + along, a + way * along, way);
            }
            before += length;
        }
        best
    }

    /// The point at a length along it; its ends beyond.
    pub(crate) fn at(&self, along_mm: f64) -> Point {
        let mut before = 0.0;
        for (a, b) in self.stretches() {
            let long = a.distance_to(b);
            if along_mm <= before + long && long > 0.0 {
                return a.towards(b, larger(along_mm - before, 0.0) / long);
            }
            before += long;
        }
        self.points.last().copied().unwrap_or(Point::new(0.0, 0.0))
    }

    /// How far its corners between two lengths lie off the chord between two points.
    pub(crate) fn farthest_between_mm(&self, from: f64, to: f64, start: Point, end: Point) -> f64 {
        let mut before = 0.0;
        let mut farthest = 0.0;
        for (a, b) in self.stretches() {
            if before > from && before < to {
                farthest = larger(farthest, distance_point_stretch_mm(a, start, end));
            }
            before += a.distance_to(b);
        }
        farthest
    }

    /// Places along it at a spacing, each with its length along and the way it runs there.
    pub(crate) fn walked(&self, spacing_mm: f64) -> Vec<(f64, Point, Vector)> {
        let mut length = 0.0;
        for (a, b) in self.stretches() {
            length += a.distance_to(b);
        }
        let spacing = larger(spacing_mm, length / 1500.0);
        let mut places = Vec::new();
        let (mut before, mut next) = (0.0, spacing / 2.0);
        for (a, b) in self.stretches() {
            let long = a.distance_to(b);
            let Some(way) = (b - a).unit() else { continue };
            while next < before + long {
                places.push((next, a + way * (next - before), way));
                next += spacing;
            }
            before += long;
        }
        places
    }

    /// What remains of it when stretches are cut out, each given by its ends along it.
    pub(crate) fn without(&self, cuts: &[(f64, f64)]) -> Vec<Vec<Point>> {
        let mut kept = Vec::new();
        let mut piece: Vec<Point> = Vec::new();
        let mut before = 0.0;
        for (a, b) in self.stretches() {
            let long = a.distance_to(b);
            let mut stops = vec![0.0, long];
            for (from, to) in cuts {
                stops.extend(
                    [from - before, to - before]
                        .iter()
                        .filter(|s| **s > 0.0 && **s < long),
                );
            }
            stops.sort_by(f64::total_cmp);
            for pair in stops.windows(2) {
                let middle = before + f64::midpoint(pair[0], pair[1]);
                let is_cut = cuts.iter().any(|(from, to)| middle > *from && middle < *to);
                if is_cut {
                    if piece.len() > 1 {
                        kept.push(std::mem::take(&mut piece));
                    }
                    piece.clear();
                } else if long > 0.0 {
                    if piece.is_empty() {
                        piece.push(a.towards(b, pair[0] / long));
                    }
                    piece.push(a.towards(b, pair[1] / long));
                }
            }
            before += long;
        }
        if piece.len() > 1 {
            kept.push(piece);
        }
        kept
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn square_with_clearing() -> Shape {
        Shape::new(
            &[[0.0, 0.0], [100.0, 0.0], [100.0, 100.0], [0.0, 100.0]],
            &[vec![[40.0, 40.0], [60.0, 40.0], [60.0, 60.0], [40.0, 60.0]]],
        )
    }

    #[test]
    fn nothing_is_scattered_into_a_clearing() {
        let shape = square_with_clearing();
        let places = shape.scattered(5.0, 1.0, 1);
        assert!(places.len() > 200);
        for (place, _) in places {
            assert!(shape.holds(place));
            assert!(shape.to_edge_mm(place) >= 1.0);
        }
    }

    #[test]
    fn a_hatch_stops_at_a_clearing() {
        let strokes = square_with_clearing().hatched(Vector::new(1.0, 0.0), 10.0);
        let through = strokes.iter().filter(|(a, _)| (a.y - 50.0).abs() < 6.0);
        assert!(through.clone().count() >= 2);
        for (a, b) in strokes {
            assert!(!(a.x < 40.0 && b.x > 60.0 && a.y > 40.0 && a.y < 60.0));
        }
    }

    #[test]
    fn cutting_a_course_leaves_what_is_outside_the_cuts() {
        let course = Course::new(&[[0.0, 0.0], [50.0, 0.0], [50.0, 50.0]]);
        let kept = course.without(&[(10.0, 20.0), (45.0, 60.0)]);
        assert_eq!(kept.len(), 3);
        assert_eq!(kept[0], [Point::new(0.0, 0.0), Point::new(10.0, 0.0)]);
        assert_eq!(kept[2].first(), Some(&Point::new(50.0, 10.0)));
        assert_eq!(course.walked(10.0).len(), 10);
    }
}

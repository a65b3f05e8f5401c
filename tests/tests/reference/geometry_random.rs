//! Random cases from a seed, and the bridge to the crate `geo` that judges them.

use fieldpost_rules::geometry::{Footprint, Motion, Path, Point, Polygon, Polyline, Vector};
use geo::{Coord, LineString};

/// Cases per kernel.
pub const CASES: u32 = 200_000;
/// No figure may be farther from the reference, in millimetres.
pub const WORST_MM: f64 = 0.01;

/// SplitMix64 (Steele, Lea and Flood 2014, from memory): the same cases on every machine.
pub struct Random(u64);

impl Random {
    pub fn seeded(seed: u64) -> Self {
        Self(seed)
    }

    fn next(&mut self) -> u64 {
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        z ^ (z >> 31)
    }

    /// Evenly from `low` up to `high`.
    pub fn between(&mut self, low: f64, high: f64) -> f64 {
        #[expect(clippy::cast_precision_loss, reason = "53 bits fit")]
        let share = (self.next() >> 11) as f64 / (1_u64 << 53) as f64;
        low + (high - low) * share
    }

    /// A whole number below `count`.
    pub fn below(&mut self, count: u32) -> u32 {
        u32::try_from(self.next() % u64::from(count)).expect("below a u32")
    }

    pub fn point(&mut self, half: f64) -> Point {
        Point::new(self.between(-half, half), self.between(-half, half))
    }

    /// A unit's footprint; half of them at bearings that make edges parallel.
    pub fn footprint(&mut self, half: f64) -> Footprint {
        let bearing = if self.below(2) == 0 {
            f64::from(self.below(24)) * 15.0
        } else {
            self.between(0.0, 360.0)
        };
        Footprint {
            centre: self.point(half),
            ahead: Vector::along_bearing(bearing.to_radians()),
            half_frontage: self.between(5.0, 80.0),
            half_depth: self.between(5.0, 40.0),
        }
    }

    pub fn straight(&mut self) -> Motion {
        Motion::Straight {
            by: Vector::new(self.between(-300.0, 300.0), self.between(-300.0, 300.0)),
        }
    }

    /// A turn about a corner, the centre, the anchor or any place.
    pub fn turn(&mut self, of: &Footprint) -> Motion {
        let pivot = match self.below(4) {
            0 | 1 => of.corners()[self.below(4) as usize],
            2 => of.at(0.0, [0.0, of.half_depth][self.below(2) as usize]),
            _ => self.point(200.0),
        };
        Motion::Turn {
            pivot,
            clockwise_rad: self.between(-std::f64::consts::TAU, std::f64::consts::TAU),
        }
    }

    /// A star-shaped patch, seldom convex, every second one with a hole.
    pub fn patch(&mut self) -> Polygon {
        loop {
            let centre = self.point(60.0);
            let count = 3 + self.below(10);
            let radii: Vec<f64> = (0..count).map(|_| self.between(0.25, 1.0)).collect();
            let size = self.between(30.0, 150.0);
            let ring = |scale: f64| -> Vec<Point> {
                radii
                    .iter()
                    .zip(0_u32..)
                    .map(|(radius, index)| {
                        let bearing = f64::from(index) / f64::from(count) * std::f64::consts::TAU;
                        centre + Vector::along_bearing(bearing) * (radius * scale)
                    })
                    .collect()
            };
            let holes = if self.below(2) == 0 {
                vec![ring(size * 0.4)]
            } else {
                Vec::new()
            };
            if let Ok(polygon) = Polygon::new(ring(size), holes) {
                return polygon;
            }
        }
    }

    pub fn arc(&mut self) -> Path {
        let centre = self.point(120.0);
        Path::Arc {
            centre,
            from: centre + Vector::along_bearing(self.between(0.0, 7.0)) * self.between(1.0, 200.0),
            clockwise_rad: self.between(-std::f64::consts::TAU, std::f64::consts::TAU),
        }
    }
}

pub fn coord(point: Point) -> Coord<f64> {
    Coord {
        x: point.x,
        y: point.y,
    }
}

pub fn geo_ring(points: &[Point]) -> LineString<f64> {
    let mut ring: Vec<Coord<f64>> = points.iter().copied().map(coord).collect();
    ring.push(ring[0]);
    LineString::new(ring)
}

pub fn geo_footprint(footprint: &Footprint) -> geo::Polygon<f64> {
    geo::Polygon::new(geo_ring(&footprint.corners()), Vec::new())
}

pub fn geo_polygon(polygon: &Polygon) -> geo::Polygon<f64> {
    geo::Polygon::new(
        geo_ring(polygon.outer()),
        polygon.holes().iter().map(|hole| geo_ring(hole)).collect(),
    )
}

pub fn geo_line(line: &Polyline) -> LineString<f64> {
    LineString::new(line.points().iter().copied().map(coord).collect())
}

/// The worst of many errors, for the report at the end of a kernel.
#[derive(Default)]
pub struct Worst {
    pub error_mm: f64,
    pub compared: u32,
}

impl Worst {
    #[track_caller]
    pub fn take(&mut self, error_mm: f64, of: impl FnOnce() -> String) {
        self.compared += 1;
        if error_mm.abs() > self.error_mm || error_mm.is_nan() {
            self.error_mm = error_mm.abs();
            assert!(error_mm.abs() < WORST_MM, "{error_mm} mm: {}", of());
        }
    }

    pub fn report(&self, kernel: &str) {
        println!(
            "{kernel}: {} figures compared, worst error {:.3e} mm",
            self.compared, self.error_mm
        );
    }
}

//! From the table to the picture: which part is shown, and where.

use fieldpost_rules::geometry::{Footprint, Point, Vector, larger, smaller};
use fieldpost_rules::scenario::TableSize;

/// A part of the table, in millimetres from its south-west corner.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Part {
    /// Western edge of the part.
    pub west_mm: f64,
    /// Southern edge.
    pub south_mm: f64,
    /// Eastern edge.
    pub east_mm: f64,
    /// Northern edge.
    pub north_mm: f64,
}

impl Part {
    /// The whole table.
    #[must_use]
    pub fn whole(table: &TableSize) -> Self {
        Self {
            west_mm: 0.0,
            south_mm: 0.0,
            east_mm: table.width_mm,
            north_mm: table.depth_mm,
        }
    }

    /// The part within the table and at least 20 mm each way; the whole table when nothing of
    /// it lies on the table or a number is none.
    #[must_use]
    pub fn kept_on(&self, table: &TableSize) -> Self {
        let whole = Self::whole(table);
        let part = Self {
            west_mm: larger(self.west_mm, 0.0),
            south_mm: larger(self.south_mm, 0.0),
            east_mm: smaller(self.east_mm, whole.east_mm),
            north_mm: smaller(self.north_mm, whole.north_mm),
        };
        let sound = [part.west_mm, part.south_mm, part.east_mm, part.north_mm]
            .iter()
            .all(|number| number.is_finite())
            && part.width_mm() >= 20.0
            && part.depth_mm() >= 20.0;
        if sound { part } else { whole }
    }

    /// The smallest part that holds some points with a margin round them, in millimetres, and is
    /// no narrower than `least_mm` either way; the whole table when there are no points.
    #[must_use]
    pub fn around(points: &[Point], margin_mm: f64, least_mm: f64, table: &TableSize) -> Self {
        let Some(first) = points.first() else {
            return Self::whole(table);
        };
        let (mut low, mut high) = (*first, *first);
        for point in points {
            low = Point::new(smaller(low.x, point.x), smaller(low.y, point.y));
            high = Point::new(larger(high.x, point.x), larger(high.y, point.y));
        }
        let middle = low.towards(high, 0.5);
        let half = |from: f64, to: f64| larger((to - from) / 2.0 + margin_mm, least_mm / 2.0);
        let (wide, deep) = (half(low.x, high.x), half(low.y, high.y));
        let slid = |centre: f64, half: f64, whole: f64| {
            let half = smaller(half, whole / 2.0);
            let centre = larger(half, smaller(whole - half, centre));
            (centre - half, centre + half)
        };
        let (west_mm, east_mm) = slid(middle.x, wide, table.width_mm);
        let (south_mm, north_mm) = slid(middle.y, deep, table.depth_mm);
        Self {
            west_mm,
            south_mm,
            east_mm,
            north_mm,
        }
        .kept_on(table)
    }

    /// The part made at least so many times as wide as deep, as far as the table allows.
    #[must_use]
    pub fn widened(&self, times: f64, table: &TableSize) -> Self {
        let wanted = smaller(self.depth_mm() * times, table.width_mm);
        if self.width_mm() >= wanted {
            return *self;
        }
        let middle = f64::midpoint(self.west_mm, self.east_mm);
        let west_mm = larger(smaller(middle - wanted / 2.0, table.width_mm - wanted), 0.0);
        Self {
            west_mm,
            east_mm: west_mm + wanted,
            ..*self
        }
    }

    /// West to east, in millimetres.
    #[must_use]
    pub fn width_mm(&self) -> f64 {
        self.east_mm - self.west_mm
    }

    /// South to north, in millimetres.
    #[must_use]
    pub fn depth_mm(&self) -> f64 {
        self.north_mm - self.south_mm
    }

    /// The part as a rectangle standing on the table.
    pub(super) fn ground(&self) -> Footprint {
        Footprint {
            centre: Point::new(
                f64::midpoint(self.west_mm, self.east_mm),
                f64::midpoint(self.south_mm, self.north_mm),
            ),
            ahead: Vector::new(0.0, 1.0),
            half_frontage: self.width_mm() / 2.0,
            half_depth: self.depth_mm() / 2.0,
        }
    }

    /// Whether a point is in it, or within a margin of it in millimetres.
    #[must_use]
    pub fn holds(&self, point: Point, margin_mm: f64) -> bool {
        point.x >= self.west_mm - margin_mm
            && point.x <= self.east_mm + margin_mm
            && point.y >= self.south_mm - margin_mm
            && point.y <= self.north_mm + margin_mm
    }
}

/// Where the part lies on the picture. Pixels run east and down.
#[derive(Debug, Clone, Copy)]
pub(super) struct Frame {
    /// The part shown.
    pub(super) part: Part,
    /// Pixels to a millimetre.
    pub(super) scale: f64,
    /// Pixel of the part's north-west corner.
    pub(super) corner: Point,
}

impl Frame {
    /// A point of the table on the picture.
    pub(super) fn at(&self, point: Point) -> Point {
        Point::new(
            self.corner.x + (point.x - self.part.west_mm) * self.scale,
            self.corner.y + (self.part.north_mm - point.y) * self.scale,
        )
    }

    /// Points of the table on the picture.
    pub(super) fn all(&self, points: &[Point]) -> Vec<Point> {
        points.iter().map(|point| self.at(*point)).collect()
    }

    /// A direction of the table on the picture; a unit vector stays one.
    pub(super) fn way(&self, vector: Vector) -> Vector {
        Vector::new(vector.x, -vector.y)
    }

    /// A length of the table in pixels.
    pub(super) fn long(&self, mm: f64) -> f64 {
        mm * self.scale
    }

    /// Width of the map on the picture.
    pub(super) fn width(&self) -> f64 {
        self.long(self.part.width_mm())
    }

    /// Height of the map on the picture.
    pub(super) fn height(&self) -> f64 {
        self.long(self.part.depth_mm())
    }
}

/// Map points as points.
pub(super) fn points_of(points: &[[f64; 2]]) -> Vec<Point> {
    points.iter().map(|[x, y]| Point::new(*x, *y)).collect()
}

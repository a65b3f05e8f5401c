//! Points, segments and rectangles: the little plane geometry that a tape and a set square know.

pub use fieldpost_rules::geometry::{Point, Vector};

/// The rectangle that a unit covers, by the midpoint of its front edge.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Rect {
    pub anchor: Point,
    pub ahead: Vector,
    pub wide: f64,
    pub deep: f64,
}

impl Rect {
    pub fn right(&self) -> Vector {
        self.ahead.quarter_right()
    }

    pub fn centre(&self) -> Point {
        self.anchor - self.ahead * (self.deep / 2.0)
    }

    pub fn front_left(&self) -> Point {
        self.anchor - self.right() * (self.wide / 2.0)
    }

    pub fn front_right(&self) -> Point {
        self.anchor + self.right() * (self.wide / 2.0)
    }

    /// Clockwise: front left, front right, rear right, rear left.
    pub fn corners(&self) -> [Point; 4] {
        let back = self.ahead * self.deep;
        let (left, right) = (self.front_left(), self.front_right());
        [left, right, right - back, left - back]
    }

    /// Millimetres to the right and ahead of the centre.
    pub fn local(&self, point: Point) -> (f64, f64) {
        let from = point - self.centre();
        (from.dot(self.right()), from.dot(self.ahead))
    }

    pub fn moved(&self, by: Vector) -> Self {
        Self {
            anchor: self.anchor + by,
            ..*self
        }
    }

    pub fn turned(&self, about: Point, clockwise_rad: f64) -> Self {
        Self {
            anchor: self.anchor.turned_about(about, clockwise_rad),
            ahead: turned(self.ahead, clockwise_rad),
            ..*self
        }
    }
}

/// A direction turned clockwise; quarters are exact.
pub fn turned(vector: Vector, clockwise_rad: f64) -> Vector {
    let quarters = clockwise_rad / std::f64::consts::FRAC_PI_2;
    if (quarters - quarters.round()).abs() > 1e-12 {
        return vector.turned(clockwise_rad);
    }
    let times = (quarters.round() as i64).rem_euclid(4);
    (0..times).fold(vector, |vector, _| vector.quarter_right())
}

/// How far a point is from a rectangle; 0 inside it.
pub fn point_to_rect(point: Point, rect: &Rect) -> f64 {
    let (across, along) = rect.local(point);
    let outside = |value: f64, half: f64| (value.abs() - half).max(0.0);
    let (x, y) = (
        outside(across, rect.wide / 2.0),
        outside(along, rect.deep / 2.0),
    );
    (x * x + y * y).sqrt()
}

pub fn point_to_segment(point: Point, a: Point, b: Point) -> f64 {
    let along = b - a;
    let square = along.dot(along);
    let share = if square > 0.0 {
        ((point - a).dot(along) / square).clamp(0.0, 1.0)
    } else {
        0.0
    };
    point.distance_to(a.towards(b, share))
}

/// Distance of two segments; 0 when they meet.
pub fn segment_to_segment(a: Point, b: Point, c: Point, d: Point) -> f64 {
    let side = |p: Point, q: Point, r: Point| (q - p).cross(r - p);
    let crosses = side(a, b, c) * side(a, b, d) < 0.0 && side(c, d, a) * side(c, d, b) < 0.0;
    if crosses {
        return 0.0;
    }
    point_to_segment(a, c, d)
        .min(point_to_segment(b, c, d))
        .min(point_to_segment(c, a, b))
        .min(point_to_segment(d, a, b))
}

/// How far two rectangles would have to be pushed apart; negative when a gap parts them.
pub fn overlap(a: &Rect, b: &Rect) -> f64 {
    let apart = b.centre() - a.centre();
    let reach = |rect: &Rect, axis: Vector| {
        (rect.right().dot(axis) * rect.wide / 2.0).abs()
            + (rect.ahead.dot(axis) * rect.deep / 2.0).abs()
    };
    [a.right(), a.ahead, b.right(), b.ahead]
        .into_iter()
        .map(|axis| reach(a, axis) + reach(b, axis) - apart.dot(axis).abs())
        .fold(f64::INFINITY, f64::min)
}

/// Shortest distance of two rectangles; 0 when they touch or overlap.
pub fn distance(a: &Rect, b: &Rect) -> f64 {
    if overlap(a, b) >= 0.0 {
        return 0.0;
    }
    let from_a = a.corners().map(|corner| point_to_rect(corner, b));
    let from_b = b.corners().map(|corner| point_to_rect(corner, a));
    from_a
        .into_iter()
        .chain(from_b)
        .fold(f64::INFINITY, f64::min)
}

/// Distance of a rectangle and a segment; 0 when they meet.
pub fn rect_to_segment(rect: &Rect, a: Point, b: Point) -> f64 {
    if point_to_rect(a, rect) == 0.0 || point_to_rect(b, rect) == 0.0 {
        return 0.0;
    }
    let corners = rect.corners();
    (0..4)
        .map(|i| segment_to_segment(corners[i], corners[(i + 1) % 4], a, b))
        .fold(f64::INFINITY, f64::min)
}

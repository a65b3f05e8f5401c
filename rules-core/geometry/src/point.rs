//! Points and vectors of the table plane.

use std::ops::{Add, Mul, Neg, Sub};

/// A place on the table in millimetres from its south-west corner.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Point {
    /// Millimetres east.
    pub x: f64,
    /// Millimetres north.
    pub y: f64,
}

/// A displacement in millimetres, or a direction when its length is one.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Vector {
    /// Millimetres east.
    pub x: f64,
    /// Millimetres north.
    pub y: f64,
}

impl Point {
    /// The point `x_mm` east and `y_mm` north of the table's corner.
    #[must_use]
    pub const fn new(x_mm: f64, y_mm: f64) -> Self {
        Self { x: x_mm, y: y_mm }
    }

    /// Straight-line distance to another point, in millimetres.
    #[must_use]
    pub fn distance_to(self, other: Self) -> f64 {
        (other - self).length()
    }

    /// The point a share `t` of the way to `other`.
    #[must_use]
    pub fn towards(self, other: Self, t: f64) -> Self {
        self + (other - self) * t
    }

    /// This point turned clockwise about `pivot`.
    #[must_use]
    pub fn turned_about(self, pivot: Self, clockwise_rad: f64) -> Self {
        pivot + (self - pivot).turned(clockwise_rad)
    }
}

impl Vector {
    /// No displacement.
    pub const ZERO: Self = Self { x: 0.0, y: 0.0 };

    /// The vector `x_mm` east and `y_mm` north.
    #[must_use]
    pub const fn new(x_mm: f64, y_mm: f64) -> Self {
        Self { x: x_mm, y: y_mm }
    }

    /// The unit vector along a bearing given in radians clockwise from north.
    #[must_use]
    pub fn along_bearing(bearing_rad: f64) -> Self {
        Self::new(libm::sin(bearing_rad), libm::cos(bearing_rad))
    }

    /// Dot product.
    #[must_use]
    pub fn dot(self, other: Self) -> f64 {
        self.x * other.x + self.y * other.y
    }

    /// The z component of the cross product; positive when `other` lies counter-clockwise of `self`.
    #[must_use]
    pub fn cross(self, other: Self) -> f64 {
        self.x * other.y - self.y * other.x
    }

    /// Length in millimetres.
    #[must_use]
    pub fn length(self) -> f64 {
        self.dot(self).sqrt()
    }

    /// The unit vector of the same direction, or `None` for a vector shorter than a picometre.
    #[must_use]
    pub fn unit(self) -> Option<Self> {
        let length = self.length();
        (length > super::ARITHMETIC_MM).then(|| self * (1.0 / length))
    }

    /// This vector turned clockwise.
    #[must_use]
    pub fn turned(self, clockwise_rad: f64) -> Self {
        let (sine, cosine) = libm::sincos(clockwise_rad);
        self.turned_by(sine, cosine)
    }

    /// This vector turned clockwise by the angle of the given sine and cosine.
    #[must_use]
    pub(super) fn turned_by(self, sine: f64, cosine: f64) -> Self {
        Self::new(
            self.x * cosine + self.y * sine,
            self.y * cosine - self.x * sine,
        )
    }

    /// This vector turned a quarter clockwise, exactly.
    #[must_use]
    pub fn quarter_right(self) -> Self {
        Self::new(self.y, -self.x)
    }

    /// Bearing of this direction in radians clockwise from north, in (−π, π].
    #[must_use]
    pub fn bearing_rad(self) -> f64 {
        libm::atan2(self.x, self.y)
    }
}

impl Add<Vector> for Point {
    type Output = Self;
    fn add(self, other: Vector) -> Self {
        Self::new(self.x + other.x, self.y + other.y)
    }
}

impl Sub<Vector> for Point {
    type Output = Self;
    fn sub(self, other: Vector) -> Self {
        Self::new(self.x - other.x, self.y - other.y)
    }
}

impl Sub for Point {
    type Output = Vector;
    fn sub(self, other: Self) -> Vector {
        Vector::new(self.x - other.x, self.y - other.y)
    }
}

impl Add for Vector {
    type Output = Self;
    fn add(self, other: Self) -> Self {
        Self::new(self.x + other.x, self.y + other.y)
    }
}

impl Sub for Vector {
    type Output = Self;
    fn sub(self, other: Self) -> Self {
        Self::new(self.x - other.x, self.y - other.y)
    }
}

impl Neg for Vector {
    type Output = Self;
    fn neg(self) -> Self {
        Self::new(-self.x, -self.y)
    }
}

impl Mul<f64> for Vector {
    type Output = Self;
    fn mul(self, factor: f64) -> Self {
        Self::new(self.x * factor, self.y * factor)
    }
}

//! The rectangle a unit covers.

use super::{Placement, Point, Vector};

/// Size of a unit's footprint: its frontage across and its depth behind the front edge.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Block {
    /// Length of the front edge in millimetres.
    pub frontage_mm: f64,
    /// Front to rear in millimetres.
    pub depth_mm: f64,
}

/// A rectangle standing on the table.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Footprint {
    /// Centre of the rectangle.
    pub centre: Point,
    /// Unit vector straight ahead.
    pub ahead: Vector,
    /// Half of the frontage, in millimetres.
    pub half_frontage: f64,
    /// Half of the depth, in millimetres.
    pub half_depth: f64,
}

impl Footprint {
    /// The footprint of a block whose front edge has its midpoint at the placement's anchor.
    #[must_use]
    pub fn new(placement: &Placement, block: Block) -> Self {
        let half_depth = block.depth_mm / 2.0;
        Self {
            centre: placement.anchor - placement.ahead * half_depth,
            ahead: placement.ahead,
            half_frontage: block.frontage_mm / 2.0,
            half_depth,
        }
    }

    /// Unit vector to the right.
    #[must_use]
    pub fn right(&self) -> Vector {
        self.ahead.quarter_right()
    }

    /// Front left corner.
    #[must_use]
    pub fn front_left(&self) -> Point {
        self.at(-self.half_frontage, self.half_depth)
    }

    /// Front right corner.
    #[must_use]
    pub fn front_right(&self) -> Point {
        self.at(self.half_frontage, self.half_depth)
    }

    /// Midpoint of the front edge.
    #[must_use]
    pub fn anchor(&self) -> Point {
        self.at(0.0, self.half_depth)
    }

    /// Corners clockwise: front left, front right, rear right, rear left.
    #[must_use]
    pub fn corners(&self) -> [Point; 4] {
        [
            self.front_left(),
            self.front_right(),
            self.at(self.half_frontage, -self.half_depth),
            self.at(-self.half_frontage, -self.half_depth),
        ]
    }

    /// The point `right_mm` to the right and `ahead_mm` ahead of the centre.
    #[must_use]
    pub fn at(&self, right_mm: f64, ahead_mm: f64) -> Point {
        self.centre + self.right() * right_mm + self.ahead * ahead_mm
    }

    /// A point in this footprint's own axes: millimetres right and ahead of the centre.
    #[must_use]
    pub fn local(&self, point: Point) -> (f64, f64) {
        let offset = point - self.centre;
        (offset.dot(self.right()), offset.dot(self.ahead))
    }

    /// Radius of the circle about the centre that holds the whole rectangle.
    #[must_use]
    pub fn reach(&self) -> f64 {
        (self.half_frontage * self.half_frontage + self.half_depth * self.half_depth).sqrt()
    }

    /// A radius that holds the whole rectangle and takes no root: half of both sides together.
    #[must_use]
    pub fn spread(&self) -> f64 {
        self.half_frontage + self.half_depth
    }

    /// Whether the circles about both alone show that they are farther apart than so many
    /// millimetres. Cheap, and never wrong in saying yes.
    #[must_use]
    pub fn is_farther_than(&self, other: &Self, apart_mm: f64) -> bool {
        let near_mm = self.spread() + other.spread() + apart_mm;
        let offset = other.centre - self.centre;
        offset.dot(offset) > near_mm * near_mm
    }

    /// This footprint shifted.
    #[must_use]
    pub fn shifted(&self, by: Vector) -> Self {
        Self {
            centre: self.centre + by,
            ..*self
        }
    }

    /// This footprint turned clockwise about a pivot.
    #[must_use]
    pub fn turned_about(&self, pivot: Point, clockwise_rad: f64) -> Self {
        let (sine, cosine) = libm::sincos(clockwise_rad);
        Self {
            centre: pivot + (self.centre - pivot).turned_by(sine, cosine),
            ahead: self.ahead.turned_by(sine, cosine),
            ..*self
        }
    }
}

//! An open line of straight legs: a stream, a wall, a road's centre.

use std::fmt;

use super::stretch::Stretch;
use super::{Bounds, EPS_MM, Point};

/// A checked line of at least one leg.
#[derive(Debug, Clone, PartialEq)]
pub struct Polyline {
    points: Vec<Point>,
    legs: Vec<Stretch>,
    /// Distance along the line at which each leg begins, in millimetres.
    begins: Vec<f64>,
    bounds: Bounds,
}

/// A side of a line, as seen in its direction of drawing.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Side {
    /// On the left hand.
    Left,
    /// On the right hand.
    Right,
}

/// The place on a line nearest to some point.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct OnLine {
    /// Which leg, from 0.
    pub leg: usize,
    /// Distance along the line from its beginning, in millimetres.
    pub along_mm: f64,
    /// Distance of the point from it, in millimetres.
    pub distance_mm: f64,
}

/// What can be wrong with a line. Indices count from 0, the words from 1.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum PolylineFault {
    /// Fewer than two points.
    TooFewPoints {
        /// How many there are.
        count: usize,
    },
    /// A coordinate is not a finite number.
    NotFinite {
        /// Which point.
        point: usize,
    },
    /// A point repeats the one before it within EPS.
    RepeatedPoint {
        /// Which point.
        point: usize,
    },
}

impl fmt::Display for PolylineFault {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match *self {
            Self::TooFewPoints { count } => {
                write!(f, "the line has {count} of the at least 2 points it needs")
            }
            Self::NotFinite { point } => {
                write!(f, "point {} of the line is not a finite number", point + 1)
            }
            Self::RepeatedPoint { point } => write!(
                f,
                "point {} of the line repeats the point before it: leave it out",
                point + 1
            ),
        }
    }
}

impl std::error::Error for PolylineFault {}

impl Polyline {
    /// A line through the given points in order. It may cross itself.
    ///
    /// # Errors
    /// The first fault found.
    pub fn new(points: Vec<Point>) -> Result<Self, PolylineFault> {
        if points.len() < 2 {
            return Err(PolylineFault::TooFewPoints {
                count: points.len(),
            });
        }
        if let Some(point) = points
            .iter()
            .position(|point| !(point.x.is_finite() && point.y.is_finite()))
        {
            return Err(PolylineFault::NotFinite { point });
        }
        let mut legs = Vec::with_capacity(points.len() - 1);
        let mut begins = Vec::with_capacity(points.len() - 1);
        let mut along = 0.0;
        for (index, pair) in points.windows(2).enumerate() {
            let leg = Stretch::between(pair[0], pair[1])
                .filter(|leg| leg.length > EPS_MM)
                .ok_or(PolylineFault::RepeatedPoint { point: index + 1 })?;
            begins.push(along);
            along += leg.length;
            legs.push(leg);
        }
        Ok(Self {
            bounds: Bounds::about(&points),
            points,
            legs,
            begins,
        })
    }

    /// The points it was drawn through.
    #[must_use]
    pub fn points(&self) -> &[Point] {
        &self.points
    }

    /// The least upright rectangle about the line.
    #[must_use]
    pub fn bounds(&self) -> Bounds {
        self.bounds
    }

    /// Length in millimetres.
    #[must_use]
    pub fn length_mm(&self) -> f64 {
        self.legs.iter().fold(0.0, |sum, leg| sum + leg.length)
    }

    /// Distance of a point from the nearest place of the line, in millimetres.
    #[must_use]
    pub fn distance_mm(&self, point: Point) -> f64 {
        self.nearest(point).distance_mm
    }

    /// The point a distance along the line; its ends beyond them.
    #[must_use]
    pub fn at_along(&self, along_mm: f64) -> Point {
        let mut place = self.legs[0].from;
        for (leg, begins) in self.legs.iter().zip(&self.begins) {
            if along_mm >= begins + leg.length {
                place = leg.to;
            } else {
                if along_mm > *begins {
                    place = leg.from + leg.along * (along_mm - begins);
                }
                break;
            }
        }
        place
    }

    /// The place of the line nearest to a point; the earliest of several.
    #[must_use]
    pub fn nearest(&self, point: Point) -> OnLine {
        let mut nearest = (f64::INFINITY, 0);
        for (index, leg) in self.legs.iter().enumerate() {
            let squared = leg.distance_squared(point);
            if squared < nearest.0 {
                nearest = (squared, index);
            }
        }
        let (squared, leg) = nearest;
        OnLine {
            leg,
            along_mm: self.begins[leg] + self.legs[leg].nearest_mm(point),
            distance_mm: squared.sqrt(),
        }
    }

    /// On which side of the line a point near it lies; `None` on the line, and straight beyond
    /// one of its ends. At a bend the side is that of the wider angle unless the point lies
    /// within the narrower.
    #[must_use]
    pub fn side_of(&self, point: Point) -> Option<Side> {
        let index = self.nearest(point).leg;
        let leg = &self.legs[index];
        let along = (point - leg.from).dot(leg.along);
        let neighbour = if along <= 0.0 {
            index
                .checked_sub(1)
                .and_then(|before| self.legs.get(before))
        } else if along >= leg.length {
            self.legs.get(index + 1)
        } else {
            None
        };
        let offset = |leg: &Stretch| (point - leg.from).dot(leg.left);
        let here = offset(leg);
        let Some(other) = neighbour else {
            return side(here);
        };
        let bends_left = if along <= 0.0 {
            other.along.cross(leg.along) > 0.0
        } else {
            leg.along.cross(other.along) > 0.0
        };
        let there = offset(other);
        // the narrower angle lies on the side to which the line bends
        if bends_left {
            side(super::smaller(here, there))
        } else {
            side(super::larger(here, there))
        }
    }

    pub(super) fn legs(&self) -> &[Stretch] {
        &self.legs
    }
}

/// On which side of a line something is that lies so far to its left; none on it.
fn side(offset: f64) -> Option<Side> {
    if offset.abs() < super::figures::BESIDE_MM {
        None
    } else if offset > 0.0 {
        Some(Side::Left)
    } else {
        Some(Side::Right)
    }
}

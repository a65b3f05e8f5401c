//! The track of a point in a leg: straight, or an arc; and where it meets lines and circles.

use std::f64::consts::TAU;

use crate::plane::{Point, Vector};

#[derive(Debug, Clone, Copy)]
pub enum Path {
    Straight { from: Point, by: Vector },
    Arc { about: Point, from: Point, rad: f64 },
}

impl Path {
    pub fn length(&self) -> f64 {
        match *self {
            Self::Straight { by, .. } => by.length(),
            Self::Arc { about, from, rad } => from.distance_to(about) * rad.abs(),
        }
    }

    pub fn at(&self, share: f64) -> Point {
        match *self {
            Self::Straight { from, by } => from + by * share,
            Self::Arc { about, from, rad } => from.turned_about(about, rad * share),
        }
    }

    /// Shares at which it meets the endless line through two points.
    pub fn meets_line(&self, a: Point, b: Point) -> Vec<f64> {
        let Some(along) = (b - a).unit() else {
            return Vec::new();
        };
        let across = along.quarter_right();
        match *self {
            Self::Straight { from, by } => {
                let speed = by.dot(across);
                if speed.abs() < 1e-12 {
                    return Vec::new();
                }
                within(vec![-(from - a).dot(across) / speed])
            }
            Self::Arc { about, from, .. } => {
                let radius = from.distance_to(about);
                let off = (a - about).dot(across);
                if off.abs() > radius {
                    return Vec::new();
                }
                let half = (radius * radius - off * off).sqrt();
                let foot = across * off;
                self.shares_towards(&[foot + along * half, foot - along * half])
            }
        }
    }

    /// Shares at which it meets a circle.
    pub fn meets_circle(&self, centre: Point, radius: f64) -> Vec<f64> {
        match *self {
            Self::Straight { from, by } => {
                let square = by.dot(by);
                if square < 1e-18 {
                    return Vec::new();
                }
                let off = from - centre;
                let half = off.dot(by) / square;
                let root = half * half - (off.dot(off) - radius * radius) / square;
                if root < 0.0 {
                    return Vec::new();
                }
                within(vec![-half - root.sqrt(), -half + root.sqrt()])
            }
            Self::Arc { about, from, .. } => {
                let own = from.distance_to(about);
                let between = centre - about;
                let apart = between.length();
                let Some(along) = between.unit() else {
                    return Vec::new();
                };
                let foot = (own * own - radius * radius + apart * apart) / (2.0 * apart);
                if foot.abs() > own {
                    return Vec::new();
                }
                let half = along.quarter_right() * (own * own - foot * foot).sqrt();
                self.shares_towards(&[along * foot + half, along * foot - half])
            }
        }
    }

    /// Shares at which an arc passes in these directions from its middle.
    fn shares_towards(&self, directions: &[Vector]) -> Vec<f64> {
        let Self::Arc { about, from, rad } = *self else {
            return Vec::new();
        };
        if rad.abs() < 1e-15 {
            return Vec::new();
        }
        let start = (from - about).bearing_rad();
        let mut shares = Vec::new();
        for direction in directions {
            let turned = (direction.bearing_rad() - start) * rad.signum();
            let mut angle = turned.rem_euclid(TAU);
            if angle > TAU - 1e-9 {
                angle -= TAU;
            }
            while angle <= rad.abs() + 1e-9 {
                shares.push(angle / rad.abs());
                angle += TAU;
            }
        }
        within(shares)
    }
}

fn within(shares: Vec<f64>) -> Vec<f64> {
    shares
        .into_iter()
        .filter(|share| (-1e-9..=1.0 + 1e-9).contains(share))
        .map(|share| share.clamp(0.0, 1.0))
        .collect()
}

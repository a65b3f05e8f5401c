//! Numbers only: points, poses, footprints, distances, sweeps, cutting a path by a patch.
//!
//! This room knows no rule. Lengths are millimetres, angles radians unless a name says
//! otherwise; x runs east, y north, and a positive turn is clockwise, as bearings are.
//! Trigonometry goes through `libm` so that every platform reaches the same bits.

mod footprint;
mod placeholder;
mod point;
mod pose;

pub use footprint::{Block, Footprint};
pub use placeholder::*;
pub use point::{Point, Vector};
pub use pose::{Placement, Pose};

/// Arithmetic slack inside the geometry, in millimetres: one quantum of a stored pose.
/// This is not the player's tolerance, which belongs to the ruleset.
pub const EPS_MM: f64 = 0.001;

/// The smaller of two numbers; `b` when they compare equal, so that signed zeros cannot differ.
#[must_use]
pub fn smaller(a: f64, b: f64) -> f64 {
    if a < b { a } else { b }
}

/// The larger of two numbers; `b` when they compare equal.
#[must_use]
pub fn larger(a: f64, b: f64) -> f64 {
    if a > b { a } else { b }
}

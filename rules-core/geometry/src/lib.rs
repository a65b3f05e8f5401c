//! Numbers only: points, poses, footprints, distances, sweeps, cutting a path by a patch.
//!
//! This room knows no rule. Lengths are millimetres, angles radians unless a name says
//! otherwise; x runs east, y north, and a positive turn is clockwise, as bearings are.
//! Trigonometry goes through `libm` so that every platform reaches the same bits.

mod ahead;
mod beside;
mod cover;
mod crossing;
mod crossings;
mod cut;
mod distance;
mod facing;
mod figures;
mod footprint;
mod label;
mod least;
mod motion;
mod path;
mod point;
mod polygon;
mod polygon_faults;
mod polyline;
mod pose;
mod reach;
mod ring;
mod span;
mod stretch;
mod sweep;
mod sweep_ahead;
mod table;

pub use ahead::{distance_ahead_mm, reach_ahead_mm, separation_ahead};
pub use beside::{is_near_line, spans_near_line};
pub use cover::{footprint_astride, overlap_depth_mm, spans_over};
pub use crossings::{Contact, ContactKind, crossings};
pub use cut::{spans_closer, spans_inside, spans_near};
pub use distance::{
    Separation, distance_mm, distance_point_footprint_mm, distance_point_stretch_mm, separation,
    signed_distance_mm,
};
pub use facing::wheel_to_face_rad;
pub use figures::{ARITHMETIC, ARITHMETIC_MM, EPS_MM, NOTHING, TOUCH_MM};
pub use footprint::{Block, Footprint};
pub use least::least;
pub use motion::Motion;
pub use path::Path;
pub use point::{Point, Vector};
pub use polygon::{Location, Polygon};
pub use polygon_faults::{PolygonFault, Ring};
pub use polyline::{OnLine, Polyline, PolylineFault, Side};
pub use pose::{Placement, Pose};
pub use reach::Bounds;
pub use span::{Span, gaps, merged, without};
pub use sweep::spans_within;
pub use sweep_ahead::{spans_ahead, spans_within_ahead};
pub use table::Table;

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

#[cfg(test)]
mod tests;

//! Holds the names of types until their own files land; whoever lands those deletes this file.

/// A closed outline with holes.
#[derive(Debug, Clone, PartialEq)]
pub struct Polygon;
/// An open line of straight pieces.
#[derive(Debug, Clone, PartialEq)]
pub struct Polyline;
/// The table.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Table;

/// Signed distance.
#[must_use]
pub fn signed_distance_mm(_: &super::Footprint, _: &super::Footprint) -> f64 {
    0.0
}
/// Nearest places of two footprints.
pub struct Separation {
    /// Signed distance.
    pub distance_mm: f64,
}
/// Separation from the part ahead.
#[must_use]
pub fn separation_ahead(_: &super::Footprint, _: &super::Footprint) -> Option<Separation> {
    None
}

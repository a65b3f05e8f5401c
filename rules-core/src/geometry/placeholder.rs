//! Holds the names of types until their own files land; whoever lands those deletes this file.

/// A closed outline with holes.
#[derive(Debug, Clone, PartialEq)]
pub struct Polygon;
/// An open line of straight pieces.
#[derive(Debug, Clone, PartialEq)]
pub struct Polyline;

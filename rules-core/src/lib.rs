//! The referee: measures orders on a gridless table and says why.

pub mod geometry;

//! The referee: measures orders on a gridless table and says why.

pub mod geometry;
pub mod ruleset;
pub mod orders;
pub mod scenario;

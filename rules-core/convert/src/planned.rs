//! A counter as bases.

use fieldpost_rules::ruleset::Arm;
use serde::Serialize;

use super::bases::Block;
use super::board::Counter;

/// A counter as bases.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct PlannedUnit {
    /// The counter.
    pub counter: Counter,
    /// Index of its side.
    pub side: usize,
    /// Its arm.
    pub arm: Arm,
    /// Its bases.
    pub block: Block,
    /// Its front in millimetres.
    pub front_mm: f64,
    /// Its depth in millimetres.
    pub depth_mm: f64,
}

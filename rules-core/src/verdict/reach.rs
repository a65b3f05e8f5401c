//! The ground a unit can reach.

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use crate::orders::UnitId;

use super::Spot;
use super::rounding::hundredths;

/// The ground a unit can reach in one turn by the moves that count: those of `families`.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Reach {
    /// Who.
    pub unit: UnitId,
    /// Whether it is in command as the table stands.
    pub in_command: bool,
    /// What it may spend.
    #[serde(with = "hundredths")]
    #[schemars(with = "f64")]
    pub allowance_mm: f64,
    /// Where the midpoint of its front edge can come to stand.
    pub anchor: Vec<Outline>,
    /// What its footprint can come to cover.
    pub footprint: Vec<Outline>,
    /// The moves that were tried and are open to it, in words.
    pub families: Vec<String>,
    /// How far an outline may be from the truth.
    #[serde(with = "hundredths")]
    #[schemars(with = "f64")]
    pub within_mm: f64,
}

/// One closed line about ground, or about a hole in it.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Outline {
    /// Whether it bounds a hole; a hole's line runs clockwise, the others counter-clockwise.
    pub hole: bool,
    /// Its corners; the last joins the first.
    pub points: Vec<Spot>,
}

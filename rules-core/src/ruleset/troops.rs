//! Troop types: how fast, how strong, how large a base.

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use super::Distance;

/// A troop type.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct TroopType {
    /// Arm of service, which decides the symbol and who bombards and commands.
    pub arm: Arm,
    /// Movement points a turn.
    #[schemars(range(min = 0.0, max = 1000.0))]
    #[schemars(extend("x-unit" = "movement points"))]
    pub movement_points: f64,
    /// Strength of each base; a commander has none.
    #[serde(default)]
    #[schemars(range(min = 0.0, max = 1000.0))]
    #[schemars(extend("x-unit" = "strength points"))]
    pub strength_per_base: f64,
    /// Width of a base, at least 1 mm; by default one base width.
    #[serde(default = "one")]
    pub base_width: Distance,
    /// Depth of a base, at least 1 mm; by default half a base width.
    #[serde(default = "half")]
    pub base_depth: Distance,
    /// Reach of its bombardment, when not the ruleset's `bombard_range`.
    #[serde(default)]
    pub bombard_range: Option<Distance>,
    /// Radius within which a commander of this type commands, base to base.
    #[serde(default)]
    pub command_radius: Option<Distance>,
}

/// Arm of service.
#[derive(
    Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize, JsonSchema,
)]
#[serde(rename_all = "kebab-case")]
pub enum Arm {
    /// Infantry.
    Foot,
    /// Cavalry.
    Horse,
    /// Artillery.
    Guns,
    /// A general and staff: one base, no strength.
    Commander,
}

fn one() -> Distance {
    Distance::new(1.0)
}

fn half() -> Distance {
    Distance::new(0.5)
}

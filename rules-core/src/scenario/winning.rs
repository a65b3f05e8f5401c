//! How a battle is won: objectives, exits, points.

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use super::Edge;
use super::map::MapPoint;

/// A place worth points to the side that holds it at the end.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Objective {
    /// Its name.
    #[schemars(length(min = 1, max = 60))]
    pub name: String,
    /// Its middle, in millimetres.
    #[schemars(extend("x-unit" = "mm"))]
    pub at: MapPoint,
    /// Radius within which units with strength hold it, in millimetres.
    #[schemars(range(min = 0.0, max = 20_000.0))]
    pub radius_mm: f64,
    /// Points for holding it: having units with strength within the radius when the other side has none.
    #[schemars(range(min = 0.0, max = 1_000_000.0))]
    #[schemars(extend("x-unit" = "points"))]
    pub points: f64,
    /// Key of the side that holds it while neither side has a unit there; absent: nobody.
    #[serde(default)]
    pub held_by: Option<String>,
    /// Whether a side that once held it keeps it until the other takes it.
    #[serde(default = "yes")]
    pub keeps: bool,
}

/// A stretch of edge over which a side's units may leave for points.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Exit {
    /// Key of the side that may leave here.
    pub side: String,
    /// The table edge.
    pub edge: Edge,
    /// Start of the stretch, in millimetres from its west or south end.
    pub from_mm: f64,
    /// End of the stretch, in millimetres.
    pub to_mm: f64,
    /// Points for each strength point that leaves.
    #[schemars(range(min = 0.0, max = 1_000_000.0))]
    #[schemars(extend("x-unit" = "points"))]
    pub points_per_strength: f64,
}

/// What losses are worth, and what wins.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(default, deny_unknown_fields)]
pub struct Victory {
    /// Points for each strength point of enemy lost.
    #[schemars(range(min = 0.0, max = 1_000_000.0))]
    #[schemars(extend("x-unit" = "points"))]
    pub points_per_strength: f64,
    /// Points for an enemy commander lost.
    #[schemars(range(min = 0.0, max = 1_000_000.0))]
    #[schemars(extend("x-unit" = "points"))]
    pub points_per_commander: f64,
    /// Lead in points below which the battle is a draw.
    #[schemars(range(min = 0.0, max = 1_000_000.0))]
    #[schemars(extend("x-unit" = "points"))]
    pub draw_within: f64,
    /// Points at which a side wins at once, at the end of a player turn; absent: only the turn limit ends the game.
    #[schemars(range(min = 0.01, max = 1_000_000.0))]
    #[schemars(extend("x-unit" = "points"))]
    pub win_at: Option<f64>,
}

impl Default for Victory {
    fn default() -> Self {
        Self {
            points_per_strength: 1.0,
            points_per_commander: 2.0,
            draw_within: 0.0,
            win_at: None,
        }
    }
}

fn yes() -> bool {
    true
}

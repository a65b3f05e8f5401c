//! Kinds of ground and of lines on it.

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use super::Charge;

/// A kind of terrain patch.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(default, deny_unknown_fields)]
pub struct TerrainKind {
    /// Factor on the charge of tape that runs over it.
    #[schemars(range(min = 0.0, max = 100.0))]
    #[schemars(extend("x-unit" = "factor"))]
    pub rate: f64,
    /// Whether no footprint may overlap it.
    pub impassable: bool,
    /// Factor on the strength of a defender whose footprint stands on it.
    #[schemars(range(min = 0.01, max = 100.0))]
    #[schemars(extend("x-unit" = "factor"))]
    pub defence: f64,
    /// Columns that a battle against a defender standing on it shifts by; negative favours the defender.
    #[schemars(range(min = -20, max = 20))]
    #[schemars(extend("x-unit" = "columns"))]
    pub shift: i32,
    /// Whether sight does not pass through it.
    pub blocks_sight: bool,
    /// Whether it is high ground: it blocks sight between two lower places and sees over them.
    pub high: bool,
    /// How drawings show it; absent: guessed from the settings.
    pub drawn_as: Option<Drawing>,
}

impl Default for TerrainKind {
    fn default() -> Self {
        Self {
            rate: 1.0,
            impassable: false,
            defence: 1.0,
            shift: 0,
            blocks_sight: false,
            high: false,
            drawn_as: None,
        }
    }
}

/// How a patch is drawn.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum Drawing {
    /// Trees.
    Wood,
    /// Broken or stony ground.
    Rough,
    /// Houses.
    Village,
    /// Reeds and wet.
    Marsh,
    /// Water.
    Water,
    /// Tilled land.
    Field,
    /// A height.
    Hill,
    /// Rock or cliff.
    Crag,
}

/// A kind of line: stream, wall, hedge, slope edge.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(default, deny_unknown_fields)]
pub struct LineKind {
    /// Fixed charge each time the tape reaches it and goes on or stops there, in movement points.
    pub charge: Charge,
    /// Whether it is a slope edge: charged only when climbed, its high side on the left of its drawing.
    pub slope: bool,
    /// Columns that a battle across it shifts by; negative favours the defender. A slope counts only uphill.
    #[schemars(range(min = -20, max = 20))]
    #[schemars(extend("x-unit" = "columns"))]
    pub shift: i32,
    /// Factor on the defender's strength in a battle across it. A slope counts only uphill.
    #[schemars(range(min = 0.01, max = 100.0))]
    #[schemars(extend("x-unit" = "factor"))]
    pub defence: f64,
    /// Whether sight does not pass over it.
    pub blocks_sight: bool,
    /// How drawings show it; absent: a slope is hatched, anything else drawn as a wall.
    pub drawn_as: Option<LineDrawing>,
}

impl Default for LineKind {
    fn default() -> Self {
        Self {
            charge: Charge::new(0.0),
            slope: false,
            shift: 0,
            defence: 1.0,
            blocks_sight: false,
            drawn_as: None,
        }
    }
}

/// How a line is drawn.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum LineDrawing {
    /// Running water.
    Stream,
    /// Stone.
    Wall,
    /// Green.
    Hedge,
    /// Hachures downhill.
    Slope,
}

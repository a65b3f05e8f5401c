//! The ground: table, patches, lines, roads.

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

/// A point of the map: millimetres east and north of the south-west corner.
pub type MapPoint = [f64; 2];

/// Size of the table.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct TableSize {
    /// West to east, in millimetres.
    #[schemars(range(min = 50.0, max = 20_000.0))]
    pub width_mm: f64,
    /// South to north, in millimetres.
    #[schemars(range(min = 50.0, max = 20_000.0))]
    pub depth_mm: f64,
}

/// An edge of the table.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum Edge {
    /// y = depth.
    North,
    /// x = width.
    East,
    /// y = 0.
    South,
    /// x = 0.
    West,
}

/// A patch of terrain.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Patch {
    /// Its name on the map.
    #[schemars(length(min = 1, max = 60))]
    pub name: String,
    /// A kind that the ruleset defines.
    pub kind: String,
    /// Corners in order, either way round, in millimetres.
    #[schemars(length(min = 3, max = 500), inner(inner(range(min = -20_000.0, max = 40_000.0))))]
    #[schemars(extend("x-unit" = "mm"))]
    pub outline: Vec<MapPoint>,
    /// Clearings inside it, each a list of corners.
    #[serde(default)]
    #[schemars(length(max = 50), inner(length(min = 3, max = 500), inner(inner(range(min = -20_000.0, max = 40_000.0)))))]
    #[schemars(extend("x-unit" = "mm"))]
    pub holes: Vec<Vec<MapPoint>>,
}

/// A line on the ground.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct LineEntry {
    /// Its name on the map.
    #[schemars(length(min = 1, max = 60))]
    pub name: String,
    /// A kind that the ruleset defines.
    pub kind: String,
    /// Corners in order, in millimetres; a slope edge has its high side on the left.
    #[schemars(length(min = 2, max = 500), inner(inner(range(min = -20_000.0, max = 40_000.0))))]
    #[schemars(extend("x-unit" = "mm"))]
    pub points: Vec<MapPoint>,
    /// Bridges, fords and gaps, where it charges nothing.
    #[serde(default)]
    #[schemars(length(max = 50))]
    pub span: Vec<Span>,
}

/// A stretch of a line that charges nothing.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Span {
    /// Its name on the map, such as "Mill Bridge".
    #[schemars(length(min = 1, max = 60))]
    pub name: String,
    /// Its middle; the nearest point of the line is taken, in millimetres.
    #[schemars(extend("x-unit" = "mm"))]
    pub at: MapPoint,
    /// Its width along the line, in millimetres.
    #[schemars(range(min = 0.1, max = 20_000.0))]
    pub width_mm: f64,
}

/// A road.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Road {
    /// Its name on the map.
    #[schemars(length(min = 1, max = 60))]
    pub name: String,
    /// Corners of its centre line, in millimetres.
    #[schemars(length(min = 2, max = 500), inner(inner(range(min = -20_000.0, max = 40_000.0))))]
    #[schemars(extend("x-unit" = "mm"))]
    pub points: Vec<MapPoint>,
    /// Its whole width, in millimetres.
    #[schemars(range(min = 0.1, max = 1_000.0))]
    pub width_mm: f64,
}

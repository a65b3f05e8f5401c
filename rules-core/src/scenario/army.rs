//! The armies: sides, units, arrivals.

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use super::Edge;
use super::map::MapPoint;

/// One of the two sides.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct SideEntry {
    /// Short key used in orders and unit entries, such as "red": up to 24 letters, digits, hyphens, dots and
    /// underscores, beginning with a letter or digit.
    pub key: String,
    /// Its name.
    #[schemars(length(min = 1, max = 60))]
    pub name: String,
    /// Colour of its units in drawings, as "#rrggbb"; absent: red for the first side, blue for the second.
    #[serde(default)]
    pub colour: Option<String>,
}

/// One unit of an order of battle.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct UnitEntry {
    /// Short key used in orders, such as "red-3": up to 24 letters, digits, hyphens, dots and underscores,
    /// beginning with a letter or digit.
    pub id: String,
    /// Its name.
    #[schemars(length(min = 1, max = 60))]
    pub name: String,
    /// Short mark beside it on pictures, in lists and in orders, such as "GD": 1 to 4 letters and digits, beginning with a
    /// letter; absent: made from the keys of side and unit, such as "R3" for "red-3".
    #[serde(default)]
    pub mark: Option<String>,
    /// Key of its side.
    pub side: String,
    /// A troop type that the ruleset defines.
    pub troops: String,
    /// Bases abreast.
    #[serde(default = "one")]
    #[schemars(range(min = 1, max = 100))]
    #[schemars(extend("x-unit" = "bases"))]
    pub files: u16,
    /// Bases deep.
    #[serde(default = "one")]
    #[schemars(range(min = 1, max = 100))]
    #[schemars(extend("x-unit" = "bases"))]
    pub ranks: u16,
    /// Bases in all when the last rank is part-filled; absent: files times ranks.
    #[serde(default)]
    #[schemars(range(min = 1, max = 10_000))]
    #[schemars(extend("x-unit" = "bases"))]
    pub bases: Option<u16>,
    /// Where it stands at the start: millimetres east and north of its front edge's midpoint,
    /// and its bearing in degrees clockwise from north.
    #[serde(default)]
    #[schemars(extend("x-unit" = "mm, mm, degrees"))]
    pub at: Option<[f64; 3]>,
    /// When and where it arrives, if it does not start on the table.
    #[serde(default)]
    pub arrives: Option<Arrival>,
    /// Place in the chain of command, for a commander.
    #[serde(default)]
    pub command: Option<Command>,
    /// Id of the subordinate commander whose radius it may use besides the chief's.
    #[serde(default)]
    pub under: Option<String>,
}

/// Place in the chain of command.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum Command {
    /// Commander-in-chief: always in command.
    Chief,
    /// Subordinate commander.
    Subordinate,
}

/// When and where a unit comes onto the table.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Arrival {
    /// First game turn in which it may arrive.
    #[schemars(range(min = 1, max = 1000))]
    #[schemars(extend("x-unit" = "game turn"))]
    pub game_turn: u32,
    /// The table edge it arrives at: it is placed with its rear edge on that edge, facing inward.
    pub edge: Edge,
    /// Start of the stretch of edge, in millimetres from its west or south end.
    pub from_mm: f64,
    /// End of the stretch, in millimetres.
    pub to_mm: f64,
}

/// An area that a side's units must start in, wholly.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Deployment {
    /// Key of the side.
    pub side: String,
    /// Corners in order, in millimetres.
    #[schemars(length(min = 3, max = 500), inner(inner(range(min = -20_000.0, max = 40_000.0))))]
    #[schemars(extend("x-unit" = "mm"))]
    pub outline: Vec<MapPoint>,
}

fn one() -> u16 {
    1
}

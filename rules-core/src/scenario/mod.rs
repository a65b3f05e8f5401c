//! What a scenario's author sets out: table, terrain, armies, arrivals, how to win.
//!
//! Lengths in a scenario are millimetres on the table, so that a map can be measured once and
//! written down. A [`Scenario`] is what was written; a [`crate::game::Battlefield`]
//! that can be played comes only out of [`crate::authored::open_battle`], which reports every fault.

mod army;
mod map;
mod winning;

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

pub use army::{Arrival, Command, Deployment, SideEntry, UnitEntry};
pub use map::{Edge, LineEntry, Patch, Road, Span, TableSize};
pub use winning::{Exit, Objective, Victory};

/// A scenario as its author wrote it.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Scenario {
    /// Version of this file format: 1.
    #[schemars(range(min = 1, max = 1))]
    pub format: u32,
    /// What the battle is called.
    #[schemars(length(min = 1, max = 80))]
    pub name: String,
    /// The situation in a few sentences.
    #[serde(default)]
    #[schemars(length(max = 4000), extend("x-paragraphs" = true))]
    pub about: String,
    /// Name of the ruleset it was written for.
    #[serde(default)]
    #[schemars(length(max = 80))]
    pub ruleset: String,
    /// The table.
    pub table: TableSize,
    /// Number of game turns; each side has one player turn in each.
    #[schemars(range(min = 1, max = 1000))]
    #[schemars(extend("x-unit" = "game turns"))]
    pub game_turns: u32,
    /// The two sides, the one that moves first given first.
    #[schemars(length(min = 2, max = 2))]
    pub side: Vec<SideEntry>,
    /// Terrain patches.
    #[serde(default)]
    #[schemars(length(max = 300))]
    pub terrain: Vec<Patch>,
    /// Lines: streams, walls, hedges, slope edges.
    #[serde(default)]
    #[schemars(length(max = 300))]
    pub line: Vec<LineEntry>,
    /// Roads.
    #[serde(default)]
    #[schemars(length(max = 300))]
    pub road: Vec<Road>,
    /// The order of battle of both sides.
    #[schemars(length(min = 2, max = 1000))]
    pub unit: Vec<UnitEntry>,
    /// Areas that a side's units must start in.
    #[serde(default)]
    #[schemars(length(max = 50))]
    pub deployment: Vec<Deployment>,
    /// Places worth points.
    #[serde(default)]
    #[schemars(length(max = 100))]
    pub objective: Vec<Objective>,
    /// Stretches of table edge over which units may leave for points.
    #[serde(default)]
    #[schemars(length(max = 50))]
    pub exit: Vec<Exit>,
    /// What losses are worth and when the game is won.
    #[serde(default)]
    pub victory: Victory,
}

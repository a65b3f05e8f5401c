//! A board game's numbers, as a rules writer notes them down.
//!
//! The doc comments are the reference of the file's settings.

use std::collections::BTreeMap;

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use super::handbook::Gait;
use super::rounding::Rounding;
use fieldpost_rules::ruleset::{Arm, Results, ZoneExit};
use fieldpost_rules::scenario::SideEntry;

/// A board game played on hexes.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Board {
    /// Version of this file format: 1.
    #[schemars(range(min = 1, max = 1))]
    pub format: u32,
    /// What the converted rules and battle are to be called.
    #[schemars(length(min = 1, max = 60))]
    pub name: String,
    /// The map.
    pub map: Map,
    /// The turns.
    pub turns: Turns,
    /// How hexes become bases.
    #[serde(default)]
    pub laying: Laying,
    /// Zones of control.
    #[serde(default)]
    pub zones: BoardZones,
    /// Kinds of ground, by name, other than clear.
    #[serde(default)]
    pub terrain: BTreeMap<String, HexTerrain>,
    /// Kinds of hexside, by name: streams, walls, slopes.
    #[serde(default)]
    pub hexsides: BTreeMap<String, Hexside>,
    /// Troop types, by name.
    pub troops: BTreeMap<String, BoardTroops>,
    /// The two sides, the one that moves first given first; it is laid out in the south.
    #[schemars(length(min = 2, max = 2))]
    pub side: Vec<SideEntry>,
    /// The counters.
    #[schemars(length(min = 2, max = 300))]
    pub unit: Vec<Counter>,
    /// The results table, its falling back in hexes; absent: a small one to be replaced.
    #[serde(default)]
    pub results: Option<Results>,
}

/// The map.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Map {
    /// Hexes from west to east.
    #[schemars(range(min = 1, max = 500))]
    pub across: u32,
    /// Hexes from south to north.
    #[schemars(range(min = 1, max = 500))]
    pub deep: u32,
    /// Which way the straight rows run, in which each hex touches the next with a whole side.
    #[serde(default)]
    pub straight_rows: StraightRows,
    /// Ground from one side of a hex to the opposite one, in metres.
    #[serde(default)]
    #[schemars(range(min = 0.1, max = 100_000.0))]
    pub hex_m: Option<f64>,
    /// The same in yards, instead of `hex_m`.
    #[serde(default)]
    #[schemars(range(min = 0.1, max = 100_000.0))]
    pub hex_yards: Option<f64>,
}

/// Which way the straight rows of a hex map run.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum StraightRows {
    /// West to east.
    #[default]
    Across,
    /// South to north.
    Up,
}

/// The turns.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Turns {
    /// Number of game turns.
    #[schemars(range(min = 1, max = 1000))]
    pub game_turns: u32,
    /// Length of a game turn in minutes; absent: found from the march of the slowest foot.
    #[serde(default)]
    #[schemars(range(min = 0.1, max = 100_000.0))]
    pub minutes: Option<f64>,
    /// Movement points to enter a clear hex.
    #[serde(default = "one")]
    #[schemars(range(min = 0.1, max = 1000.0))]
    pub clear_hex: f64,
}

/// How hexes and strength become bases.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(default, deny_unknown_fields)]
pub struct Laying {
    /// Base widths to the hex.
    #[schemars(range(min = 1, max = 20))]
    pub bases_per_hex: u32,
    /// Most units that may stand in one hex.
    #[schemars(range(min = 1, max = 50))]
    pub stacking: u32,
    /// Bases that count behind one another.
    #[schemars(range(min = 1, max = 20))]
    pub depth: u32,
    /// Strength points of one base; absent: the least with which a full hex stands on its own front.
    #[schemars(range(min = 0.05, max = 1000.0))]
    pub strength_per_base: Option<f64>,
    /// How bases are rounded; absent: the way that changes the sides least.
    pub rounding: Option<Rounding>,
    /// Front of one man in the ranks, in metres.
    #[schemars(range(min = 0.3, max = 5.0))]
    pub file_m: f64,
}

impl Default for Laying {
    fn default() -> Self {
        Self {
            bases_per_hex: 1,
            stacking: 1,
            depth: 3,
            strength_per_base: None,
            rounding: None,
            file_m: 0.75,
        }
    }
}

/// Zones of control, one hex deep.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(default, deny_unknown_fields)]
pub struct BoardZones {
    /// Whether a unit must stop next to an enemy.
    pub stops: bool,
    /// How a unit that starts next to an enemy may leave.
    pub exit: ZoneExit,
    /// Movement points for leaving when `exit` is `pay`.
    #[schemars(range(min = 0.0, max = 1000.0))]
    pub exit_movement_points: f64,
}

impl Default for BoardZones {
    fn default() -> Self {
        Self {
            stops: true,
            exit: ZoneExit::Locked,
            exit_movement_points: 1.0,
        }
    }
}

/// A kind of ground.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(default, deny_unknown_fields)]
pub struct HexTerrain {
    /// Movement points to enter a hex of it; absent: as a clear hex.
    #[schemars(range(min = 0.0, max = 1000.0))]
    pub movement_points: Option<f64>,
    /// Whether nobody may enter.
    pub impassable: bool,
    /// Factor on the strength of defenders in it.
    #[schemars(range(min = 0.01, max = 100.0))]
    pub defence: f64,
    /// Columns that an attack on it shifts by; negative favours the defender.
    #[schemars(range(min = -20, max = 20))]
    pub shift: i32,
    /// Whether sight does not pass through it.
    pub blocks_sight: bool,
}

impl Default for HexTerrain {
    fn default() -> Self {
        Self {
            movement_points: None,
            impassable: false,
            defence: 1.0,
            shift: 0,
            blocks_sight: false,
        }
    }
}

/// A kind of hexside.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(default, deny_unknown_fields)]
pub struct Hexside {
    /// Movement points to cross it, above those of the hex entered.
    #[schemars(range(min = 0.0, max = 1000.0))]
    pub movement_points: f64,
    /// Whether it counts uphill only.
    pub uphill: bool,
    /// Factor on the strength of defenders behind it.
    #[schemars(range(min = 0.01, max = 100.0))]
    pub defence: f64,
    /// Columns that an attack across it shifts by; negative favours the defender.
    #[schemars(range(min = -20, max = 20))]
    pub shift: i32,
}

impl Default for Hexside {
    fn default() -> Self {
        Self {
            movement_points: 0.0,
            uphill: false,
            defence: 1.0,
            shift: 0,
        }
    }
}

/// A troop type.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct BoardTroops {
    /// Arm of service.
    pub arm: Arm,
    /// Movement points a turn.
    #[schemars(range(min = 0.0, max = 1000.0))]
    pub movement_points: f64,
    /// Range of guns in hexes; absent: 2.
    #[serde(default)]
    #[schemars(range(min = 0.0, max = 500.0))]
    pub range: Option<f64>,
    /// Reach of a commander in hexes; absent: 5.
    #[serde(default)]
    #[schemars(range(min = 0.0, max = 500.0))]
    pub command: Option<f64>,
    /// How they march; absent: foot on the march, horse at a trot, guns and commanders at a walk.
    #[serde(default)]
    pub gait: Option<Gait>,
    /// Men that a strength point stands for; with it, fronts are checked against the ground scale.
    #[serde(default)]
    #[schemars(range(min = 0.1, max = 1_000_000.0))]
    pub men_per_strength: Option<f64>,
    /// Ranks that the men stand in.
    #[serde(default = "two")]
    #[schemars(range(min = 1, max = 100))]
    pub ranks_of_men: u32,
}

impl BoardTroops {
    /// How they march.
    #[must_use]
    pub fn gait(&self) -> Gait {
        self.gait.unwrap_or(match self.arm {
            Arm::Foot => Gait::Infantry,
            Arm::Horse => Gait::Trot,
            Arm::Guns | Arm::Commander => Gait::MountedWalk,
        })
    }
}

/// A counter, or several alike.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Counter {
    /// Its name.
    #[schemars(length(min = 1, max = 50))]
    pub name: String,
    /// Key of its side.
    pub side: String,
    /// One of the troop types.
    pub troops: String,
    /// Its strength points; a commander has none.
    #[serde(default)]
    #[schemars(range(min = 0.0, max = 1000.0))]
    pub strength: f64,
    /// How many such counters.
    #[serde(default = "single")]
    #[schemars(range(min = 1, max = 100))]
    pub count: u32,
}

fn one() -> f64 {
    1.0
}

fn single() -> u32 {
    1
}

fn two() -> u32 {
    2
}

//! What a rules writer decides: every setting of the laws, with its unit and its default.
//!
//! The doc comments of these types are the reference that the binary prints and the JSON
//! Schema that editors read, so each says what the setting does and in which unit.

mod length;
mod optional;
mod results;
mod terrain;
mod troops;

use std::collections::BTreeMap;

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

pub use length::{Charge, Distance, Length, LengthUnit};
pub use optional::{Breaking, Broken, Disorder, Flanks, RangeBand, Sight, Withdrawal};
pub use results::{Column, Dice, Fate, Losses, Outcome, Results, ResultsKind, Row, Throw};
pub use terrain::{Drawing, LineDrawing, LineKind, TerrainKind};
pub use troops::{Arm, TroopType};

/// The version of the ruleset and scenario file formats.
pub const FORMAT: u32 = 1;

/// A set of rules, as its author wrote it.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Ruleset {
    /// Version of this file format: 1.
    #[schemars(range(min = 1, max = 1))]
    pub format: u32,
    /// What the rules are called.
    #[schemars(length(min = 1, max = 80))]
    pub name: String,
    /// A few words on what kind of game they make.
    #[serde(default)]
    #[schemars(length(max = 4000), extend("x-paragraphs" = true))]
    pub about: String,
    /// Size of everything.
    pub scale: Scale,
    /// Charges of the legs.
    #[serde(default)]
    pub movement: Movement,
    /// Halt and strike zones.
    #[serde(default)]
    pub zones: Zones,
    /// Who commands whom.
    #[serde(default)]
    pub command: Command,
    /// Declaring battles.
    #[serde(default)]
    pub attacks: Attacks,
    /// Giving ground and taking it.
    #[serde(default)]
    pub falling_back: FallingBack,
    /// The results table.
    pub results: Results,
    /// Kinds of terrain patch, by name.
    #[serde(default)]
    pub terrain: BTreeMap<String, TerrainKind>,
    /// Kinds of line (stream, wall, slope edge), by name.
    #[serde(default)]
    pub lines: BTreeMap<String, LineKind>,
    /// Troop types, by name.
    pub troops: BTreeMap<String, TroopType>,
    /// Lines of sight and gun fire of its own; absent: guns only join battles.
    #[serde(default)]
    pub sight: Option<Sight>,
    /// Attacks on flank and rear; absent: the side attacked makes no difference.
    #[serde(default)]
    pub flanks: Option<Flanks>,
    /// Disorder after combat; absent: units are always in order.
    #[serde(default)]
    pub disorder: Option<Disorder>,
    /// Fighting withdrawal of a locked unit; absent: not possible.
    #[serde(default)]
    pub withdrawal: Option<Withdrawal>,
    /// Army break points; absent: armies fight to the last.
    #[serde(default)]
    pub breaking: Option<Breaking>,
}

/// The sizes everything else is counted in.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Scale {
    /// Width of one base in millimetres; the whole game scales with it.
    #[schemars(range(min = 1.0, max = 1000.0))]
    pub base_width_mm: f64,
    /// Length of table that one movement point pays for on open ground.
    #[serde(default = "one_base_width")]
    pub movement_point: Distance,
    /// Slack a table needs, in millimetres; a limit broken by no more is marginal, not refused.
    #[serde(default = "half_millimetre")]
    #[schemars(range(min = 0.0, max = 20.0))]
    pub tolerance_mm: f64,
}

impl Scale {
    /// Millimetres that one movement point pays for on open ground. A `movement_point` given
    /// in movement points would define itself and counts as base widths.
    #[must_use]
    pub fn movement_point_mm(&self) -> f64 {
        match self.movement_point.unit {
            LengthUnit::MovementPoints => self.movement_point.amount * self.base_width_mm,
            unit => self.movement_point.amount * unit.worth_mm(self),
        }
    }
}

/// Charges and limits of the legs of a move.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(default, deny_unknown_fields)]
pub struct Movement {
    /// Charge per millimetre of tape straight ahead.
    #[schemars(range(min = 0.0, max = 100.0))]
    #[schemars(extend("x-unit" = "times the tape"))]
    pub forward: f64,
    /// Charge per millimetre of tape straight back.
    #[schemars(range(min = 0.0, max = 100.0))]
    #[schemars(extend("x-unit" = "times the tape"))]
    pub back: f64,
    /// Charge per millimetre of tape straight sideways.
    #[schemars(range(min = 0.0, max = 100.0))]
    #[schemars(extend("x-unit" = "times the tape"))]
    pub sidestep: f64,
    /// Charge per millimetre of tape on the oblique.
    #[schemars(range(min = 0.0, max = 100.0))]
    #[schemars(extend("x-unit" = "times the tape"))]
    pub oblique: f64,
    /// Widest angle of an oblique from straight ahead, in degrees.
    #[schemars(range(min = 0.0, max = 90.0))]
    #[schemars(extend("x-unit" = "degrees"))]
    pub oblique_max: f64,
    /// Charge per millimetre of the arc of a wheel's outer front corner.
    #[schemars(range(min = 0.0, max = 100.0))]
    #[schemars(extend("x-unit" = "times the arc"))]
    pub wheel: f64,
    /// Fixed charge of a turn by 90°, in movement points.
    pub turn: Charge,
    /// Fixed charge of an about turn, in movement points.
    pub about: Charge,
    /// Widest angle of aligning in an enemy halt zone, in degrees.
    #[schemars(range(min = 0.0, max = 180.0))]
    #[schemars(extend("x-unit" = "degrees"))]
    pub align_max: f64,
    /// Fixed charge of reforming, in movement points.
    pub reform: Charge,
    /// What decides the ground a leg is charged for: its tape, or the whole base.
    pub terrain_by: TerrainBy,
    /// How long a line that was paid for stays paid for.
    pub charge_lines: ChargeLines,
    /// One leg that is always allowed, whatever it costs; absent: none.
    pub minimum_move: Option<MinimumMove>,
    /// Whether legs may pass through friends; no move may end overlapping one.
    pub pass_friends: bool,
}

impl Default for Movement {
    fn default() -> Self {
        Self {
            forward: 1.0,
            back: 2.0,
            sidestep: 2.0,
            oblique: 1.0,
            oblique_max: 45.0,
            wheel: 1.0,
            turn: Charge::new(1.0),
            about: Charge::new(1.0),
            align_max: 22.5,
            reform: Charge::new(1.0),
            terrain_by: TerrainBy::Tape,
            charge_lines: ChargeLines::FirstBase,
            minimum_move: None,
            pass_friends: true,
        }
    }
}

/// What decides the ground that a piece of a leg is charged for.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum TerrainBy {
    /// The ground under the tape.
    Tape,
    /// The worst ground under any part of the footprint.
    Base,
}

/// How long a line that was paid for stays paid for.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum ChargeLines {
    /// Until the unit has been clear of it, from leg to leg and from turn to turn.
    FirstBase,
    /// Not at all: every tape that crosses it pays.
    EveryTape,
}

/// One leg that a unit may always make, alone in its move.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct MinimumMove {
    /// How far the tape of that one forward leg may run.
    pub forward: Distance,
}

/// Halt zones and strike zones.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(default, deny_unknown_fields)]
pub struct Zones {
    /// Depth of the halt zone round a unit with strength, in base widths.
    pub halt_zone: Distance,
    /// Which side of a unit its halt zone covers.
    pub zone_front: ZoneFront,
    /// How a unit that starts its move in an enemy halt zone may leave it.
    pub zone_exit: ZoneExit,
    /// What leaving costs when `zone_exit` is `pay`, in movement points.
    pub zone_exit_charge: Charge,
    /// Reach within which enemies are attacked, in base widths.
    pub strike_zone: Distance,
}

impl Default for Zones {
    fn default() -> Self {
        Self {
            halt_zone: Distance::new(0.5),
            zone_front: ZoneFront::AllRound,
            zone_exit: ZoneExit::Locked,
            zone_exit_charge: Charge::new(1.0),
            strike_zone: Distance::new(1.0),
        }
    }
}

/// Which side of a unit its halt zone covers.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum ZoneFront {
    /// Every point near the footprint.
    AllRound,
    /// Only points ahead of the line of the front edge.
    Ahead,
}

/// How a unit that starts its move in an enemy halt zone may leave it.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum ZoneExit {
    /// Not at all: it may align or close straight in.
    Locked,
    /// By paying `zone_exit_charge`.
    Pay,
    /// Freely.
    Free,
}

/// Command and what its absence costs.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(default, deny_unknown_fields)]
pub struct Command {
    /// Whether units need a commander at all.
    pub required: bool,
    /// Whether a subordinate out of the chief's radius still commands.
    pub independent_subordinates: bool,
    /// Share of its allowance that a unit out of command keeps.
    #[schemars(range(min = 0.0, max = 1.0))]
    #[schemars(extend("x-unit" = "share"))]
    pub out_of_command_share: f64,
}

impl Default for Command {
    fn default() -> Self {
        Self {
            required: true,
            independent_subordinates: true,
            out_of_command_share: 0.5,
        }
    }
}

/// Declaring battles and adding up their strength.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(default, deny_unknown_fields)]
pub struct Attacks {
    /// Whether every enemy in a strike zone must be attacked and every unit near one must attack.
    pub compulsory: bool,
    /// Whether guns are free of that duty.
    pub guns_excepted: bool,
    /// Whether a unit behind another may add its bases through it.
    pub support: bool,
    /// How many bases count behind one another on one frontage.
    #[schemars(range(min = 1, max = 20))]
    #[schemars(extend("x-unit" = "bases"))]
    pub depth: u32,
    /// Reach of a bombardment, in base widths; a troop type may have its own.
    pub bombard_range: Distance,
    /// Whether guns may bombard over friends.
    pub bombard_over_friends: bool,
    /// Whether a bombardment needs a battle that a unit other than a gun fights.
    pub bombard_joins_only: bool,
}

impl Default for Attacks {
    fn default() -> Self {
        Self {
            compulsory: true,
            guns_excepted: true,
            support: true,
            depth: 3,
            bombard_range: Distance::new(2.0),
            bombard_over_friends: true,
            bombard_joins_only: true,
        }
    }
}

/// Giving ground and taking it.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(default, deny_unknown_fields)]
pub struct FallingBack {
    /// Widest angle to either side of straight away that is tried, in degrees.
    #[schemars(range(min = 0.0, max = 90.0))]
    #[schemars(extend("x-unit" = "degrees"))]
    pub fan: f64,
    /// How far a winner may follow up, in base widths.
    pub follow_up: Distance,
}

impl Default for FallingBack {
    fn default() -> Self {
        Self {
            fan: 22.5,
            follow_up: Distance::new(1.0),
        }
    }
}

fn one_base_width() -> Distance {
    Distance::new(1.0)
}

fn half_millimetre() -> f64 {
    0.5
}

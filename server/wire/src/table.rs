//! The table: every unit and where it is.

use fieldpost_rules::game::{Cause, Ending};
use fieldpost_rules::geometry::Pose;
use fieldpost_rules::ruleset::Arm;
use fieldpost_rules::scenario::Arrival;
use fieldpost_rules::verdict::Place;
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use super::{Head, SideSummary};

/// The table.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Table {
    /// The game's id.
    pub id: String,
    /// The scenario's name.
    pub name: String,
    /// The entry of the record after which the table stands so.
    pub head: Head,
    /// The sides, the one that moves first given first.
    pub sides: Vec<SideSummary>,
    /// The game turn being played, from 1.
    pub game_turn: u32,
    /// How many there are.
    pub game_turns: u32,
    /// The player turn being played, both sides' counted from 1.
    pub player_turn: u64,
    /// The side to post next; null once the game has ended.
    pub to_move: Option<String>,
    /// How it ended; null while it goes on.
    pub ended: Option<Ending>,
    /// Points from exits so far, in the order of the sides.
    pub exit_points: [f64; 2],
    /// The side that holds each objective, in the scenario's order.
    pub holders: Vec<Option<String>>,
    /// Every unit of both orders of battle.
    pub units: Vec<TableUnit>,
    /// What concerns the seat whose key was sent.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub own: Option<Own>,
}

/// What concerns one seat.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
pub struct Own {
    /// Key of the seat's side.
    pub side: String,
    /// Whether it is to post now.
    pub your_turn: bool,
}

/// A unit.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct TableUnit {
    /// Key of the unit.
    pub id: String,
    /// Name of the unit.
    pub name: String,
    /// Key of its side.
    pub side: String,
    /// Key of its troop type in the ruleset.
    pub troops: String,
    /// Foot, horse, guns or commander.
    pub arm: Arm,
    /// Bases abreast.
    pub files: u16,
    /// Bases deep.
    pub ranks: u16,
    /// Bases left.
    pub bases: u16,
    /// Bases at the start.
    pub bases_at_start: u16,
    /// Strength of all its bases.
    pub strength: f64,
    /// Own player turns until its disorder is shed.
    pub disorder: u32,
    /// Names of the lines under it that it has paid for until it has been clear of them.
    pub lines_paid: Vec<String>,
    /// Whether it waits, stands or has left the table.
    #[serde(flatten)]
    pub whereabouts: Whereabouts,
}

/// Where a unit is.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(tag = "state", rename_all = "kebab-case")]
pub enum Whereabouts {
    /// Not yet on the table.
    Waiting {
        /// When and where it arrives.
        arrives: Arrival,
    },
    /// On the table.
    Standing {
        /// Rounded for people, in millimetres and degrees.
        place: Place,
        /// The same in whole micrometres and micro-degrees, as the record has it.
        pose: Pose,
    },
    /// Gone.
    Gone {
        /// Why it left the table.
        cause: Cause,
    },
}

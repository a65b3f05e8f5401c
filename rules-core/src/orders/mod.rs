//! The turn sheet: everything a side orders for one player turn.

mod bounds;
mod leg;
pub mod print;
pub mod text;

use std::borrow::Borrow;
use std::fmt;

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

pub use self::bounds::{Bounded, Excess, SheetBounds};
pub use self::leg::{ANGLE_MAX_DEG, Extent, LENGTH_MAX_MM, Leg};

/// A unit's short key, unique in its scenario.
#[derive(
    Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize, JsonSchema,
)]
#[serde(transparent)]
pub struct UnitId(pub String);

/// A side's short key.
#[derive(
    Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize, JsonSchema,
)]
#[serde(transparent)]
pub struct SideId(pub String);

macro_rules! key {
    ($name:ident) => {
        impl fmt::Display for $name {
            fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
                f.write_str(&self.0)
            }
        }
        impl From<&str> for $name {
            fn from(key: &str) -> Self {
                Self(key.to_owned())
            }
        }
        impl Borrow<str> for $name {
            fn borrow(&self) -> &str {
                &self.0
            }
        }
    };
}
key!(UnitId);
key!(SideId);

/// One side's orders for one player turn.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct TurnSheet {
    /// The game turn it is written for.
    pub game_turn: u32,
    /// The side that orders.
    pub side: SideId,
    /// Moves and arrivals are carried out in the order given, then battles in theirs.
    pub orders: Vec<Order>,
}

/// One order.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(tag = "order", rename_all = "kebab-case", deny_unknown_fields)]
pub enum Order {
    /// A unit moves.
    Move {
        /// Who.
        unit: UnitId,
        /// How.
        legs: Vec<Leg>,
    },
    /// Units move as one body: each leg is made by the body's own rectangle.
    MoveTogether {
        /// Who; the first need not be the leftmost.
        units: Vec<UnitId>,
        /// How.
        legs: Vec<Leg>,
    },
    /// A unit comes onto the table at its place of arrival, then moves.
    Arrive {
        /// Who.
        unit: UnitId,
        /// Where along its edge the midpoint of its front comes, in millimetres from the edge's
        /// west or south end.
        along_mm: f64,
        /// How it goes on.
        #[serde(default)]
        legs: Vec<Leg>,
    },
    /// A locked unit breaks contact at a price, then moves.
    Withdraw {
        /// Who.
        unit: UnitId,
        /// How.
        legs: Vec<Leg>,
    },
    /// A unit leaves the table over an exit that its footprint touches.
    Leave {
        /// Who.
        unit: UnitId,
    },
    /// A battle.
    Battle {
        /// Units that attack.
        attackers: Vec<UnitId>,
        /// Units attacked.
        defenders: Vec<UnitId>,
        /// Guns that bombard the same target.
        #[serde(default)]
        guns: Vec<UnitId>,
        /// The attacker that follows up if the ground is given up.
        #[serde(default)]
        follow_up: Option<UnitId>,
    },
    /// Guns fire alone at a target in sight.
    Fire {
        /// Guns that fire.
        guns: Vec<UnitId>,
        /// Their target.
        target: UnitId,
    },
    /// Which way a unit of the moving side gives ground first, should it have to this turn.
    GiveWay {
        /// Who.
        unit: UnitId,
        /// Preferred side.
        side: Hand,
    },
}

/// Left or right of the way a unit faces.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum Hand {
    /// The unit's left.
    Left,
    /// The unit's right.
    Right,
}

/// What the waiting side has laid down for its units while the other moves.
#[derive(Debug, Clone, PartialEq, Eq, Default, Serialize, Deserialize, JsonSchema)]
#[serde(default, deny_unknown_fields)]
pub struct Instructions {
    /// What units without an instruction of their own do.
    pub all: Instruction,
    /// Instructions of single units.
    pub units: std::collections::BTreeMap<UnitId, Instruction>,
}

/// One standing instruction.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize, JsonSchema)]
#[serde(default, deny_unknown_fields)]
pub struct Instruction {
    /// Whether a winner follows up; it holds its ground otherwise.
    pub follow_up: bool,
    /// The side tried first when giving ground.
    pub give_way: Option<Hand>,
}

impl Instructions {
    /// What a unit has been told.
    #[must_use]
    pub fn of(&self, unit: &UnitId) -> Instruction {
        self.units.get(unit).copied().unwrap_or(self.all)
    }
}

impl Hand {
    /// The other side.
    #[must_use]
    pub fn other(self) -> Self {
        match self {
            Self::Left => Self::Right,
            Self::Right => Self::Left,
        }
    }

    /// `1.0` for right (clockwise), `-1.0` for left.
    #[must_use]
    pub fn sign(self) -> f64 {
        match self {
            Self::Left => -1.0,
            Self::Right => 1.0,
        }
    }

    /// In words.
    #[must_use]
    pub fn word(self) -> &'static str {
        match self {
            Self::Left => "left",
            Self::Right => "right",
        }
    }
}

impl Order {
    /// The units that the order moves on the table, or off it; `None` for an order of another kind.
    #[must_use]
    pub fn moves(&self) -> Option<&[UnitId]> {
        match self {
            Self::Move { unit, legs } | Self::Withdraw { unit, legs } => {
                (!legs.is_empty()).then(|| std::slice::from_ref(unit))
            }
            Self::Arrive { unit, .. } | Self::Leave { unit } => Some(std::slice::from_ref(unit)),
            Self::MoveTogether { units, legs } => (!legs.is_empty()).then_some(units.as_slice()),
            Self::Battle { .. } | Self::Fire { .. } | Self::GiveWay { .. } => None,
        }
    }

    /// Every unit the order names, in the order named.
    #[must_use]
    pub fn units(&self) -> Vec<&UnitId> {
        match self {
            Self::Move { unit, .. }
            | Self::Arrive { unit, .. }
            | Self::Withdraw { unit, .. }
            | Self::Leave { unit }
            | Self::GiveWay { unit, .. } => vec![unit],
            Self::MoveTogether { units, .. } => units.iter().collect(),
            Self::Battle {
                attackers,
                defenders,
                guns,
                ..
            } => attackers.iter().chain(defenders).chain(guns).collect(),
            Self::Fire { guns, target } => guns.iter().chain([target]).collect(),
        }
    }
}

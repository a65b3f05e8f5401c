//! The turn sheet: everything a side orders for one player turn.

pub mod print;
pub mod text;

use std::borrow::Borrow;
use std::fmt;

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

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

/// One leg of a move.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(tag = "leg", rename_all = "kebab-case", deny_unknown_fields)]
pub enum Leg {
    /// Straight ahead.
    Forward {
        /// Length of tape in millimetres.
        distance_mm: f64,
        /// Stop at the first limit met.
        #[serde(default, skip_serializing_if = "is_false")]
        up_to: bool,
    },
    /// Straight back, bearing kept.
    Back {
        /// Length of tape in millimetres.
        distance_mm: f64,
        /// Stop at the first limit met.
        #[serde(default, skip_serializing_if = "is_false")]
        up_to: bool,
    },
    /// Straight sideways, bearing kept.
    Sidestep {
        /// To which side.
        side: Hand,
        /// Length of tape in millimetres.
        distance_mm: f64,
        /// Stop at the first limit met.
        #[serde(default, skip_serializing_if = "is_false")]
        up_to: bool,
    },
    /// Along a bearing off straight ahead, bearing kept.
    Oblique {
        /// To which side.
        side: Hand,
        /// Degrees off straight ahead.
        angle_deg: f64,
        /// Length of tape in millimetres.
        distance_mm: f64,
        /// Stop at the first limit met.
        #[serde(default, skip_serializing_if = "is_false")]
        up_to: bool,
    },
    /// Round the front corner of that side.
    Wheel {
        /// To which side.
        side: Hand,
        /// Degrees.
        angle_deg: f64,
        /// Stop at the first limit met.
        #[serde(default, skip_serializing_if = "is_false")]
        up_to: bool,
    },
    /// A quarter turn about the centre.
    Turn {
        /// To which side.
        side: Hand,
    },
    /// Half a turn about the centre.
    About,
    /// A small turn about the anchor, in an enemy halt zone.
    Align {
        /// To which side.
        side: Hand,
        /// Degrees.
        angle_deg: f64,
    },
    /// A new block of the same bases.
    Reform {
        /// Bases abreast.
        files: u16,
        /// Bases deep.
        ranks: u16,
    },
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

impl Leg {
    /// The leg's name in the trade.
    #[must_use]
    pub fn name(&self) -> &'static str {
        match self {
            Self::Forward { .. } => "forward",
            Self::Back { .. } => "back",
            Self::Sidestep { .. } => "sidestep",
            Self::Oblique { .. } => "oblique",
            Self::Wheel { .. } => "wheel",
            Self::Turn { .. } => "turn",
            Self::About => "about",
            Self::Align { .. } => "align",
            Self::Reform { .. } => "reform",
        }
    }

    /// Whether the leg is a straight one, bearing kept.
    #[must_use]
    pub fn is_straight(&self) -> bool {
        match self {
            Self::Forward { .. }
            | Self::Back { .. }
            | Self::Sidestep { .. }
            | Self::Oblique { .. } => true,
            Self::Wheel { .. }
            | Self::Turn { .. }
            | Self::About
            | Self::Align { .. }
            | Self::Reform { .. } => false,
        }
    }

    /// Whether the leg stops by itself at the first limit it meets.
    #[must_use]
    pub fn is_up_to(&self) -> bool {
        match self {
            Self::Forward { up_to, .. }
            | Self::Back { up_to, .. }
            | Self::Sidestep { up_to, .. }
            | Self::Oblique { up_to, .. }
            | Self::Wheel { up_to, .. } => *up_to,
            Self::Turn { .. } | Self::About | Self::Align { .. } | Self::Reform { .. } => false,
        }
    }
}

impl Order {
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

#[expect(clippy::trivially_copy_pass_by_ref, reason = "serde's signature")]
fn is_false(value: &bool) -> bool {
    !value
}

//! The vocabulary of answers: ledgers, limits, reasons.
//!
//! These types are also the wire form of every verdict. Numbers are rounded in one place,
//! [`rounding`]; sentences are made in one place, [`sentences`].

mod attack;
mod ledger;
pub mod ledger_figures;
mod measurement;
mod reach;
mod reason;
mod remedy;
pub mod rounding;
mod sentences;

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use crate::geometry::{Placement, Point, Pose, Vector};

pub use attack::{BattleVerdict, Measured, OddsPreview};
pub use ledger::{LegLedger, LineCharge, MoveVerdict, OrderVerdict, Piece, SheetVerdict};
pub use measurement::{
    Aim, AimPoint, Arc, CommandMeasured, Cover, Measurement, Regard, SightMeasured, Spot, Within,
};
pub use reach::{Outline, Reach};
pub use reason::{Amounts, Code, PathPoint, Reason};
pub use remedy::{Change, Remedy};
pub use remedy::{ChangedLeg, words as remedy_words};
pub(crate) use sentences::{LEFT_ZONE, LEFT_ZONE_BEHIND, in_tenths as sentence_in_tenths};

/// The three answers of measurement practice (JCGM 106:2012, simple acceptance with a stated tolerance).
#[derive(
    Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize, JsonSchema,
)]
#[serde(rename_all = "kebab-case")]
pub enum Ruling {
    /// Every limit is kept.
    Legal,
    /// A limit is broken by no more than the tolerance: allowed, and said so.
    Marginal,
    /// A limit is broken by more.
    Refused,
}

impl Ruling {
    /// The worst of some rulings; legal when there are none.
    #[must_use]
    pub fn worst(rulings: impl IntoIterator<Item = Self>) -> Self {
        rulings.into_iter().fold(Self::Legal, Ord::max)
    }

    /// In words.
    #[must_use]
    pub fn word(self) -> &'static str {
        match self {
            Self::Legal => "legal",
            Self::Marginal => "marginal",
            Self::Refused => "refused",
        }
    }
}

/// A place and bearing as people see it.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Place {
    /// Millimetres east.
    #[serde(with = "rounding::hundredths")]
    #[schemars(with = "f64")]
    pub x_mm: f64,
    /// Millimetres north.
    #[serde(with = "rounding::hundredths")]
    #[schemars(with = "f64")]
    pub y_mm: f64,
    /// Degrees clockwise from north.
    #[serde(with = "rounding::hundredths")]
    #[schemars(with = "f64")]
    pub bearing_deg: f64,
}

impl Place {
    /// The placement at this place, for drawing; quanta are not kept.
    #[must_use]
    pub fn placement(&self) -> Placement {
        Placement {
            anchor: Point::new(self.x_mm, self.y_mm),
            ahead: Vector::along_bearing(self.bearing_deg.to_radians()),
        }
    }
}

impl From<Pose> for Place {
    fn from(pose: Pose) -> Self {
        Self {
            x_mm: pose.x_mm(),
            y_mm: pose.y_mm(),
            bearing_deg: pose.bearing_deg(),
        }
    }
}

impl From<&Placement> for Place {
    fn from(placement: &Placement) -> Self {
        Self {
            x_mm: placement.anchor.x,
            y_mm: placement.anchor.y,
            bearing_deg: placement.bearing_deg(),
        }
    }
}

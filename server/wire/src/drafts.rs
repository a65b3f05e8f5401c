//! Questions that are asked while somebody writes a turn by hand.

use fieldpost_rules::game::Score;
use fieldpost_rules::orders::{TurnSheet, UnitId};
use fieldpost_rules::referee::stakes::{MustAttack, Stakes};
use fieldpost_rules::verdict::{Measurement, OrderVerdict, Reach};
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use super::Head;

/// One order of a draft, to be measured after those before it.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct TryOrder {
    /// The draft.
    pub sheet: TurnSheet,
    /// Which of its orders, counted from 0.
    pub order: usize,
}

/// The answer to it.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct TriedOrder {
    /// The head it was measured against.
    pub head: Head,
    /// What was measured.
    #[serde(flatten)]
    pub verdict: OrderVerdict,
}

/// Two units to be measured between.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct MeasureUnits {
    /// One.
    pub first: UnitId,
    /// The other, of any side.
    pub second: UnitId,
    /// A draft after whose moves it is measured; absent: the table as it stands.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub sheet: Option<TurnSheet>,
}

/// What a tape would say.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Measured {
    /// The head it was measured against.
    pub head: Head,
    /// What was measured.
    pub measurement: Measurement,
    /// The same in words.
    pub words: String,
}

/// Asks for the ground that a unit can reach.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct AskReach {
    /// Who.
    pub unit: UnitId,
    /// A draft from whose end it is asked; absent: from the table as it stands.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub sheet: Option<TurnSheet>,
}

/// The ground that a unit can reach in one turn.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct InReach {
    /// The head it was measured against.
    pub head: Head,
    /// The ground.
    pub reach: Reach,
}

/// The points of both sides as they would be counted now, and what is still worth some.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Scores {
    /// The last entry of the record.
    pub head: Head,
    /// In the order of the sides.
    pub scores: Vec<Score>,
    /// What may still bring points, in the order of the sides; nothing once the battle is over.
    pub stakes: Vec<Stakes>,
    /// Whom the side to move must attack as the table stands.
    pub must_attack: Vec<MustAttack>,
    /// Game turns after this one.
    pub turns_left: u32,
}

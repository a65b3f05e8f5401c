//! The answer to a declared battle.

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use crate::orders::UnitId;

use super::rounding::hundredths;
use super::{Reason, Ruling};

/// The answer to one battle or gun fire.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct BattleVerdict {
    /// Its place among the sheet's orders, from 0.
    pub order: usize,
    /// The worst of the reasons.
    pub verdict: Ruling,
    /// Units that attack.
    pub attackers: Vec<UnitId>,
    /// Units attacked.
    pub defenders: Vec<UnitId>,
    /// Guns that bombard.
    pub guns: Vec<UnitId>,
    /// Every distance that was measured for it.
    pub measured: Vec<Measured>,
    /// How the odds stand before earlier battles of the sheet change anything.
    pub odds: Option<OddsPreview>,
    /// Limits broken, the headline first.
    pub reasons: Vec<Reason>,
}

/// One distance.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Measured {
    /// From whom.
    pub from: UnitId,
    /// To whom.
    pub to: UnitId,
    /// How far, base to base.
    #[serde(with = "hundredths")]
    #[schemars(with = "f64")]
    pub distance_mm: f64,
    /// Against which reach.
    #[serde(with = "hundredths")]
    #[schemars(with = "f64")]
    pub limit_mm: f64,
    /// Through whom it is supported, when not itself in reach.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub through: Option<UnitId>,
}

/// The odds of a battle.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct OddsPreview {
    /// Attacking strength, guns included.
    #[serde(with = "hundredths")]
    #[schemars(with = "f64")]
    pub attack: f64,
    /// Defending strength after terrain.
    #[serde(with = "hundredths")]
    #[schemars(with = "f64")]
    pub defence: f64,
    /// Column by strength alone.
    pub column_before_shifts: String,
    /// What multiplied or shifted it, in words.
    pub shifts: Vec<String>,
    /// Column used.
    pub column: String,
}

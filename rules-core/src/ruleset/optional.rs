//! Laws that a ruleset may add to the common ones.

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use super::Distance;

/// Sight, and gun fire that fights alone at ranges beyond the strike zone.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Sight {
    /// Whether units block the sight between others.
    #[serde(default = "yes")]
    pub units_block: bool,
    /// Range bands of gun fire, nearest first; each shifts the column or scales the strength.
    #[schemars(length(min = 1, max = 20))]
    pub bands: Vec<RangeBand>,
}

/// One band of range.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct RangeBand {
    /// Outer edge of the band, in base widths.
    pub within: Distance,
    /// Factor on the guns' strength in it.
    #[serde(default = "one")]
    #[schemars(range(min = 0.0, max = 100.0))]
    #[schemars(extend("x-unit" = "factor"))]
    pub strength: f64,
    /// Columns it shifts by.
    #[serde(default)]
    #[schemars(range(min = -20, max = 20))]
    #[schemars(extend("x-unit" = "columns"))]
    pub shift: i32,
}

/// Attacks on flank and rear, judged by where the attacker's front edge stands.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(default, deny_unknown_fields)]
pub struct Flanks {
    /// Half-angle of the front arc at each front corner, in degrees from straight ahead.
    #[schemars(range(min = 0.0, max = 180.0))]
    #[schemars(extend("x-unit" = "degrees"))]
    pub front_arc: f64,
    /// Columns for the attacker when the front edge's midpoint lies outside the front arc.
    #[schemars(range(min = -20, max = 20))]
    #[schemars(extend("x-unit" = "columns"))]
    pub flank_shift: i32,
    /// Columns when it lies wholly behind the rear edge's line.
    #[schemars(range(min = -20, max = 20))]
    #[schemars(extend("x-unit" = "columns"))]
    pub rear_shift: i32,
}

impl Default for Flanks {
    fn default() -> Self {
        Self {
            front_arc: 45.0,
            flank_shift: 1,
            rear_shift: 2,
        }
    }
}

/// Disorder: comes with falling back, goes with standing.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(default, deny_unknown_fields)]
pub struct Disorder {
    /// Columns against a side for having a disordered unit in the battle.
    #[schemars(range(min = 0, max = 20))]
    #[schemars(extend("x-unit" = "columns"))]
    pub shift: i32,
    /// Own player turns a unit must stand, out of enemy halt zones, to shed it.
    #[schemars(range(min = 1, max = 10))]
    #[schemars(extend("x-unit" = "own player turns"))]
    pub turns_to_recover: u32,
    /// Whether friends pushed aside are disordered too.
    pub pushed_too: bool,
}

impl Default for Disorder {
    fn default() -> Self {
        Self {
            shift: 1,
            turns_to_recover: 1,
            pushed_too: false,
        }
    }
}

/// Fighting withdrawal: a locked unit breaks contact at a price.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(default, deny_unknown_fields)]
pub struct Withdrawal {
    /// Faces of the die thrown for the price.
    #[schemars(range(min = 2, max = 100))]
    pub faces: u32,
    /// Throws up to this cost the unit bases.
    #[schemars(range(min = 0, max = 100))]
    #[schemars(extend("x-unit" = "of a throw"))]
    pub costs_up_to: u32,
    /// Bases that such a throw costs.
    #[schemars(range(min = 0, max = 100))]
    #[schemars(extend("x-unit" = "bases"))]
    pub loses: u32,
    /// Share of the allowance it may use to get away.
    #[schemars(range(min = 0.0, max = 1.0))]
    #[schemars(extend("x-unit" = "share"))]
    pub allowance_share: f64,
}

impl Default for Withdrawal {
    fn default() -> Self {
        Self {
            faces: 6,
            costs_up_to: 3,
            loses: 1,
            allowance_share: 1.0,
        }
    }
}

/// What an army does when its losses pass a share of its strength.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(default, deny_unknown_fields)]
pub struct Breaking {
    /// Share of the starting strength whose loss breaks an army.
    #[schemars(range(min = 0.01, max = 1.0))]
    #[schemars(extend("x-unit" = "share"))]
    pub at_share: f64,
    /// What a broken army may still do.
    pub then: Broken,
}

impl Default for Breaking {
    fn default() -> Self {
        Self {
            at_share: 0.5,
            then: Broken::NoAttacks,
        }
    }
}

/// What a broken army may still do.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum Broken {
    /// It may not enter enemy halt zones nor bombard, and need not attack.
    NoAttacks,
    /// It loses the game at once.
    Loses,
}

fn yes() -> bool {
    true
}

fn one() -> f64 {
    1.0
}

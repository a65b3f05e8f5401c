//! A small battle for the tests of this crate.

mod fought;
pub(super) mod verdicts;

use std::sync::Arc;

use fieldpost_rules::game::{Battlefield, Game, Ground};
use fieldpost_rules::geometry::Table;
use fieldpost_rules::ruleset::Ruleset;
use fieldpost_rules::scenario::Scenario;

pub(super) use fought::fought;

/// The scenario as written.
pub(super) fn scenario() -> Scenario {
    toml::from_str(include_str!("battle.toml")).expect("the sample battle is sound")
}

/// The rules as written.
pub(super) fn ruleset() -> Ruleset {
    toml::from_str(include_str!("rules.toml")).expect("the sample rules are sound")
}

/// The battle at its opening.
pub(super) fn game() -> Game {
    open(scenario())
}

/// A battle from a scenario; its ground is left bare, since pictures draw the scenario's own.
pub(super) fn open(scenario: Scenario) -> Game {
    Game::new(Arc::new(Battlefield {
        ground: Ground {
            table: Table {
                width_mm: scenario.table.width_mm,
                depth_mm: scenario.table.depth_mm,
            },
            patches: Vec::new(),
            lines: Vec::new(),
            roads: Vec::new(),
        },
        ruleset: ruleset(),
        scenario,
    }))
}

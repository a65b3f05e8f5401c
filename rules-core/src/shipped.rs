//! Rulesets and scenarios that come with Fieldpost, as their authors' texts.

#[cfg(test)]
mod model;
#[cfg(test)]
mod trials;

use crate::authored::{Faults, open_battle};
use crate::game::Battlefield;

/// A file that comes with Fieldpost.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Shipped {
    /// Short key to ask for it by.
    pub key: &'static str,
    /// What it is called.
    pub title: &'static str,
    /// Key of the ruleset a scenario was written for; a ruleset's own key.
    pub ruleset: &'static str,
    /// Its text.
    pub text: &'static str,
}

/// A scenario with its ruleset.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Battle {
    /// The rules.
    pub ruleset: Shipped,
    /// The scenario.
    pub scenario: Shipped,
}

/// The rulesets, in order of difficulty.
pub const RULESETS: [Shipped; 3] = [
    Shipped {
        key: "musket",
        title: "Horse and musket by odds",
        ruleset: "musket",
        text: include_str!("../shipped/musket.toml"),
    },
    Shipped {
        key: "shield",
        title: "Spear and shield by differences",
        ruleset: "shield",
        text: include_str!("../shipped/shield.toml"),
    },
    Shipped {
        key: "rifle",
        title: "Long guns by sight and range",
        ruleset: "rifle",
        text: include_str!("../shipped/rifle.toml"),
    },
];

/// The scenarios, in the order of their rulesets.
pub const SCENARIOS: [Shipped; 4] = [
    Shipped {
        key: "quern-bridge",
        title: "Quern Bridge",
        ruleset: "musket",
        text: include_str!("../shipped/quern-bridge.toml"),
    },
    Shipped {
        key: "withy-bridge",
        title: "Withy Bridge",
        ruleset: "musket",
        text: include_str!("../shipped/withy-bridge.toml"),
    },
    Shipped {
        key: "three-cairns",
        title: "Three Cairns",
        ruleset: "shield",
        text: include_str!("../shipped/three-cairns.toml"),
    },
    Shipped {
        key: "saltway-ridge",
        title: "Saltway Ridge",
        ruleset: "rifle",
        text: include_str!("../shipped/saltway-ridge.toml"),
    },
];

/// The shipped scenario of a key, with the ruleset it was written for.
#[must_use]
pub fn find(key: &str) -> Option<Battle> {
    let scenario = SCENARIOS.into_iter().find(|shipped| shipped.key == key)?;
    let ruleset = find_ruleset(scenario.ruleset)?;
    Some(Battle { ruleset, scenario })
}

/// The shipped ruleset of a key.
#[must_use]
pub fn find_ruleset(key: &str) -> Option<Shipped> {
    RULESETS.into_iter().find(|shipped| shipped.key == key)
}

impl Battle {
    /// Opens the battle.
    ///
    /// # Errors
    /// Faults of the two files; a trial sees to it that there are none.
    pub fn open(&self) -> Result<Battlefield, Faults> {
        let (ruleset, scenario) = (self.ruleset.file_name(), self.scenario.file_name());
        open_battle(
            (&ruleset, self.ruleset.text),
            (&scenario, self.scenario.text),
        )
    }
}

impl Shipped {
    /// The name its faults would be told under, such as `musket.toml`.
    #[must_use]
    pub fn file_name(&self) -> String {
        format!("{}.toml", self.key)
    }
}

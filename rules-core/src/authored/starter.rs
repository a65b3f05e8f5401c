//! Commented files for an author to begin with.

/// A ruleset that says what its parts are for.
#[must_use]
pub fn starter_ruleset() -> &'static str {
    include_str!("../../shipped/starter/ruleset.toml")
}

/// A scenario for [`starter_ruleset`] that says what its parts are for.
#[must_use]
pub fn starter_scenario() -> &'static str {
    include_str!("../../shipped/starter/scenario.toml")
}

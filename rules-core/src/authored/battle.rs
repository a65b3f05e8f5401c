//! What no schema can say of a scenario.

use crate::ruleset::Ruleset;
use crate::scenario::Scenario;

use super::findings::Findings;
use super::{armies, map, placing};

/// Checks a scenario that fits its schema against the rules it is played with.
pub(super) fn check(scenario: &Scenario, ruleset: &Ruleset, findings: &mut Findings<'_>) {
    armies::check(scenario, ruleset, findings);
    let ground = map::check(scenario, ruleset, findings);
    placing::check(scenario, ruleset, ground.as_ref(), findings);
}

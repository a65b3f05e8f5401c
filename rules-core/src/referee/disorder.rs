//! Optional law: disorder comes with falling back and goes with standing.

use crate::game::{Event, Game};
use crate::orders::UnitId;
use crate::ruleset::Ruleset;

use super::support::Body;
use super::zones::{is_in_halt_zone, zoned_enemies};

/// Shifts for disordered units: against each side that has one in the battle, once.
pub(crate) fn shifts<'a>(
    ruleset: &Ruleset,
    attackers: impl Iterator<Item = &'a Body<'a>>,
    defenders: &[Body<'_>],
) -> Vec<(String, i32)> {
    let Some(disorder) = &ruleset.disorder else {
        return Vec::new();
    };
    let mut found = Vec::new();
    if let Some((unit, _)) = attackers.into_iter().find(|(unit, _)| unit.disorder > 0) {
        found.push((format!("{} in disorder", unit.id), -disorder.shift));
    }
    if let Some((unit, _)) = defenders.iter().find(|(unit, _)| unit.disorder > 0) {
        found.push((format!("{} in disorder", unit.id), disorder.shift));
    }
    found
}

/// The event that throws a unit into disorder; none without that law.
pub(crate) fn thrown_into(game: &Game, unit: &UnitId) -> Option<Event> {
    let disorder = game.ruleset().disorder.as_ref()?;
    Some(Event::Disordered {
        unit: unit.clone(),
        turns: disorder.turns_to_recover,
    })
}

/// What the moving side's units shed at the end of their player turn: each disordered unit that
/// neither moved nor fought in it and stands in no enemy halt zone is one turn nearer to order.
#[must_use]
pub fn recovered(game: &Game) -> Vec<Event> {
    if game.ruleset().disorder.is_none() {
        return Vec::new();
    }
    game.on_table()
        .filter(|unit| unit.side == game.player() && unit.disorder > 0 && !unit.moved_or_fought)
        .filter(|unit| {
            unit.footprint().is_some_and(|ground| {
                !zoned_enemies(game, unit.side)
                    .any(|(_, enemy)| is_in_halt_zone(game.ruleset(), &enemy, &ground))
            })
        })
        .map(|unit| Event::Disordered {
            unit: unit.id.clone(),
            turns: unit.disorder - 1,
        })
        .collect()
}

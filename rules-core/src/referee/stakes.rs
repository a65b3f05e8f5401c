//! What is still worth points to each side, and who must attack whom as the table stands.

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use super::attacks::duties;
use super::victory::holders;
use crate::game::{Game, State, Unit};
use crate::orders::{SideId, UnitId};
use crate::scenario::Edge;

/// What may still bring a side points.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Stakes {
    /// The side.
    pub side: SideId,
    /// Strength points that the enemy has left, on the table and to come.
    pub enemy_strength: f64,
    /// Points for each of them.
    pub points_per_strength: f64,
    /// Commanders that the enemy has left, on the table and to come.
    pub enemy_commanders: usize,
    /// Points for each of them.
    pub points_per_commander: f64,
    /// Exits over which the side's units may leave for points.
    pub exits: Vec<ExitStake>,
    /// Ground that the side does not hold.
    pub ground: Vec<GroundStake>,
}

/// A stretch of edge over which units may leave for points.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct ExitStake {
    /// The edge.
    pub edge: Edge,
    /// Start of the stretch, in millimetres from its west or south end.
    pub from_mm: f64,
    /// Its end, in millimetres.
    pub to_mm: f64,
    /// Points for each strength point that leaves.
    pub points_per_strength: f64,
    /// Strength points that could still leave.
    pub strength: f64,
}

/// Ground worth points.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct GroundStake {
    /// Its name.
    pub name: String,
    /// Points for holding it at the end.
    pub points: f64,
    /// Who holds it; absent: nobody.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub holder: Option<SideId>,
}

/// A unit that must attack an enemy in its strike zone, if both still stand there once the moves are made.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct MustAttack {
    /// Who must attack.
    pub unit: UnitId,
    /// Whom.
    pub enemy: UnitId,
    /// The distance between the two, in millimetres.
    pub distance_mm: f64,
}

/// What is still worth points to both sides, in the order of the scenario's sides. Nothing once the battle is over.
#[must_use]
pub fn stakes(game: &Game) -> Vec<Stakes> {
    if game.ending().is_some() {
        return Vec::new();
    }
    let holders = holders(game);
    [0, 1].map(|side| of_side(game, side, &holders)).into()
}

fn of_side(game: &Game, side: usize, holders: &[Option<SideId>]) -> Stakes {
    let (scenario, key) = (game.scenario(), game.side_id(side));
    let left = |of: usize| {
        let is_left = |unit: &&Unit| !matches!(unit.state, State::Gone(_));
        game.units()
            .filter(move |unit| unit.side == of)
            .filter(is_left)
    };
    let strength = |of: usize| left(of).map(Unit::strength).sum();
    let exits = scenario.exit.iter().filter(|exit| exit.side == key.0);
    let exits = exits.map(|exit| ExitStake {
        edge: exit.edge,
        from_mm: exit.from_mm,
        to_mm: exit.to_mm,
        points_per_strength: exit.points_per_strength,
        strength: strength(side),
    });
    let ground = scenario.objective.iter().zip(holders);
    let ground = ground
        .filter(|(objective, holder)| holder.as_ref() != Some(&key) && objective.points > 0.0)
        .map(|(objective, holder)| GroundStake {
            name: objective.name.clone(),
            points: objective.points,
            holder: holder.clone(),
        });
    Stakes {
        enemy_strength: strength(1 - side),
        points_per_strength: scenario.victory.points_per_strength,
        enemy_commanders: left(1 - side).filter(|unit| unit.is_commander()).count(),
        points_per_commander: scenario.victory.points_per_commander,
        exits: exits.collect(),
        ground: ground.collect(),
        side: key,
    }
}

/// Whom the side to move must attack as the table stands: every pair of its units with an enemy in its strike zone.
/// Its moves may part them or bring others together. Nothing where attacks are free or the battle is over.
#[must_use]
pub fn must_attack(game: &Game) -> Vec<MustAttack> {
    if game.ending().is_some() {
        return Vec::new();
    }
    let pairs = duties(game, game.player()).into_iter();
    pairs
        .map(|(unit, enemy, distance_mm)| MustAttack {
            unit,
            enemy,
            distance_mm,
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::game::{Cause, Event};
    use crate::referee::victory::scores;
    use crate::shipped;

    fn shipped_battles() -> impl Iterator<Item = (&'static str, Game)> {
        shipped::SCENARIOS.into_iter().map(|scenario| {
            let battle = shipped::find(scenario.key).expect("shipped");
            let field = battle.open().expect("sound");
            (scenario.key, Game::new(std::sync::Arc::new(field)))
        })
    }

    /// A side's points never rise by more than what was at stake for it, and fall to it.
    #[test]
    fn what_is_taken_is_no_longer_at_stake_and_stands_in_the_score() {
        for (name, mut game) in shipped_battles() {
            let (before, points) = (stakes(&game), scores(&game));
            let lost = game
                .units()
                .find(|unit| unit.side == 1 && !unit.is_commander())
                .map(|unit| (unit.id.clone(), unit.strength()));
            let (unit, strength) = lost.expect("somebody");
            game.apply(&Event::Removed {
                unit,
                cause: Cause::Surrounded,
            });
            let (after, now) = (stakes(&game), scores(&game));
            let gone = before[0].enemy_strength - after[0].enemy_strength;
            assert!((gone - strength).abs() < 1e-9, "{name}");
            let won = now[0].losses - points[0].losses;
            let worth = strength * before[0].points_per_strength;
            assert!((won - worth).abs() < 1e-9, "{name}");
            assert_eq!(before[1].enemy_strength, after[1].enemy_strength);
        }
    }

    #[test]
    fn ground_is_at_stake_for_whoever_does_not_hold_it() {
        for (_, game) in shipped_battles() {
            let holders = holders(&game);
            for stake in stakes(&game) {
                for (objective, holder) in game.scenario().objective.iter().zip(&holders) {
                    let is_at_stake = stake.ground.iter().any(|of| of.name == objective.name);
                    assert_eq!(is_at_stake, holder.as_ref() != Some(&stake.side));
                }
            }
        }
    }
}

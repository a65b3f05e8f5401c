//! Where the units of an automatic commander would go, and which stay where they are.

use fieldpost_rules::game::{Game, Unit};
use fieldpost_rules::geometry::{Footprint, Point, distance_mm, distance_point_footprint_mm};
use fieldpost_rules::referee::bombard_range_mm;
use fieldpost_rules::referee::victory::holders;
use fieldpost_rules::ruleset::Arm;
use fieldpost_rules::scenario::{Edge, Exit, Objective};

use super::Chance;

/// How often a unit makes for an objective rather than for an enemy.
const TO_OBJECTIVE: f64 = 0.3;
/// An objective is kept while an enemy could be there within so many turns.
const KEPT_TURNS: f64 = 3.0;

/// Whether more than half of the game turns have begun.
pub(super) fn is_late(game: &Game) -> bool {
    game.game_turn() * 2 > game.scenario().game_turns
}

pub(super) fn exits(game: &Game, side: usize) -> impl Iterator<Item = &Exit> {
    let key = game.side_id(side);
    let exits = game.scenario().exit.iter();
    exits.filter(move |exit| exit.side == key.0)
}

/// The place on an exit's stretch of edge that is nearest to a unit's middle.
fn nearest_of_exit(game: &Game, exit: &Exit, ground: &Footprint) -> Point {
    let (low, high) = if exit.from_mm < exit.to_mm {
        (exit.from_mm, exit.to_mm)
    } else {
        (exit.to_mm, exit.from_mm)
    };
    let (table, middle) = (&game.ground().table, ground.centre);
    match exit.edge {
        Edge::North => Point::new(middle.x.clamp(low, high), table.depth_mm),
        Edge::South => Point::new(middle.x.clamp(low, high), 0.0),
        Edge::West => Point::new(0.0, middle.y.clamp(low, high)),
        Edge::East => Point::new(table.width_mm, middle.y.clamp(low, high)),
    }
}

/// Where a unit would go; `None`: it stands.
pub(super) fn goal(game: &Game, unit: &Unit, chance: &mut Chance) -> Option<Point> {
    let ground = unit.footprint()?;
    let (enemy, enemy_mm) = nearest_enemy(game, unit.side, &ground)?;
    match unit.arm {
        Arm::Commander => {
            let (line, gap_mm) = middle_of_followers(game, unit, &ground)?;
            (gap_mm > 3.0 * unit.block().frontage_mm).then_some(line)
        }
        Arm::Guns => {
            let range_mm = bombard_range_mm(game.ruleset(), unit);
            (enemy_mm > 0.8 * range_mm).then_some(enemy)
        }
        Arm::Foot | Arm::Horse => {
            let exit = exits(game, unit.side)
                .next()
                .map(|exit| nearest_of_exit(game, exit, &ground));
            // late in the battle, whoever is nearer to its way out than to any enemy makes for it
            let out = exit.filter(|exit| {
                is_late(game) && distance_point_footprint_mm(*exit, &ground) < enemy_mm
            });
            let to_objective = chance.comes(TO_OBJECTIVE);
            let objective = nearest_to_take(game, unit.side, &ground);
            Some(out.or(objective.filter(|_| to_objective)).unwrap_or(enemy))
        }
    }
}

/// The middle of the nearest objective that a side does not hold.
fn nearest_to_take(game: &Game, side: usize, ground: &Footprint) -> Option<Point> {
    let key = game.side_id(side);
    let objectives = game.scenario().objective.iter().zip(holders(game));
    objectives
        .filter(|(_, holder)| holder.as_ref() != Some(&key))
        .map(|(objective, _)| middle(objective))
        .reduce(|a, b| {
            if ground.centre.distance_to(b) < ground.centre.distance_to(a) {
                b
            } else {
                a
            }
        })
}

pub(super) fn middle(objective: &Objective) -> Point {
    Point::new(objective.at[0], objective.at[1])
}

/// The objective that a unit stays for: its side holds it, nobody of its side within it stands nearer to its middle, and an enemy
/// could come there soon.
pub(super) fn kept<'a>(game: &'a Game, unit: &Unit) -> Option<&'a Objective> {
    if !unit.has_strength() {
        return None;
    }
    let key = game.side_id(unit.side);
    let objectives = game.scenario().objective.iter().zip(holders(game));
    objectives
        .filter(|(objective, holder)| objective.points > 0.0 && holder.as_ref() == Some(&key))
        .map(|(objective, _)| objective)
        .find(|objective| {
            let keeper = keeper(game, unit.side, objective);
            keeper.is_some_and(|keeper| keeper.id == unit.id)
                && is_threatened(game, unit.side, objective)
        })
}

/// Of a side's units that reach into an objective the one nearest to its middle.
fn keeper<'a>(game: &'a Game, side: usize, objective: &Objective) -> Option<&'a Unit> {
    let at = middle(objective);
    let own = game
        .on_table()
        .filter(|unit| unit.side == side && unit.has_strength());
    let within = own.filter_map(|unit| {
        let ground = unit.footprint()?;
        let away_mm = distance_point_footprint_mm(at, &ground);
        (away_mm <= objective.radius_mm).then(|| (ground.centre.distance_to(at), unit))
    });
    let nearest = within.min_by(|a, b| a.0.total_cmp(&b.0).then_with(|| a.1.id.cmp(&b.1.id)));
    nearest.map(|(_, unit)| unit)
}

/// Whether an enemy could be at an objective within a few turns. Where a place falls back as soon as nobody stands there,
/// somebody stays in any case.
fn is_threatened(game: &Game, side: usize, objective: &Objective) -> bool {
    let at = middle(objective);
    !objective.keeps
        || game
            .on_table()
            .filter(|unit| unit.side != side && unit.has_strength())
            .any(|enemy| {
                let away_mm = enemy.footprint().map_or(f64::INFINITY, |ground| {
                    distance_point_footprint_mm(at, &ground)
                });
                away_mm <= objective.radius_mm + KEPT_TURNS * allowance_mm(game, enemy)
            })
}

/// How far a unit may go in a turn over clear ground.
pub(super) fn allowance_mm(game: &Game, unit: &Unit) -> f64 {
    let ruleset = game.ruleset();
    let points = unit
        .troop_type(ruleset)
        .map(|troops| troops.movement_points);
    points.unwrap_or(0.0) * ruleset.scale.movement_point_mm()
}

/// Middle of the nearest enemy with strength, with its distance.
pub(super) fn nearest_enemy(game: &Game, side: usize, ground: &Footprint) -> Option<(Point, f64)> {
    game.on_table()
        .filter(|unit| unit.side != side && unit.has_strength())
        .filter_map(|unit| {
            let enemy = unit.footprint()?;
            Some((enemy.centre, distance_mm(ground, &enemy)))
        })
        .reduce(|near, other| if other.1 < near.1 { other } else { near })
}

/// The middle of the units that look to a commander, with its distance from the commander.
fn middle_of_followers(game: &Game, commander: &Unit, ground: &Footprint) -> Option<(Point, f64)> {
    let (mut x, mut y, mut count) = (0.0, 0.0, 0.0);
    for unit in game
        .on_table()
        .filter(|unit| unit.side == commander.side && !unit.is_commander())
    {
        if unit
            .under
            .as_ref()
            .is_some_and(|under| *under != commander.id)
        {
            continue;
        }
        let centre = unit.footprint()?.centre;
        (x, y, count) = (x + centre.x, y + centre.y, count + 1.0);
    }
    (count > 0.0).then(|| {
        let middle = Point::new(x / count, y / count);
        (middle, ground.centre.distance_to(middle))
    })
}

//! A plain automatic commander: an opponent for a lonely evening, and a player for trials.
//!
//! It advances on the nearest enemy or objective, keeps its guns in range and its commanders
//! behind the line, attacks what it must, and never writes a sheet that would be refused.

mod chance;
#[cfg(test)]
mod trials;

use crate::game::{Game, State, Unit};
use crate::geometry::{Footprint, Point, distance_mm};
use crate::orders::{Hand, Leg, Order, TurnSheet, UnitId};
use crate::referee::Drafting;
use crate::ruleset::Arm;

pub use chance::Chance;

/// Longer than any table: an *up to* leg of this length goes as far as allowed.
const AS_FAR_AS_ALLOWED_MM: f64 = 20_000.0;

/// A sheet for the side to move, drawn up with the given chances. It falls back to fewer moves when battles
/// that would follow from them cannot be declared; `None` only when not even standing still can be.
#[must_use]
pub fn sheet(game: &Game, chance: &mut Chance) -> Option<TurnSheet> {
    let mut drafting = Drafting::begin(game);
    for id in by_nearness(game) {
        order(&mut drafting, &id, chance);
    }
    drafting
        .finish()
        .or_else(|| Drafting::begin(game).finish())
        .map(|sheet| with_follow_ups(sheet, chance))
}

/// Own units, those nearest to an enemy first, so that the rear does not block the front.
fn by_nearness(game: &Game) -> Vec<UnitId> {
    let mut units: Vec<(f64, &UnitId)> = game
        .units()
        .filter(|unit| unit.side == game.player())
        .map(|unit| {
            let near_mm = unit
                .footprint()
                .and_then(|ground| nearest_enemy(game, unit.side, &ground))
                .map_or(f64::INFINITY, |(_, distance_mm)| distance_mm);
            (near_mm, &unit.id)
        })
        .collect();
    units.sort_by(|a, b| a.0.total_cmp(&b.0).then_with(|| a.1.cmp(b.1)));
    units.into_iter().map(|(_, id)| id.clone()).collect()
}

fn order(drafting: &mut Drafting<'_>, id: &UnitId, chance: &mut Chance) {
    let Some(unit) = drafting.table().unit(id).cloned() else {
        return;
    };
    match &unit.state {
        State::Gone(_) => {}
        State::Waiting(arrival) => {
            if drafting.table().game_turn() < arrival.game_turn {
                return;
            }
            for _ in 0..4 {
                let half_mm = unit.block().frontage_mm / 2.0;
                let room_mm = arrival.to_mm - arrival.from_mm - 2.0 * half_mm;
                let along_mm = (arrival.from_mm + half_mm + room_mm * chance.share()).round();
                let onward = Leg::Forward {
                    distance_mm: AS_FAR_AS_ALLOWED_MM,
                    up_to: true,
                };
                for legs in [vec![onward], Vec::new()] {
                    if drafting.offer(Order::Arrive {
                        unit: id.clone(),
                        along_mm,
                        legs,
                    }) {
                        return;
                    }
                }
            }
        }
        State::Standing(_) => {
            let Some(goal) = goal(drafting.table(), &unit, chance) else {
                return;
            };
            for legs in ways(&unit, goal) {
                if drafting.offer(Order::Move {
                    unit: id.clone(),
                    legs,
                }) {
                    return;
                }
            }
        }
    }
}

/// Where a unit would go; `None`: it stands.
fn goal(game: &Game, unit: &Unit, chance: &mut Chance) -> Option<Point> {
    let ground = unit.footprint()?;
    let (enemy, enemy_mm) = nearest_enemy(game, unit.side, &ground)?;
    match unit.arm {
        Arm::Commander => {
            let (line, gap_mm) = middle_of_followers(game, unit, &ground)?;
            (gap_mm > 3.0 * unit.block().frontage_mm).then_some(line)
        }
        Arm::Guns => {
            let ruleset = game.ruleset();
            let range = unit
                .troop_type(ruleset)
                .and_then(|troops| troops.bombard_range)
                .unwrap_or(ruleset.attacks.bombard_range);
            (enemy_mm > 0.8 * range.mm(&ruleset.scale)).then_some(enemy)
        }
        Arm::Foot | Arm::Horse => {
            let objective = game
                .scenario()
                .objective
                .iter()
                .map(|objective| Point::new(objective.at[0], objective.at[1]))
                .reduce(|a, b| {
                    if ground.centre.distance_to(b) < ground.centre.distance_to(a) {
                        b
                    } else {
                        a
                    }
                });
            let to_objective = chance.comes(0.3);
            Some(objective.filter(|_| to_objective).unwrap_or(enemy))
        }
    }
}

/// Ways to go towards a place, the most willing first.
fn ways(unit: &Unit, goal: Point) -> Vec<Vec<Leg>> {
    let Some(pose) = unit.pose() else {
        return Vec::new();
    };
    let placement = pose.placement();
    let towards = goal - placement.anchor;
    let turn_deg = libm::atan2(
        -placement.ahead.cross(towards),
        placement.ahead.dot(towards),
    )
    .to_degrees();
    let forward = |distance_mm: f64| Leg::Forward {
        distance_mm,
        up_to: true,
    };
    let far_mm = towards.length();
    if turn_deg.abs() > 120.0 {
        return vec![vec![Leg::About, forward(far_mm)], vec![Leg::About]];
    }
    let side = if turn_deg < 0.0 {
        Hand::Left
    } else {
        Hand::Right
    };
    let wheel = Leg::Wheel {
        side,
        angle_deg: turn_deg.abs().round(),
        up_to: true,
    };
    let mut ways = Vec::new();
    if turn_deg.abs() > 4.0 {
        ways.push(vec![wheel, forward(far_mm)]);
        ways.push(vec![wheel]);
    }
    ways.push(vec![forward(far_mm)]);
    ways.push(vec![forward(far_mm / 3.0)]);
    ways
}

/// Middle of the nearest enemy with strength, with its distance.
fn nearest_enemy(game: &Game, side: usize, ground: &Footprint) -> Option<(Point, f64)> {
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

/// Lets an attacker of each battle follow up, more often than not.
fn with_follow_ups(mut sheet: TurnSheet, chance: &mut Chance) -> TurnSheet {
    for order in &mut sheet.orders {
        if let Order::Battle {
            attackers,
            follow_up,
            ..
        } = order
            && follow_up.is_none()
            && chance.comes(0.6)
        {
            *follow_up = attackers.first().cloned();
        }
    }
    sheet
}

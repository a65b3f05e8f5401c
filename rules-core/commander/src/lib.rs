//! A plain automatic commander: an opponent for a lonely evening, and a player for trials.
//!
//! It advances on the nearest enemy, an objective or its exit, keeps its guns in range and its commanders
//! behind the line, attacks what it must and what promises well, lets its guns bombard or fire,
//! and never writes a sheet that would be refused.

mod chance;
mod fighting;
#[cfg(test)]
mod tests;

use std::collections::BTreeMap;

use fieldpost_rules::game::{Game, State, Unit};
use fieldpost_rules::geometry::{Footprint, Point, distance_mm, distance_point_footprint_mm};
use fieldpost_rules::orders::{
    Extent, Hand, Instruction, Instructions, Leg, Order, TurnSheet, UnitId,
};
use fieldpost_rules::referee::{Drafting, bombard_range_mm, zones};
use fieldpost_rules::ruleset::Arm;
use fieldpost_rules::scenario::{Edge, Exit};
use fieldpost_rules::verdict::Code;

pub use chance::Chance;

/// Nearness at which a unit counts as standing at the table's edge.
const AT_EDGE_MM: f64 = 0.01;

/// A sheet, and what the commander thought of and was refused while drafting it.
#[derive(Debug, Clone, PartialEq)]
pub struct Draft {
    /// The sheet; the referee would accept it.
    pub sheet: TurnSheet,
    /// Orders thought of that the referee would have refused, by their headlines.
    pub refused: BTreeMap<Code, u32>,
}

/// A sheet for the side to move, drawn up with the given chances. It falls back to standing still when
/// battles that would follow from its moves cannot be declared; `None` only when not even that can be.
#[must_use]
pub fn draft(game: &Game, chance: &mut Chance) -> Option<Draft> {
    let mut drafting = Drafting::begin(game);
    for id in by_nearness(game) {
        order(&mut drafting, &id, chance);
    }
    let mut drafted = finished(drafting).or_else(|| finished(Drafting::begin(game)))?;
    follow_up(&mut drafted.sheet, chance);
    Some(drafted)
}

/// As [`draft`], the sheet alone.
#[must_use]
pub fn sheet(game: &Game, chance: &mut Chance) -> Option<TurnSheet> {
    draft(game, chance).map(|drafted| drafted.sheet)
}

/// Standing instructions for all units of a side.
#[must_use]
pub fn instructions(chance: &mut Chance) -> Instructions {
    Instructions {
        all: Instruction {
            follow_up: chance.comes(0.6),
            give_way: None,
        },
        ..Instructions::default()
    }
}

fn finished(mut drafting: Drafting) -> Option<Draft> {
    if !fighting::declare(&mut drafting) {
        return None;
    }
    let refused = drafting.refused().clone();
    let sheet = drafting.finish()?;
    Some(Draft { sheet, refused })
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

fn order(drafting: &mut Drafting, id: &UnitId, chance: &mut Chance) {
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
                    distance_mm: Extent::AsFarAsAllowed,
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
            if leaves(drafting, &unit) || withdraws(drafting, &unit, chance) {
                return;
            }
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

/// Lets a unit that stands on its side's exit leave, once the battle is half over.
fn leaves(drafting: &mut Drafting, unit: &Unit) -> bool {
    let table = drafting.table();
    let ready = is_late(table) && unit.has_strength();
    let Some(ground) = unit.footprint().filter(|_| ready) else {
        return false;
    };
    let pays = exits(table, unit.side).any(|exit| exit.points_per_strength > 0.0);
    // at which stretch of which edge it stands is for the referee to say
    let at_edge = table.ground().table.margin_mm(&ground) <= AT_EDGE_MM;
    pays && at_edge
        && drafting.offer(Order::Leave {
            unit: unit.id.clone(),
        })
}

/// Whether more than half of the game turns have begun.
fn is_late(game: &Game) -> bool {
    game.game_turn() * 2 > game.scenario().game_turns
}

/// Lets a locked unit that faces twice its strength break contact now and then, where the rules let it.
fn withdraws(drafting: &mut Drafting, unit: &Unit, chance: &mut Chance) -> bool {
    let table = drafting.table();
    let (Some(_), Some(ground)) = (table.ruleset().withdrawal.as_ref(), unit.footprint()) else {
        return false;
    };
    let mut against = 0.0;
    for (enemy, place) in zones::zoned_enemies(table, unit.side) {
        if zones::is_in_halt_zone(table.ruleset(), &place, &ground) {
            against += enemy.strength();
        }
    }
    if against < 2.0 * unit.strength() || against == 0.0 || !chance.comes(0.5) {
        return false;
    }
    drafting.offer(Order::Withdraw {
        unit: unit.id.clone(),
        legs: vec![Leg::Back {
            distance_mm: Extent::AsFarAsAllowed,
        }],
    })
}

fn exits(game: &Game, side: usize) -> impl Iterator<Item = &Exit> {
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
fn goal(game: &Game, unit: &Unit, chance: &mut Chance) -> Option<Point> {
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
            let exit = exits(game, unit.side)
                .next()
                .map(|exit| nearest_of_exit(game, exit, &ground));
            // late in the battle, whoever is nearer to its way out than to any enemy makes for it
            let out = exit.filter(|exit| {
                is_late(game) && distance_point_footprint_mm(*exit, &ground) < enemy_mm
            });
            let to_objective = chance.comes(0.3);
            Some(out.or(objective.filter(|_| to_objective)).unwrap_or(enemy))
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
        distance_mm: Extent::UpTo(distance_mm),
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
        angle_deg: Extent::UpTo(turn_deg.abs().round()),
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
fn follow_up(sheet: &mut TurnSheet, chance: &mut Chance) {
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
}

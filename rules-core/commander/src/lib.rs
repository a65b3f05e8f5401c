//! A plain automatic commander: an opponent for a lonely evening, and a player for trials.
//!
//! It advances on the nearest enemy, an objective or its exit, keeps the objectives that it holds, its guns in range and its
//! commanders behind the line, turns no back on an enemy near by, attacks what it must and what promises well, lets its guns
//! bombard or fire, and never writes a sheet that would be refused.

mod chance;
mod fighting;
mod goals;
#[cfg(test)]
mod tests;
mod ways;

use std::collections::BTreeMap;

use fieldpost_rules::game::{Game, State, Unit};
use fieldpost_rules::orders::{Extent, Instruction, Instructions, Leg, Order, TurnSheet, UnitId};
use fieldpost_rules::referee::{Drafting, zones};
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
                .and_then(|ground| goals::nearest_enemy(game, unit.side, &ground))
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
            if ways::takes_cover(drafting, &unit) {
                return;
            }
            if let Some(objective) = goals::kept(drafting.table(), &unit).cloned() {
                ways::face_about_it(drafting, &unit, &objective);
            } else if let Some(goal) = goals::goal(drafting.table(), &unit, chance) {
                ways::go(drafting, &unit, goal);
            }
        }
    }
}

/// Lets a unit that stands on its side's exit leave, once the battle is half over.
fn leaves(drafting: &mut Drafting, unit: &Unit) -> bool {
    let table = drafting.table();
    let ready = goals::is_late(table) && unit.has_strength();
    let Some(ground) = unit.footprint().filter(|_| ready) else {
        return false;
    };
    let pays = goals::exits(table, unit.side).any(|exit| exit.points_per_strength > 0.0);
    // at which stretch of which edge it stands is for the referee to say
    let at_edge = table.ground().table.margin_mm(&ground) <= AT_EDGE_MM;
    pays && at_edge
        && drafting.offer(Order::Leave {
            unit: unit.id.clone(),
        })
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

//! What an automatic commander does when the moves are made: the battles it must fight, those it
//! chooses to fight, and its guns.

use fieldpost_rules::game::{Game, Unit};
use fieldpost_rules::geometry::{Footprint, distance_mm};
use fieldpost_rules::orders::{Order, UnitId};
use fieldpost_rules::referee::{Drafting, bombard_range_mm, farthest_fire_mm, zones};

/// How many targets a gun looks at before it stays silent.
const TARGETS_LOOKED_AT: usize = 3;

/// Declares what must be fought, then what promises well, then lets the guns join in or fire. `false` when
/// no declaration of what must be fought is found.
pub(super) fn declare(drafting: &mut Drafting) -> bool {
    if !drafting.declare() {
        return false;
    }
    if !drafting.table().ruleset().attacks.compulsory {
        attack_what_promises(drafting);
    }
    let guns: Vec<UnitId> = own(drafting.table())
        .filter(|(unit, _)| unit.is_guns())
        .map(|(unit, _)| unit.id.clone())
        .collect();
    for gun in guns {
        if !is_named(drafting, &gun) {
            serve(drafting, &gun);
        }
    }
    true
}

/// Own units with strength that stand on the table.
fn own(game: &Game) -> impl Iterator<Item = (&Unit, Footprint)> {
    game.on_table()
        .filter(|unit| unit.side == game.player() && unit.has_strength())
        .filter_map(|unit| Some((unit, unit.footprint()?)))
}

/// Enemies on the table with their distances, nearest first.
fn enemies_of(game: &Game, ground: &Footprint) -> Vec<(UnitId, f64)> {
    let mut enemies: Vec<(UnitId, f64)> = game
        .on_table()
        .filter(|unit| unit.side != game.player() && unit.has_strength())
        .filter_map(|unit| Some((unit.id.clone(), distance_mm(ground, &unit.footprint()?))))
        .collect();
    enemies.sort_by(|a, b| a.1.total_cmp(&b.1).then_with(|| a.0.cmp(&b.0)));
    enemies
}

fn is_named(drafting: &Drafting, id: &UnitId) -> bool {
    let fights = |order: &Order| {
        matches!(order, Order::Battle { .. } | Order::Fire { .. }) && order.units().contains(&id)
    };
    drafting.orders().iter().any(fights)
}

/// Where attacks are free: everyone who reaches an enemy attacks it, if together they are no weaker.
fn attack_what_promises(drafting: &mut Drafting) {
    let strike_mm = zones::strike_zone_mm(drafting.table().ruleset());
    let mut reached: Vec<(UnitId, Vec<UnitId>)> = Vec::new();
    for (unit, ground) in own(drafting.table()).filter(|(unit, _)| !unit.is_guns()) {
        for (enemy, _) in enemies_of(drafting.table(), &ground)
            .into_iter()
            .take_while(|(_, distance_mm)| *distance_mm <= strike_mm)
        {
            match reached.iter_mut().find(|(id, _)| *id == enemy) {
                Some((_, attackers)) => attackers.push(unit.id.clone()),
                None => reached.push((enemy, vec![unit.id.clone()])),
            }
        }
    }
    for (enemy, mut attackers) in reached {
        attackers.retain(|unit| !is_named(drafting, unit));
        if attackers.is_empty() {
            continue;
        }
        let battle = Order::Battle {
            attackers,
            defenders: vec![enemy],
            guns: Vec::new(),
            follow_up: None,
        };
        let promises = drafting
            .preview(&battle)
            .and_then(|verdict| verdict.odds)
            .is_some_and(|odds| odds.attack >= odds.defence);
        if promises {
            drafting.offer_battle(battle);
        }
    }
}

/// Lets a gun bombard in a battle near it, or fire or bombard by itself where the rules let it.
fn serve(drafting: &mut Drafting, gun: &UnitId) {
    let table = drafting.table();
    let Some((unit, ground)) = own(table).find(|(unit, _)| unit.id == *gun) else {
        return;
    };
    let ruleset = table.ruleset();
    let enemies = enemies_of(table, &ground);
    let strike_mm = zones::strike_zone_mm(ruleset);
    if enemies
        .first()
        .is_none_or(|(_, distance_mm)| *distance_mm <= strike_mm)
    {
        return;
    }
    let range_mm = bombard_range_mm(ruleset, unit);
    let fire_mm = farthest_fire_mm(ruleset);
    let alone = !ruleset.attacks.bombard_joins_only;
    for (enemy, distance_mm) in enemies.iter().take(TARGETS_LOOKED_AT) {
        let battle = drafting.orders().iter().position(|order| {
            matches!(order, Order::Battle { attackers, defenders, .. }
                if !attackers.is_empty() && defenders.contains(enemy))
        });
        let in_range = *distance_mm <= range_mm;
        if in_range && battle.is_some_and(|battle| drafting.join_guns(battle, gun)) {
            return;
        }
        if fire_mm.is_some_and(|range_mm| *distance_mm <= range_mm)
            && drafting.offer_battle(Order::Fire {
                guns: vec![gun.clone()],
                target: enemy.clone(),
            })
        {
            return;
        }
        if in_range
            && alone
            && battle.is_none()
            && drafting.offer_battle(Order::Battle {
                attackers: Vec::new(),
                defenders: vec![enemy.clone()],
                guns: vec![gun.clone()],
                follow_up: None,
            })
        {
            return;
        }
    }
}

//! A battle fought: who takes part, the odds, losses, falling back, following up.

use fieldpost_rules::orders::{Hand, Instructions, Order, UnitId};
use fieldpost_rules::ruleset::{Losses, Outcome};

use crate::giving_ground::{Fate, fall_back};
use crate::limits::{What, sampled};
use crate::odds::{Odds, odds};
use crate::plane::{Rect, Vector, distance};
use crate::search::{first_above, profile};
use crate::support::{ranks_before, stands_behind};
use crate::table::Table;

/// What the second reading says of one battle.
#[derive(Debug, Clone)]
pub struct Fought {
    pub attackers: Vec<String>,
    pub defenders: Vec<String>,
    /// Absent when commanders were taken without a throw.
    pub odds: Option<Odds>,
    pub removed: Vec<String>,
    /// Largest angle off straight away.
    pub turned_deg: f64,
    pub notes: Vec<String>,
}

/// Enemies that stand behind those attacked, and share their fate.
pub fn with_support(table: &Table, named: &[usize]) -> Vec<usize> {
    let mut all = named.to_vec();
    loop {
        let side = table.units[named[0]].side;
        let more = (0..table.units.len()).find(|&unit| {
            let own = &table.units[unit];
            own.on_table && own.side == side && own.has_strength() && !all.contains(&unit) && {
                let mut with = all.clone();
                with.push(unit);
                let behind = all
                    .iter()
                    .any(|&front| stands_behind(table, own, &table.units[front]));
                let before = *ranks_before(table, &with).last().unwrap();
                behind && u32::from(before) < table.rules.attacks.depth
            }
        });
        match more {
            Some(unit) => all.push(unit),
            None => return all,
        }
    }
}

/// Fights a battle whose outcome is known, on the table.
pub fn fight(
    table: &mut Table,
    orders: &[Order],
    battle: &Order,
    standing: &Instructions,
) -> Option<Fought> {
    let Order::Battle {
        attackers,
        defenders,
        guns,
        follow_up,
    } = battle
    else {
        return None;
    };
    let find =
        |ids: &[UnitId]| -> Vec<usize> { ids.iter().filter_map(|id| table.find(&id.0)).collect() };
    let (attackers, named, guns) = (find(attackers), find(defenders), find(guns));
    let support = if table.rules.attacks.support {
        with_support(table, &named)
    } else {
        named.clone()
    };
    let ids =
        |table: &Table, units: &[usize]| units.iter().map(|&u| table.units[u].id.clone()).collect();
    let mut fought = Fought {
        attackers: ids(table, &attackers),
        defenders: ids(table, &support),
        odds: None,
        removed: Vec::new(),
        turned_deg: 0.0,
        notes: Vec::new(),
    };
    let grounds = |table: &Table, units: &[usize]| -> Vec<(usize, Rect)> {
        units
            .iter()
            .map(|&unit| (unit, table.units[unit].rect))
            .collect()
    };
    let (attack_ground, defence_ground) = (grounds(table, &attackers), grounds(table, &support));
    let mut gave: Vec<usize> = Vec::new();
    if named.iter().all(|&unit| table.units[unit].is_commander()) {
        for &unit in &named {
            remove(table, unit, &mut fought, &mut gave);
        }
    } else {
        fought.odds = Some(odds(table, &attackers, &support, &named, &guns));
        let name = &table.rules.results.row[0].outcomes[0];
        let outcome = table.rules.results.outcome[name].clone();
        losses(
            table,
            &outcome,
            &attackers,
            &support,
            &mut fought,
            &mut gave,
        );
        let gives_way = |unit: &str| {
            let ordered = orders.iter().find_map(|order| match order {
                Order::GiveWay { unit: id, side } if id.0 == unit => Some(*side),
                _ => None,
            });
            ordered.or(standing.of(&UnitId::from(unit)).give_way)
        };
        let bombarded_alone = attackers.is_empty();
        let by_attackers: Vec<Rect> = if bombarded_alone {
            guns.iter().map(|&gun| table.units[gun].rect).collect()
        } else {
            attack_ground.iter().map(|ground| ground.1).collect()
        };
        let by_defenders: Vec<Rect> = defence_ground.iter().map(|ground| ground.1).collect();
        for (fate, units, opposing) in [
            (&outcome.defender, &support, by_attackers),
            (&outcome.attacker, &attackers, by_defenders),
        ] {
            let mm = fate
                .falls_back
                .map_or(0.0, |far| far.mm(&table.rules.scale));
            if mm > 0.0 {
                fall(
                    table,
                    units,
                    &opposing,
                    mm,
                    &gives_way,
                    &mut fought,
                    &mut gave,
                );
            }
        }
    }
    follow(
        table,
        &fought_sides(&attack_ground, &defence_ground),
        follow_up.as_ref(),
        standing,
        &gave,
        &mut fought,
    );
    Some(fought)
}

fn fought_sides(attack: &[(usize, Rect)], defence: &[(usize, Rect)]) -> [Vec<(usize, Rect)>; 2] {
    [attack.to_vec(), defence.to_vec()]
}

fn remove(table: &mut Table, unit: usize, fought: &mut Fought, gave: &mut Vec<usize>) {
    if table.units[unit].on_table {
        table.units[unit].on_table = false;
        fought.removed.push(table.units[unit].id.clone());
        gave.push(unit);
    }
}

fn lose(table: &mut Table, unit: usize, fought: &mut Fought, gave: &mut Vec<usize>) {
    let own = &mut table.units[unit];
    own.bases = own.bases.saturating_sub(1);
    if own.bases == 0 {
        remove(table, unit, fought, gave);
    } else {
        let own = &mut table.units[unit];
        own.rect = own.fitted(&own.rect);
    }
}

/// The first named of those with most bases left.
fn largest(table: &Table, units: &[usize]) -> Option<usize> {
    let own = |&&unit: &&usize| table.units[unit].on_table && table.units[unit].has_strength();
    units.iter().filter(own).copied().reduce(|best, unit| {
        if table.units[unit].bases > table.units[best].bases {
            unit
        } else {
            best
        }
    })
}

fn losses(
    table: &mut Table,
    outcome: &Outcome,
    attackers: &[usize],
    defenders: &[usize],
    fought: &mut Fought,
    gave: &mut Vec<usize>,
) {
    let strength = |table: &Table, units: &[usize]| -> f64 {
        units.iter().map(|&u| table.units[u].strength()).sum()
    };
    if outcome.exchange {
        let weaker = strength(table, attackers).min(strength(table, defenders));
        for units in [defenders, attackers] {
            let mut lost = 0.0;
            while lost < weaker - 1e-9 {
                let Some(unit) = largest(table, units) else {
                    break;
                };
                lost += table.units[unit].strength_per_base;
                lose(table, unit, fought, gave);
            }
        }
    }
    for (fate, units) in [
        (&outcome.defender, defenders),
        (&outcome.attacker, attackers),
    ] {
        match table.rules.results.losses {
            Losses::Side => {
                for _ in 0..fate.loses {
                    if let Some(unit) = largest(table, units) {
                        lose(table, unit, fought, gave);
                    }
                }
            }
            Losses::EachUnit => {
                for &unit in units {
                    for _ in 0..fate.loses {
                        if table.units[unit].on_table && table.units[unit].has_strength() {
                            lose(table, unit, fought, gave);
                        }
                    }
                }
            }
        }
    }
    for (fate, units) in [
        (&outcome.defender, defenders),
        (&outcome.attacker, attackers),
    ] {
        if fate.eliminated {
            units
                .iter()
                .for_each(|&unit| remove(table, unit, fought, gave));
        }
    }
}

fn fall(
    table: &mut Table,
    units: &[usize],
    opposing: &[Rect],
    mm: f64,
    gives_way: &impl Fn(&str) -> Option<Hand>,
    fought: &mut Fought,
    gave: &mut Vec<usize>,
) {
    let mut order: Vec<(usize, f64)> = units
        .iter()
        .filter(|&&unit| table.units[unit].on_table)
        .map(|&unit| {
            let far = opposing
                .iter()
                .map(|other| distance(&table.units[unit].rect, other));
            (unit, far.fold(f64::INFINITY, f64::min))
        })
        .collect();
    order.sort_by(|a, b| ((b.1 * 1000.0).round()).total_cmp(&(a.1 * 1000.0).round()));
    for (unit, _) in order {
        if !table.units[unit].on_table {
            continue;
        }
        if table.units[unit].is_commander() {
            remove(table, unit, fought, gave);
            continue;
        }
        let prefers = gives_way(&table.units[unit].id);
        match fall_back(table, unit, opposing, mm, prefers) {
            Fate::Goes { ways, turned_deg } => {
                fought.turned_deg = fought.turned_deg.max(turned_deg.abs());
                for (goes, by) in ways {
                    table.units[goes].rect =
                        crate::sheets::rounded(&table.units[goes].rect.moved(by));
                    let off = crate::limits::depth(table, What::Edge, &table.units[goes].rect);
                    if (off - table.tolerance_mm).abs() < 0.01 {
                        fought.notes.push("off the table".to_owned());
                    }
                    if off > table.tolerance_mm + 1e-6 {
                        table.units[goes].on_table = false;
                        fought.removed.push(table.units[goes].id.clone());
                    }
                }
                gave.push(unit);
            }
            Fate::Surrounded | Fate::NoWay => remove(table, unit, fought, gave),
        }
    }
}

/// One winner goes for the nearest ground that was given up.
fn follow(
    table: &mut Table,
    sides: &[Vec<(usize, Rect)>; 2],
    ordered: Option<&UnitId>,
    standing: &Instructions,
    gave: &[usize],
    fought: &mut Fought,
) {
    let [attack, defence] = sides;
    let given = |side: &[(usize, Rect)]| -> Vec<Rect> {
        side.iter()
            .filter(|ground| gave.contains(&ground.0))
            .map(|ground| ground.1)
            .collect()
    };
    let fit = |table: &Table, unit: usize| {
        table.units[unit].on_table && table.units[unit].has_strength() && !gave.contains(&unit)
    };
    let nearest = |table: &Table, unit: usize, grounds: &[Rect]| {
        let far = |ground: &Rect| distance(&table.units[unit].rect, ground);
        grounds
            .iter()
            .map(|ground| (far(ground), *ground))
            .reduce(|a, b| if b.0 < a.0 - 0.001 { b } else { a })
    };
    let by_defenders = given(defence);
    let attacker = ordered
        .and_then(|id| table.find(&id.0))
        .filter(|&unit| fit(table, unit));
    let by_attackers = given(attack);
    let told = defence.iter().map(|ground| ground.0).filter(|&unit| {
        fit(table, unit) && standing.of(&UnitId(table.units[unit].id.clone())).follow_up
    });
    let waiting = told
        .filter_map(|unit| nearest(table, unit, &by_attackers).map(|(far, _)| (unit, far)))
        .reduce(|a, b| if b.1 < a.1 - 0.001 { b } else { a });
    let goes = match attacker {
        Some(unit) if !by_defenders.is_empty() => Some((unit, by_defenders)),
        _ => waiting.map(|(unit, _)| (unit, by_attackers)),
    };
    let Some((unit, grounds)) = goes else {
        return;
    };
    let Some((_, ground)) = nearest(table, unit, &grounds) else {
        return;
    };
    let rect = table.units[unit].rect;
    let to: Vector = ground.anchor - rect.anchor;
    let most = table.rules.falling_back.follow_up.mm(&table.rules.scale);
    let length = to.length().min(most);
    let Some(way) = to.unit() else {
        return;
    };
    let go = stops_after(table, unit, way * length) * length;
    if (go - table.tolerance_mm).abs() < 0.01 {
        fought.notes.push("no longer than the tolerance".to_owned());
    }
    if go > table.tolerance_mm {
        table.units[unit].rect = crate::sheets::rounded(&rect.moved(way * go));
    }
}

/// The share of a way until it touches anything deeper than it began.
fn stops_after(table: &Table, unit: usize, by: Vector) -> f64 {
    let rect = table.units[unit].rect;
    let step = crate::legs::Step {
        kind: crate::legs::Kind::Straight,
        hand: None,
        from: rect,
        motion: crate::legs::Motion::Slide(by),
        factor: 0.0,
        fixed_mm: 0.0,
        outer_left: false,
    };
    let others = (0..table.units.len())
        .filter(|&u| u != unit && table.units[u].on_table)
        .map(What::Enemy);
    let patches = (0..table.patches.len())
        .filter(|&p| table.patches[p].impassable)
        .map(What::Impassable);
    let mut least = 1.0f64;
    for what in others.chain(patches).chain([What::Edge]) {
        let at = |share: f64| crate::limits::depth(table, what, &step.rect_at(share));
        let began = at(0.0).max(0.0) + 0.001;
        let all = sampled(table, what, &step);
        let all = if all.len() < 3 {
            profile(at, 8, by.length())
        } else {
            all
        };
        if let Some(share) = first_above(at, &all, began) {
            least = least.min(share);
        }
    }
    least
}

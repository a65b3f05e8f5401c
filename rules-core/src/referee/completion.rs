//! A legal completion of a declaration: what the player declared as far as it stands, and the
//! battles that are missing.
//!
//! Units that must attack and enemies that must be attacked form a graph of pairs within
//! strike zones. A maximum matching gives each pair a battle; whoever is left over joins the
//! battle of a neighbour. Two left over on opposite sides never meet in one battle, or the
//! matching could have been larger; so every battle is a star, in which each attacker reaches
//! each defender.

use std::collections::{BTreeMap, BTreeSet};

use crate::game::Game;
use crate::interruption::Interruption;
use crate::orders::{Order, TurnSheet, UnitId};
use crate::verdict::Ruling;

use super::attacks::{Duty, duties, judge};
use super::parties::{self, Parties};
use super::support::{bodies, counted_bases};
use super::zones::TOUCH_MM;
use super::zones::strike_zone_mm;

/// A battle in the making.
#[derive(Debug, Clone, Default)]
struct Draft {
    attackers: Vec<UnitId>,
    defenders: Vec<UnitId>,
    guns: Vec<UnitId>,
    follow_up: Option<UnitId>,
}

/// The battle and fire orders of a legal completion of a sheet's declaration on the table after
/// its moves: first the declared battles as far as they are legal with what is missing added,
/// otherwise a fresh set, with and then without the guns. Each is judged before it is offered;
/// `None` when none of them is legal.
#[must_use]
pub fn completion(game: &Game, sheet: &TurnSheet) -> Option<Vec<Order>> {
    completion_unless(game, sheet, &Interruption::never())
}

/// The same; `None` too when the search was interrupted.
pub(super) fn completion_unless(
    game: &Game,
    sheet: &TurnSheet,
    interruption: &Interruption,
) -> Option<Vec<Order>> {
    let side = game.side_index(&sheet.side).unwrap_or(game.player());
    let pairs = duties(game, side);
    let declared = declared(game, sheet, side);
    let extended = extended(game, &declared, &pairs);
    let fresh = matched(&BTreeSet::new(), &BTreeSet::new(), &pairs);
    let mut with_guns = fresh.clone();
    join_guns(&mut with_guns, &declared);
    let fires: Vec<Order> = sheet
        .orders
        .iter()
        .filter(|order| matches!(order, Order::Fire { .. }))
        .filter(|order| !interruption.is_due() && stands(game, sheet, order))
        .cloned()
        .collect();
    let battles = [extended, with_guns, fresh]
        .into_iter()
        .map(|drafts| drafts.into_iter().map(Order::from).collect::<Vec<Order>>())
        .find(|battles| !interruption.is_due() && is_legal(game, sheet, battles))?;
    Some(with_fires(game, sheet, battles, &fires, interruption))
}

/// Battles with as much of the declared gun fire as is legal beside them: guns that fire at a target that others fire
/// at already join these, for a target is fired at once.
fn with_fires(
    game: &Game,
    sheet: &TurnSheet,
    battles: Vec<Order>,
    fires: &[Order],
    interruption: &Interruption,
) -> Vec<Order> {
    let mut orders = battles;
    for fire in fires {
        if interruption.is_due() {
            break;
        }
        let mut tried = orders.clone();
        join_fire(&mut tried, fire);
        if is_legal(game, sheet, &tried) {
            orders = tried;
        }
    }
    orders
}

/// Adds gun fire to others, in one order where the target is the same.
fn join_fire(orders: &mut Vec<Order>, fire: &Order) {
    let Order::Fire { guns, target } = fire else {
        return;
    };
    for order in orders.iter_mut() {
        if let Order::Fire {
            guns: others,
            target: at,
        } = order
            && at == target
        {
            let more = guns.iter().filter(|gun| !others.contains(gun)).cloned();
            let more: Vec<UnitId> = more.collect();
            others.extend(more);
            return;
        }
    }
    orders.push(fire.clone());
}

impl From<Draft> for Order {
    fn from(draft: Draft) -> Self {
        let attacks = |unit: &UnitId| draft.attackers.contains(unit);
        let follow_up = draft.follow_up.filter(attacks);
        Self::Battle {
            attackers: draft.attackers,
            defenders: draft.defenders,
            guns: draft.guns,
            follow_up,
        }
    }
}

fn is_legal(game: &Game, sheet: &TurnSheet, battles: &[Order]) -> bool {
    let others = sheet
        .orders
        .iter()
        .filter(|order| !matches!(order, Order::Battle { .. } | Order::Fire { .. }));
    let tried = TurnSheet {
        orders: others.chain(battles).cloned().collect(),
        ..sheet.clone()
    };
    let (verdicts, reasons) = judge(game, &tried);
    let refused = Ruling::Refused;
    verdicts.iter().all(|battle| battle.verdict != refused)
        && reasons.iter().all(|reason| reason.ruling() != refused)
}

/// Whether nothing is to be said against an order alone, whatever may be missing beside it.
fn stands(game: &Game, sheet: &TurnSheet, order: &Order) -> bool {
    let tried = TurnSheet {
        orders: vec![order.clone()],
        ..sheet.clone()
    };
    let (verdicts, _) = judge(game, &tried);
    let mut verdicts = verdicts.iter();
    verdicts.all(|battle| battle.verdict != Ruling::Refused)
}

/// The declared battles with whoever is unknown, named twice or out of reach left out, and guns that cannot fire.
fn declared(game: &Game, sheet: &TurnSheet, side: usize) -> Vec<Draft> {
    let mut named = BTreeSet::new();
    let mut drafts = Vec::new();
    for order in &sheet.orders {
        let Order::Battle { follow_up, .. } = order else {
            continue;
        };
        let Some(parties) = Parties::named(order) else {
            continue;
        };
        let mut fit = |ids: &[UnitId], of_ours: bool| -> Vec<UnitId> {
            ids.iter()
                .filter(|id| {
                    game.unit(id).is_some_and(|unit| {
                        unit.is_on_table()
                            && (unit.side == side) == of_ours
                            && (unit.has_strength() || !of_ours)
                    })
                })
                .filter(|id| named.insert((*id).clone()))
                .cloned()
                .collect()
        };
        let mut draft = Draft {
            attackers: fit(&parties.attackers, true),
            defenders: fit(&parties.declared, false),
            guns: fit(&parties.guns, true),
            follow_up: follow_up.clone(),
        };
        drop_out_of_reach(game, &mut draft);
        drop_idle_guns(game, &mut draft);
        if !(draft.attackers.is_empty() || draft.defenders.is_empty()) {
            drafts.push(draft);
        }
    }
    drafts
}

/// Leaves out attackers that do not reach every defender; when that leaves none, defenders that
/// no attacker reaches go first.
fn drop_out_of_reach(game: &Game, draft: &mut Draft) {
    let reached = reaches(game, draft);
    let one_reaches = |enemy: usize| reached.iter().any(|row| row.get(enemy) == Some(&true));
    let mut enemy = 0;
    draft.defenders.retain(|_| {
        enemy += 1;
        one_reaches(enemy - 1)
    });
    let reached = reaches(game, draft);
    let mut attacker = 0;
    draft.attackers.retain(|_| {
        attacker += 1;
        reached
            .get(attacker - 1)
            .is_some_and(|row| row.iter().all(|reached| *reached))
    });
}

/// Leaves out guns that cannot bombard every defender.
fn drop_idle_guns(game: &Game, draft: &mut Draft) {
    let defenders = bodies(game, &draft.defenders);
    let fires = |id: &UnitId| {
        let gun = bodies(game, std::slice::from_ref(id));
        let all = |gun| {
            let mut targets = defenders.iter();
            targets.all(|target| parties::still_fires(game, false, gun, target))
        };
        gun.first().is_some_and(all)
    };
    draft.guns.retain(fires);
}

/// For each attacker of a draft whether it reaches each defender.
fn reaches(game: &Game, draft: &Draft) -> Vec<Vec<bool>> {
    let ruleset = game.ruleset();
    let limit = strike_zone_mm(ruleset) + larger_slack(ruleset.scale.tolerance_mm);
    let attackers = bodies(game, &draft.attackers);
    let defenders = bodies(game, &draft.defenders);
    let counted = counted_bases(
        &attackers,
        ruleset.attacks.depth,
        ruleset.scale.tolerance_mm,
    );
    (0..attackers.len())
        .map(|index| {
            defenders
                .iter()
                .map(|defender| {
                    parties::reach(ruleset, &attackers, &counted, index, defender).counts_mm
                        <= limit
                })
                .collect()
        })
        .collect()
}

fn larger_slack(tolerance_mm: f64) -> f64 {
    crate::geometry::larger(tolerance_mm, TOUCH_MM)
}

/// The declared battles, and new ones for those left out: idle units are matched with enemies
/// left out; then each of the rest joins the first battle that stays legal with it.
fn extended(game: &Game, declared: &[Draft], pairs: &[Duty]) -> Vec<Draft> {
    let attacking = declared.iter().flat_map(|draft| &draft.attackers);
    let attacked = declared.iter().flat_map(|draft| &draft.defenders);
    let (attacking, attacked) = (attacking.collect(), attacked.collect());
    let mut drafts = declared.to_vec();
    drafts.extend(matched(&attacking, &attacked, pairs));
    let busy: BTreeSet<UnitId> = drafts
        .iter()
        .flat_map(|draft| draft.attackers.iter().chain(&draft.defenders))
        .cloned()
        .collect();
    let mut seen = BTreeSet::new();
    for (unit, enemy, _) in pairs {
        for (id, attacks) in [(unit, true), (enemy, false)] {
            if busy.contains(id) || !seen.insert(id) {
                continue;
            }
            for draft in &mut drafts {
                let mut tried = draft.clone();
                if attacks {
                    tried.attackers.push(id.clone());
                } else {
                    tried.defenders.push(id.clone());
                }
                if reaches(game, &tried)
                    .iter()
                    .flatten()
                    .all(|reached| *reached)
                {
                    *draft = tried;
                    break;
                }
            }
        }
    }
    drafts
}

/// Battles for every unit and enemy of the pairs not yet in one: a maximum matching by
/// augmenting paths, then the rest as neighbours' stars.
fn matched(
    attacking: &BTreeSet<&UnitId>,
    attacked: &BTreeSet<&UnitId>,
    pairs: &[Duty],
) -> Vec<Draft> {
    let mut enemies_of: BTreeMap<&UnitId, Vec<&UnitId>> = BTreeMap::new();
    for (unit, enemy, _) in pairs {
        if !attacking.contains(unit) && !attacked.contains(enemy) {
            enemies_of.entry(unit).or_default().push(enemy);
        }
    }
    let mut attacker_of: BTreeMap<&UnitId, &UnitId> = BTreeMap::new();
    for unit in enemies_of.keys() {
        augment(unit, &enemies_of, &mut attacker_of, &mut BTreeSet::new());
    }
    let mut drafts: Vec<Draft> = attacker_of
        .iter()
        .map(|(enemy, unit)| Draft {
            attackers: vec![(*unit).clone()],
            defenders: vec![(*enemy).clone()],
            ..Draft::default()
        })
        .collect();
    for (unit, enemies) in &enemies_of {
        for enemy in enemies {
            let unit_is_in = drafts.iter().any(|draft| draft.attackers.contains(unit));
            let enemy_is_in = drafts.iter().any(|draft| draft.defenders.contains(enemy));
            let joins = drafts.iter_mut().find(|draft| {
                (!unit_is_in && draft.defenders == [(*enemy).clone()])
                    || (!enemy_is_in && draft.attackers == [(*unit).clone()])
            });
            match joins {
                Some(draft) if !unit_is_in => draft.attackers.push((*unit).clone()),
                Some(draft) if !enemy_is_in => draft.defenders.push((*enemy).clone()),
                _ => {}
            }
        }
    }
    drafts
}

/// Finds an enemy for a unit, moving others to other enemies of theirs if that makes room.
fn augment<'a>(
    unit: &'a UnitId,
    enemies_of: &BTreeMap<&'a UnitId, Vec<&'a UnitId>>,
    attacker_of: &mut BTreeMap<&'a UnitId, &'a UnitId>,
    tried: &mut BTreeSet<&'a UnitId>,
) -> bool {
    for &enemy in enemies_of.get(unit).into_iter().flatten() {
        if !tried.insert(enemy) {
            continue;
        }
        let holder = attacker_of.get(enemy).copied();
        if holder.is_none_or(|other| augment(other, enemies_of, attacker_of, tried)) {
            attacker_of.insert(enemy, unit);
            return true;
        }
    }
    false
}

/// Puts the declared guns back with the battle that has their old target.
fn join_guns(drafts: &mut [Draft], declared: &[Draft]) {
    for old in declared.iter().filter(|old| !old.guns.is_empty()) {
        let target = drafts
            .iter_mut()
            .find(|draft| draft.defenders.iter().any(|id| old.defenders.contains(id)));
        if let Some(draft) = target {
            draft.guns.extend(old.guns.iter().cloned());
            draft.follow_up = draft.follow_up.take().or_else(|| old.follow_up.clone());
        }
    }
}

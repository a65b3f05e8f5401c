//! Who fights in a battle: those declared, and those that stand behind the ones attacked.

use std::collections::BTreeSet;

use crate::game::{Game, Unit};
use crate::geometry::{distance_mm, larger, signed_distance_mm};
use crate::orders::{Order, TurnSheet, UnitId};
use crate::ruleset::Ruleset;

use super::sight;
use super::support::{self, Body};
use super::zones::{TOUCH_MM, strike_zone_mm, zoned_enemies};

/// The units of one battle or gun fire.
#[derive(Debug, Clone, PartialEq, Default)]
pub(crate) struct Parties {
    /// Units that attack.
    pub attackers: Vec<UnitId>,
    /// Units attacked by name.
    pub declared: Vec<UnitId>,
    /// Units that stand behind those and share their fate.
    pub supports: Vec<UnitId>,
    /// Guns that bombard.
    pub guns: Vec<UnitId>,
    /// Whether it is gun fire of its own.
    pub fire: bool,
}

impl Parties {
    /// The units of an order, as it names them; `None` when it is no battle.
    pub(crate) fn named(order: &Order) -> Option<Self> {
        match order {
            Order::Battle {
                attackers,
                defenders,
                guns,
                ..
            } => Some(Self {
                attackers: attackers.clone(),
                declared: defenders.clone(),
                supports: Vec::new(),
                guns: guns.clone(),
                fire: false,
            }),
            Order::Fire { guns, target } => Some(Self {
                attackers: Vec::new(),
                declared: vec![target.clone()],
                supports: Vec::new(),
                guns: guns.clone(),
                fire: true,
            }),
            _ => None,
        }
    }

    /// Every unit attacked.
    pub(crate) fn defenders(&self) -> Vec<UnitId> {
        self.declared
            .iter()
            .chain(&self.supports)
            .cloned()
            .collect()
    }

    /// Whether anybody attacks and anybody is attacked.
    pub(crate) fn can_fight(&self) -> bool {
        let somebody_attacks = !self.attackers.is_empty() || !self.guns.is_empty();
        somebody_attacks && !self.declared.is_empty()
    }

    /// Adds the units that stand behind those attacked. One that another battle names, or that
    /// has fought (`taken`), does not join; gun fire takes every unit behind its target.
    pub(crate) fn with_supports(mut self, game: &Game, taken: &BTreeSet<UnitId>) -> Self {
        let fire = self.fire;
        self.supports =
            support::stack_behind(game, &self.declared, |id| fire || !taken.contains(id));
        self
    }
}

/// Every unit that a battle of the sheet other than order `except` names.
pub(crate) fn named_elsewhere(sheet: &TurnSheet, except: usize) -> BTreeSet<UnitId> {
    let mut named = BTreeSet::new();
    for (index, order) in sheet.orders.iter().enumerate() {
        if let (true, Order::Battle { .. }) = (index != except, order) {
            named.extend(order.units().into_iter().cloned());
        }
    }
    named
}

/// How an attacker has a defender in its strike zone.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Reach {
    /// Its own distance, in millimetres.
    pub own_mm: f64,
    /// The distance that counts: its own, or that of the unit it stands behind.
    pub counts_mm: f64,
    /// The unit it reaches through.
    pub through: Option<UnitId>,
}

/// How attacker `index` of a party reaches a defender: by itself, or, where that is too far and
/// support is allowed, through the nearest of the units it stands behind whose depth leaves
/// room for it.
pub(crate) fn reach(
    ruleset: &Ruleset,
    attackers: &[Body<'_>],
    counted: &[u32],
    index: usize,
    defender: &Body<'_>,
) -> Reach {
    let own_mm = distance_mm(&attackers[index].1, &defender.1);
    let mut reach = Reach {
        own_mm,
        counts_mm: own_mm,
        through: None,
    };
    let adds = counted.get(index).is_some_and(|bases| *bases > 0);
    if own_mm > strike_zone_mm(ruleset) + TOUCH_MM && ruleset.attacks.support && adds {
        let mut seen = vec![index];
        let mut next = 0;
        while let Some(&at) = seen.get(next) {
            next += 1;
            for front in support::fronts_of(attackers, at, ruleset.scale.tolerance_mm) {
                if seen.contains(&front) {
                    continue;
                }
                seen.push(front);
                let distance = distance_mm(&attackers[front].1, &defender.1);
                if distance < reach.counts_mm {
                    reach.counts_mm = distance;
                    reach.through = Some(attackers[front].0.id.clone());
                }
            }
        }
    }
    reach
}

/// Reach of a gun unit's bombardment in millimetres.
pub fn bombard_range_mm(ruleset: &Ruleset, gun: &Unit) -> f64 {
    gun.troop_type(ruleset)
        .and_then(|troops| troops.bombard_range)
        .unwrap_or(ruleset.attacks.bombard_range)
        .mm(&ruleset.scale)
}

/// The enemy with strength nearest to a unit, with its distance, if it is near enough to have
/// the unit in its strike zone.
pub(crate) fn threat<'a>(game: &'a Game, (unit, footprint): &Body<'_>) -> Option<(&'a Unit, f64)> {
    let limit = strike_zone_mm(game.ruleset()) + TOUCH_MM;
    let mut nearest: Option<(&Unit, f64)> = None;
    for (enemy, ground) in zoned_enemies(game, unit.side) {
        let apart = footprint.centre.distance_to(ground.centre);
        if apart - footprint.reach() - ground.reach() > limit {
            continue;
        }
        let distance = signed_distance_mm(footprint, &ground);
        if distance <= limit && nearest.is_none_or(|(_, least)| distance < least) {
            nearest = Some((enemy, distance));
        }
    }
    nearest.map(|(enemy, distance)| (enemy, larger(distance, 0.0)))
}

/// The parties of a declared battle as earlier battles of the sheet have left them.
pub(crate) struct Present {
    /// Those still on the table that have an enemy of the battle in reach, and enemies that are.
    pub parties: Parties,
    /// Guns on the table that do not fire, with why, in words.
    pub silent: Option<(Vec<UnitId>, &'static str)>,
}

/// Why guns do not fire.
const MAY_ONLY_JOIN: &str = "guns may only join an attack here, and nobody is left to make one";
const NO_TARGET: &str = "nobody whom they were to fire at is left where they may fire";
const NOT_COMMANDERS: &str = "guns alone do not attack commanders";

/// Who is left of a declared battle. `Err` says in words why nothing comes of it.
pub(crate) fn present(game: &Game, named: &Parties, side: usize) -> Result<Present, String> {
    let ours = |ids: &[UnitId]| kept(game, ids, |unit| unit.side == side && unit.has_strength());
    let declared = kept(game, &named.declared, |unit| unit.side != side);
    if declared.is_empty() {
        return Err("nobody is left there to be attacked".to_owned());
    }
    let mut found = Parties {
        attackers: ours(&named.attackers),
        guns: ours(&named.guns),
        declared,
        supports: Vec::new(),
        fire: named.fire,
    };
    if !found.attackers.is_empty() {
        keep_in_reach(game, &mut found);
    }
    let silent = keep_firing(game, named, &mut found, side);
    if found.can_fight() {
        return Ok(Present {
            parties: found,
            silent,
        });
    }
    Err(match silent {
        Some((_, why)) => why.to_owned(),
        None if named.attackers.is_empty() => "nobody is left who can attack".to_owned(),
        None => "nobody is left within a strike zone".to_owned(),
    })
}

/// Keeps the guns that still fire, and where only guns are left the enemies that they fire at. Gives the
/// guns that do not, with why.
fn keep_firing(
    game: &Game,
    named: &Parties,
    found: &mut Parties,
    side: usize,
) -> Option<(Vec<UnitId>, &'static str)> {
    let standing = found.guns.clone();
    let alone = found.attackers.is_empty();
    if alone {
        // enemies out of every attacker's reach may still be in that of guns
        found.declared = kept(game, &named.declared, |unit| unit.side != side);
    }
    let targets = support::bodies(game, &found.declared);
    let fires_at = |gun: &Body<'_>, target: &Body<'_>| {
        gun.0.is_guns() && still_fires(game, named.fire, gun, target)
    };
    let joins = game.ruleset().attacks.bombard_joins_only && !named.fire;
    let is_joined = support::bodies(game, &found.attackers)
        .iter()
        .any(|(unit, _)| !unit.is_guns());
    let mut why = NO_TARGET;
    if joins && !is_joined {
        found.guns.clear();
        why = MAY_ONLY_JOIN;
    } else if alone && targets.iter().all(|(unit, _)| unit.is_commander()) {
        found.guns.clear();
        why = NOT_COMMANDERS;
    }
    let guns: Vec<Body<'_>> = support::bodies(game, &found.guns)
        .into_iter()
        .filter(|gun| targets.iter().any(|target| fires_at(gun, target)))
        .collect();
    found.guns = guns.iter().map(|(unit, _)| unit.id.clone()).collect();
    if alone {
        found.declared = targets
            .iter()
            .filter(|target| guns.iter().any(|gun| fires_at(gun, target)))
            .map(|(unit, _)| unit.id.clone())
            .collect();
    }
    let silent: Vec<UnitId> = standing
        .into_iter()
        .filter(|gun| !found.guns.contains(gun))
        .collect();
    (!silent.is_empty()).then_some((silent, why))
}

fn kept(game: &Game, ids: &[UnitId], keep: impl Fn(&Unit) -> bool) -> Vec<UnitId> {
    ids.iter()
        .filter(|id| {
            game.unit(id)
                .is_some_and(|unit| unit.is_on_table() && keep(unit))
        })
        .cloned()
        .collect()
}

/// Keeps attackers that reach somebody and enemies that somebody reaches.
fn keep_in_reach(game: &Game, parties: &mut Parties) {
    let ruleset = game.ruleset();
    let limit = strike_zone_mm(ruleset) + larger(ruleset.scale.tolerance_mm, TOUCH_MM);
    let attackers = support::bodies(game, &parties.attackers);
    let defenders = support::bodies(game, &parties.declared);
    let counted = support::counted_bases(
        &attackers,
        ruleset.attacks.depth,
        ruleset.scale.tolerance_mm,
    );
    let mut reaching = BTreeSet::new();
    let mut reached = BTreeSet::new();
    for (index, (attacker, _)) in attackers.iter().enumerate() {
        for defender in &defenders {
            if reach(ruleset, &attackers, &counted, index, defender).counts_mm <= limit {
                reaching.insert(attacker.id.clone());
                reached.insert(defender.0.id.clone());
            }
        }
    }
    parties.attackers.retain(|id| reaching.contains(id));
    parties.declared.retain(|id| reached.contains(id));
}

/// Whether a gun may still fire at a target: out of strike zones, in range, in sight.
pub(super) fn still_fires(game: &Game, alone: bool, gun: &Body<'_>, target: &Body<'_>) -> bool {
    let ruleset = game.ruleset();
    let tolerance_mm = ruleset.scale.tolerance_mm;
    let free = threat(game, gun)
        .is_none_or(|(_, distance)| distance + tolerance_mm >= strike_zone_mm(ruleset));
    let range_mm = if alone {
        sight::farthest_mm(ruleset).unwrap_or(0.0)
    } else {
        bombard_range_mm(ruleset, gun.0)
    };
    let in_sight = |string: sight::Sighting| string.by.is_none();
    free && distance_mm(&gun.1, &target.1) <= range_mm + larger(tolerance_mm, TOUCH_MM)
        && (!alone || in_sight(sight::sighting(game, gun, target)))
        && (alone
            || ruleset.attacks.bombard_over_friends
            || in_sight(sight::over_friends(game, gun, target)))
}

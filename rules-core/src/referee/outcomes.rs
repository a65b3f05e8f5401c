//! What a result does: losses, exchange, elimination; then falling back and following up.

use std::collections::{BTreeMap, BTreeSet};

use crate::game::{Cause, Event, Game, State};
use crate::geometry::{ARITHMETIC, Footprint, Pose, distance_mm, smaller};
use crate::orders::UnitId;
use crate::ruleset::{Fate, Losses, Outcome};

use super::battles::Fight;
use super::disorder;
use super::falling_back::{Retreat, retreat};
use super::following_up;
use super::parties::Parties;
use super::ties::{farthest_first, first_nearest};

/// Where the parties of a battle stood when it was fought, and who has given up his ground.
pub(crate) struct Field {
    stood: BTreeMap<UnitId, (Pose, Footprint)>,
    vacated: BTreeSet<UnitId>,
}

impl Field {
    pub(crate) fn of(game: &Game, parties: &Parties) -> Self {
        let all = parties.attackers.iter().chain(&parties.declared);
        let stood = all
            .chain(&parties.supports)
            .chain(&parties.guns)
            .filter_map(|id| {
                let unit = game.unit(id)?;
                Some((id.clone(), (unit.pose()?, unit.footprint()?)))
            })
            .collect();
        Self {
            stood,
            vacated: BTreeSet::new(),
        }
    }

    pub(crate) fn vacate(&mut self, unit: UnitId) {
        self.vacated.insert(unit);
    }

    fn grounds(&self, ids: &[UnitId]) -> Vec<Footprint> {
        ids.iter()
            .filter_map(|id| self.stood.get(id))
            .map(|(_, ground)| *ground)
            .collect()
    }
}

/// Carries out a result: exchange and losses of both sides, eliminations, then the defenders
/// fall back, then the attackers. Guns that bombard suffer nothing.
pub(crate) fn carry_out(
    fight: &mut Fight<'_>,
    parties: &Parties,
    outcome: &Outcome,
    field: &mut Field,
) {
    let defenders = parties.defenders();
    if outcome.exchange {
        exchange(fight, &parties.attackers, &defenders);
    }
    for (units, fate) in [
        (&defenders, &outcome.defender),
        (&parties.attackers, &outcome.attacker),
    ] {
        lose(fight, units, fate.loses);
        if fate.eliminated {
            for unit in units {
                fight.remove(unit, Cause::Eliminated);
            }
        }
    }
    // Guns are what a unit falls back from only when nobody else attacks it.
    let attackers = if parties.attackers.is_empty() {
        &parties.guns
    } else {
        &parties.attackers
    };
    let (from_attackers, from_defenders) = (field.grounds(attackers), field.grounds(&defenders));
    fall_back(fight, &defenders, &outcome.defender, &from_attackers, field);
    fall_back(
        fight,
        &parties.attackers,
        &outcome.attacker,
        &from_defenders,
        field,
    );
    for unit in defenders.iter().chain(&parties.attackers) {
        let is_gone = fight
            .game
            .unit(unit)
            .is_some_and(|unit| matches!(unit.state, State::Gone(_)));
        if is_gone {
            field.vacate(unit.clone());
        }
    }
}

/// Each unit with strength loses so many bases, or the side does, as the ruleset has it.
fn lose(fight: &mut Fight<'_>, units: &[UnitId], bases: u32) {
    if bases == 0 {
        return;
    }
    let bases_of = bases_left(fight.game, units);
    let losses = match fight.game.ruleset().results.losses {
        Losses::EachUnit => bases_of
            .iter()
            .map(|(left, _)| u32::from(*left).min(bases))
            .collect(),
        Losses::Side => {
            let mut taken = 0;
            one_by_one(&bases_of, |_| {
                taken += 1;
                taken <= bases
            })
        }
    };
    take(fight, units, &losses);
}

/// Both sides lose bases, one at a time from the unit with most left, until each has lost at
/// least the strength of the weaker. Strength here is bases × strength per base, without terrain.
fn exchange(fight: &mut Fight<'_>, attackers: &[UnitId], defenders: &[UnitId]) {
    let (ours, theirs) = (
        bases_left(fight.game, attackers),
        bases_left(fight.game, defenders),
    );
    let whole = |side: &[(u16, f64)]| {
        side.iter()
            .fold(0.0, |sum, (bases, each)| sum + f64::from(*bases) * each)
    };
    let weaker = smaller(whole(&ours), whole(&theirs));
    for (units, side) in [(defenders, theirs), (attackers, ours)] {
        let mut lost = 0.0;
        let losses = one_by_one(&side, |each| {
            let goes_on = lost + ARITHMETIC < weaker;
            lost += each;
            goes_on
        });
        take(fight, units, &losses);
    }
}

/// Bases and strength per base of each unit; none of one that is gone or has no strength.
fn bases_left(game: &Game, units: &[UnitId]) -> Vec<(u16, f64)> {
    units
        .iter()
        .map(|id| match game.unit(id) {
            Some(unit) if unit.is_on_table() && unit.has_strength() => {
                (unit.bases, unit.strength_per_base)
            }
            _ => (0, 0.0),
        })
        .collect()
}

/// Takes bases one at a time from the unit with most left, the first named of equals, as long as
/// `goes_on` for the strength of the next base. Gives each unit's losses.
fn one_by_one(units: &[(u16, f64)], mut goes_on: impl FnMut(f64) -> bool) -> Vec<u32> {
    let mut left: Vec<u32> = units.iter().map(|(bases, _)| u32::from(*bases)).collect();
    let mut losses = vec![0; units.len()];
    loop {
        let mut largest = None;
        for (index, bases) in left.iter().enumerate() {
            if *bases > 0 && largest.is_none_or(|(_, most)| *bases > most) {
                largest = Some((index, *bases));
            }
        }
        match largest {
            Some((index, _)) if goes_on(units[index].1) => {
                left[index] -= 1;
                losses[index] += 1;
            }
            _ => return losses,
        }
    }
}

/// Takes the losses off; a unit without bases is removed.
fn take(fight: &mut Fight<'_>, units: &[UnitId], losses: &[u32]) {
    for (unit, lost) in units.iter().zip(losses) {
        let bases = u16::try_from(*lost).unwrap_or(u16::MAX);
        if bases > 0 {
            fight.happen(Event::Lost {
                unit: unit.clone(),
                bases,
            });
            if fight.game.unit(unit).is_some_and(|unit| unit.bases == 0) {
                fight.remove(unit, Cause::NoBasesLeft);
            }
        }
    }
}

/// The units of a side that must fall back, those farthest from the enemy first, so that nobody
/// is pushed by one he would have made room for.
fn fall_back(
    fight: &mut Fight<'_>,
    units: &[UnitId],
    fate: &Fate,
    opponents: &[Footprint],
    field: &mut Field,
) {
    // a fall back by nothing is none
    let Some(distance) = fate.falls_back.filter(|_| fate.moves()) else {
        return;
    };
    let distance_mm = distance.mm(&fight.game.ruleset().scale);
    let order: Vec<(f64, &UnitId)> = units
        .iter()
        .filter_map(|id| {
            let ground = fight.game.unit(id)?.footprint()?;
            Some((nearest_mm(&ground, opponents), id))
        })
        .collect();
    for unit in farthest_first(order) {
        let is_commander = match fight.game.unit(unit) {
            Some(unit) if unit.is_on_table() => unit.is_commander(),
            _ => continue, // pushed off the table by another
        };
        field.vacate(unit.clone());
        if is_commander {
            fight.remove(unit, Cause::CommanderTaken);
            continue;
        }
        let first_side = fight.gives_way(unit);
        match retreat(fight.game, unit, opponents, distance_mm, first_side) {
            Some(retreat) => gave_ground(fight, unit, retreat),
            None => continue,
        }
    }
}

fn gave_ground(fight: &mut Fight<'_>, unit: &UnitId, retreat: Retreat) {
    match retreat {
        Retreat::Surrounded => fight.remove(unit, Cause::Surrounded),
        Retreat::NoWayOpen => fight.remove(unit, Cause::NoWayOpen),
        Retreat::Goes {
            from,
            to,
            turned_deg,
            pushed,
            off_table,
        } => {
            fight.happen(Event::FellBack {
                unit: unit.clone(),
                from,
                to,
                turned_deg,
                pushed: pushed.clone(),
            });
            let pushed_too = fight
                .game
                .ruleset()
                .disorder
                .as_ref()
                .is_some_and(|d| d.pushed_too);
            for push in &pushed {
                if push.to.is_none() {
                    fight.remove(&push.unit, Cause::OffTable);
                } else if pushed_too {
                    throw_into_disorder(fight, &push.unit);
                }
            }
            if off_table {
                fight.remove(unit, Cause::OffTable);
            } else {
                throw_into_disorder(fight, unit);
            }
        }
    }
}

fn throw_into_disorder(fight: &mut Fight<'_>, unit: &UnitId) {
    if let Some(event) = disorder::thrown_into(fight.game, unit) {
        fight.happen(event);
    }
}

/// Distance to the nearest of some footprints.
fn nearest_mm(ground: &Footprint, others: &[Footprint]) -> f64 {
    others.iter().fold(f64::INFINITY, |least, other| {
        smaller(least, distance_mm(ground, other))
    })
}

/// One winner takes ground that the other side gave up: of the moving side the attacker the
/// sheet names; of the waiting side, of those told to, the one nearest to such ground. Who gave
/// ground itself, or has no strength, does not.
pub(crate) fn follow_up(
    fight: &mut Fight<'_>,
    parties: &Parties,
    named: Option<&UnitId>,
    field: &Field,
) {
    let defenders = parties.defenders();
    if let Some(unit) = named
        && parties.attackers.contains(unit)
        && let Some((_, former)) = nearest_vacated(fight.game, unit, &defenders, field)
    {
        take_ground(fight, unit, former);
    }
    let mut willing: Vec<(f64, (&UnitId, Pose))> = Vec::new();
    for unit in &defenders {
        let vacated = nearest_vacated(fight.game, unit, &parties.attackers, field);
        if let Some((distance_mm, former)) = vacated
            && fight.ask(unit).follow_up
        {
            willing.push((distance_mm, (unit, former)));
        }
    }
    if let Some((_, (unit, former))) = first_nearest(willing) {
        take_ground(fight, unit, former);
    }
}

/// The ground nearest to a winner that one of the losers gave up, of equally near ones the first named:
/// distance in millimetres and the loser's former pose.
fn nearest_vacated(
    game: &Game,
    winner: &UnitId,
    losers: &[UnitId],
    field: &Field,
) -> Option<(f64, Pose)> {
    let unit = game.unit(winner)?;
    if field.vacated.contains(winner) || !unit.has_strength() {
        return None;
    }
    let ground = unit.footprint()?;
    let grounds = losers
        .iter()
        .filter(|loser| field.vacated.contains(*loser))
        .filter_map(|loser| field.stood.get(loser))
        .map(|(pose, former)| (distance_mm(former, &ground), *pose));
    first_nearest(grounds.collect())
}

fn take_ground(fight: &mut Fight<'_>, unit: &UnitId, former: Pose) {
    if let Some((from, to)) = following_up::follow_up(fight.game, unit, former) {
        fight.happen(Event::FollowedUp {
            unit: unit.clone(),
            from,
            to,
        });
    }
}

#[cfg(test)]
mod tests {
    use super::one_by_one;

    #[test]
    fn bases_go_from_the_unit_with_most_left_the_first_named_of_equals() {
        let units = [(2, 1.0), (3, 1.0), (3, 1.0)];
        let lost = |count: u32| {
            let mut taken = 0;
            one_by_one(&units, |_| {
                taken += 1;
                taken <= count
            })
        };
        assert_eq!(lost(1), [0, 1, 0]);
        assert_eq!(lost(2), [0, 1, 1]);
        assert_eq!(lost(3), [1, 1, 1]);
        assert_eq!(lost(9), [2, 3, 3]);
    }
}

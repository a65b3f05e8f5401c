//! Declared battles judged (laws of measurement, §7): strike zones, duties, bombardment.

use std::collections::{BTreeMap, BTreeSet};

use crate::game::{Game, Unit};
use crate::geometry::{Footprint, distance_mm, larger, signed_distance_mm};
use crate::interruption::Interruption;
use crate::orders::{Order, TurnSheet, UnitId};
use crate::verdict::{BattleVerdict, Code, Measured, Reason, Ruling};

use super::parties::{self, Parties};
use super::support::{Body, bodies, counted_bases, fronts_of, nearly_behind};
use super::zones::{TOUCH_MM, strike_zone_mm};
use super::{breaking, sight, strength};

pub use super::completion::completion;

/// Judges every battle and gun fire of a sheet on the table as it is after the sheet's moves.
/// Gives a verdict for each, in the sheet's order, and what the sheet as a whole leaves undone:
/// every enemy that must be attacked and every unit that must attack, with distances.
#[must_use]
pub fn judge(game: &Game, sheet: &TurnSheet) -> (Vec<BattleVerdict>, Vec<Reason>) {
    judge_unless(game, sheet, &Interruption::never())
}

/// The same; what it says when interrupted is worth nothing.
pub(super) fn judge_unless(
    game: &Game,
    sheet: &TurnSheet,
    interruption: &Interruption,
) -> (Vec<BattleVerdict>, Vec<Reason>) {
    let judge = Judge::new(game, sheet);
    let mut joined = BTreeSet::new();
    let mut verdicts = Vec::new();
    let orders = sheet.orders.iter().enumerate();
    for (index, order) in orders.take_while(|_| !interruption.is_due()) {
        verdicts.extend(judge.battle(index, order, &mut joined));
    }
    (verdicts, judge.duties(&joined))
}

/// One pair that must fight: a unit with the duty to attack, an enemy in its strike zone, and
/// the distance in millimetres.
pub(crate) type Duty = (UnitId, UnitId, f64);

/// Every pair of a unit of `side` that has to attack and an enemy within its strike zone. Empty
/// where attacks are free, or the army is broken and need not attack.
pub(crate) fn duties(game: &Game, side: usize) -> Vec<Duty> {
    let attacks = &game.ruleset().attacks;
    if !attacks.compulsory || breaking::may_not_attack(game, side) {
        return Vec::new();
    }
    let limit = strike_zone_mm(game.ruleset()) + TOUCH_MM;
    let standing: Vec<Body<'_>> = game
        .on_table()
        .filter_map(|unit| Some((unit, unit.footprint()?)))
        .collect();
    let has_duty = |unit: &Unit| unit.has_strength() && !(attacks.guns_excepted && unit.is_guns());
    let enemies = FromWest::of(standing.iter().filter(|(enemy, _)| enemy.side != side));
    let mut pairs = Vec::new();
    for (unit, ground) in standing
        .iter()
        .filter(|(unit, _)| unit.side == side && has_duty(unit))
    {
        for (enemy, place) in enemies.near(ground, limit + 1.0) {
            let distance = signed_distance_mm(ground, place);
            if distance <= limit {
                pairs.push((unit.id.clone(), enemy.id.clone(), larger(distance, 0.0)));
            }
        }
    }
    pairs
}

/// Bodies sorted from west to east, so that those near a place are found without asking all.
struct FromWest<'b, 'a> {
    /// Each with its place in the order it was given in.
    bodies: Vec<(usize, &'b Body<'a>)>,
    widest_mm: f64,
}

impl<'b, 'a> FromWest<'b, 'a> {
    fn of(bodies: impl Iterator<Item = &'b Body<'a>>) -> Self {
        let mut bodies: Vec<(usize, &Body<'_>)> = bodies.enumerate().collect();
        bodies.sort_by(|(_, a), (_, b)| a.1.centre.x.total_cmp(&b.1.centre.x));
        let widest_mm = bodies
            .iter()
            .fold(0.0, |widest, (_, body)| larger(widest, body.1.spread()));
        Self { bodies, widest_mm }
    }

    /// Those that may be within so many millimetres, in the order given.
    fn near(&self, ground: &Footprint, apart_mm: f64) -> Vec<&'b Body<'a>> {
        let reach_mm = ground.spread() + self.widest_mm + apart_mm;
        let (west, east) = (ground.centre.x - reach_mm, ground.centre.x + reach_mm);
        let first = self
            .bodies
            .partition_point(|(_, body)| body.1.centre.x < west);
        let mut near: Vec<(usize, &Body<'_>)> = self.bodies[first..]
            .iter()
            .take_while(|(_, body)| body.1.centre.x <= east)
            .filter(|(_, body)| !ground.is_farther_than(&body.1, apart_mm))
            .copied()
            .collect();
        near.sort_by_key(|(place, _)| *place);
        near.into_iter().map(|(_, body)| body).collect()
    }
}

struct Judge<'a> {
    game: &'a Game,
    sheet: &'a TurnSheet,
    side: usize,
    strike_mm: f64,
    tolerance_mm: f64,
    /// The orders that name each unit as one that fights.
    fights: BTreeMap<&'a UnitId, Vec<usize>>,
    /// The orders that name each unit as the target of gun fire.
    fired_at: BTreeMap<&'a UnitId, Vec<usize>>,
    is_broken: bool,
}

impl<'a> Judge<'a> {
    fn new(game: &'a Game, sheet: &'a TurnSheet) -> Self {
        let side = game.side_index(&sheet.side).unwrap_or(game.player());
        let mut fights: BTreeMap<&UnitId, Vec<usize>> = BTreeMap::new();
        let mut fired_at: BTreeMap<&UnitId, Vec<usize>> = BTreeMap::new();
        for (index, order) in sheet.orders.iter().enumerate() {
            match order {
                Order::Battle { .. } => {
                    for unit in order.units() {
                        fights.entry(unit).or_default().push(index);
                    }
                }
                Order::Fire { guns, target } => {
                    for gun in guns {
                        fights.entry(gun).or_default().push(index);
                    }
                    fired_at.entry(target).or_default().push(index);
                }
                _ => {}
            }
        }
        // who is named twice in one order is in one battle
        fights.values_mut().for_each(Vec::dedup);
        Self {
            game,
            sheet,
            side,
            strike_mm: strike_zone_mm(game.ruleset()),
            tolerance_mm: game.ruleset().scale.tolerance_mm,
            fights,
            fired_at,
            is_broken: breaking::may_not_attack(game, side),
        }
    }

    fn battle(
        &self,
        index: usize,
        order: &Order,
        joined: &mut BTreeSet<UnitId>,
    ) -> Option<BattleVerdict> {
        let named = Parties::named(order)?;
        let mut findings = Findings::default();
        let known = self.known(&named, &mut findings);
        self.check_once(index, &named, &mut findings);
        self.check_sides(&named, &known, &mut findings);
        let (attackers, guns) = (
            bodies(self.game, &known.attackers),
            bodies(self.game, &known.guns),
        );
        let defenders = bodies(self.game, &known.declared);
        if known.fire {
            self.check_fire(&guns, &defenders, &mut findings);
        } else {
            self.check_strikes(&attackers, &defenders, &mut findings);
            self.check_bombardment(&attackers, &guns, &defenders, &mut findings);
        }
        self.check_follow_up(order, &mut findings);
        let mut taken = parties::named_elsewhere(self.sheet, index);
        taken.extend(joined.iter().cloned());
        let known = known.with_supports(self.game, &taken);
        if !known.fire {
            joined.extend(known.supports.iter().cloned());
        }
        let odds = strength::preview_of(self.game, &known);
        let Findings {
            measured,
            mut reasons,
        } = findings;
        reasons.sort_by_key(Reason::code);
        Some(BattleVerdict {
            order: index,
            verdict: Ruling::worst(reasons.iter().map(Reason::ruling)),
            attackers: named.attackers,
            defenders: named.declared,
            guns: named.guns,
            measured,
            odds,
            reasons,
        })
    }

    /// The units of a battle that exist, stand on the table and are on the side the order puts
    /// them; reasons for the others.
    fn known(&self, named: &Parties, findings: &mut Findings) -> Parties {
        let mut own = |ids: &[UnitId], must_be_gun: bool| {
            let mut kept = Vec::new();
            for id in ids {
                let Some(unit) = self.standing(id, findings) else {
                    continue;
                };
                if unit.side != self.side {
                    findings.refuse(Reason::count(Code::NotYourUnit, 0, 1).with(&id.0));
                } else if must_be_gun && !unit.is_guns() {
                    findings.refuse(Reason::count(Code::NotAGun, 1, 0).with(&id.0));
                } else if unit.has_strength() {
                    kept.push(id.clone());
                } else {
                    let note = format!("{id} has no strength and does not attack");
                    findings.refuse(impossible(&id.0, note));
                }
            }
            kept
        };
        let attackers = own(&named.attackers, false);
        let guns = own(&named.guns, true);
        let mut declared = Vec::new();
        for id in &named.declared {
            match self.standing(id, findings) {
                Some(unit) if unit.side != self.side => declared.push(id.clone()),
                Some(_) => {
                    let note = format!("{id} is of the side that attacks");
                    findings.refuse(impossible(&id.0, note));
                }
                None => {}
            }
        }
        Parties {
            attackers,
            declared,
            guns,
            supports: Vec::new(),
            fire: named.fire,
        }
    }

    fn standing(&self, id: &UnitId, findings: &mut Findings) -> Option<&'a Unit> {
        let unit = self.game.unit(id).filter(|unit| unit.is_on_table());
        if unit.is_none() {
            findings.refuse(Reason::count(Code::NoSuchUnit, 1, 0).with(&id.0));
        }
        unit
    }

    /// Each unit fights in one battle or fires once, and is fired at once; reasons stand with
    /// the second order that names it and those after.
    fn check_once(&self, index: usize, named: &Parties, findings: &mut Findings) {
        let targets: &[UnitId] = if named.fire { &named.declared } else { &[] };
        let fighting: Vec<&UnitId> = if named.fire {
            named.guns.iter().collect()
        } else {
            let all = named.attackers.iter().chain(&named.declared);
            all.chain(&named.guns).collect()
        };
        let mut once = BTreeSet::new();
        for unit in &fighting {
            if !once.insert(*unit) {
                let note = format!("{unit} is named twice in this order; once is enough");
                findings.refuse(impossible(&unit.0, note));
            }
        }
        let mut told = BTreeSet::new();
        let lists = [
            (&self.fights, fighting),
            (&self.fired_at, targets.iter().collect()),
        ];
        for (orders, units) in lists {
            for unit in units {
                let mentions = orders.get(unit).map_or(&[][..], Vec::as_slice);
                let again = mentions.iter().skip(1).any(|order| *order == index);
                if again && told.insert(unit) {
                    let times = u32::try_from(mentions.len()).unwrap_or(u32::MAX);
                    findings.refuse(Reason::count(Code::AttacksTwice, 1, times).with(&unit.0));
                }
            }
        }
    }

    /// A battle needs somebody on both sides.
    fn check_sides(&self, named: &Parties, known: &Parties, findings: &mut Findings) {
        if named.attackers.is_empty() && named.guns.is_empty() {
            findings.refuse(impossible("", "nobody is named to attack"));
        }
        if named.declared.is_empty() {
            findings.refuse(impossible("", "nobody is named to be attacked"));
        }
        let by_guns_alone = known.attackers.is_empty() && !known.guns.is_empty();
        let targets = bodies(self.game, &known.declared);
        if by_guns_alone
            && !targets.is_empty()
            && targets.iter().all(|(unit, _)| unit.is_commander())
        {
            findings.refuse(impossible("", "a commander is no target for guns alone"));
        }
        if self.is_broken && !known.guns.is_empty() {
            findings.refuse(self.broken("a broken army does not bombard"));
        }
    }

    /// Each attacker must have each defender in its strike zone, directly or through support.
    fn check_strikes(
        &self,
        attackers: &[Body<'_>],
        defenders: &[Body<'_>],
        findings: &mut Findings,
    ) {
        let ruleset = self.game.ruleset();
        let counted = counted_bases(attackers, ruleset.attacks.depth, self.tolerance_mm);
        for (index, (attacker, _)) in attackers.iter().enumerate() {
            for defender in defenders {
                let reach = parties::reach(ruleset, attackers, &counted, index, defender);
                findings.measured.push(Measured {
                    from: attacker.id.clone(),
                    to: defender.0.id.clone(),
                    distance_mm: reach.own_mm,
                    limit_mm: self.strike_mm,
                    through: reach.through.clone(),
                });
                if reach.counts_mm > self.strike_mm + TOUCH_MM {
                    let reason = Reason::length_over(
                        Code::NotInStrikeZone,
                        self.strike_mm,
                        reach.counts_mm,
                        self.tolerance_mm,
                    );
                    let from = reach.through.as_ref().unwrap_or(&attacker.id);
                    let mut note = format!("measured from {from}");
                    if let Some(why) = self.no_support(attackers, &counted, index, &reach) {
                        note.push_str(&format!("; {why}"));
                    }
                    findings.refuse(reason.with(&defender.0.id.0).note(note));
                }
            }
        }
    }

    /// Why an attacker that reaches nobody by itself does not reach through the unit before it, where that seems meant.
    fn no_support(
        &self,
        attackers: &[Body<'_>],
        counted: &[u32],
        index: usize,
        reach: &parties::Reach,
    ) -> Option<String> {
        let attacks = &self.game.ruleset().attacks;
        if !attacks.support || reach.through.is_some() {
            return None;
        }
        let is_full = counted.get(index) == Some(&0);
        if is_full
            && fronts_of(attackers, index, self.tolerance_mm)
                .next()
                .is_some()
        {
            return Some(format!(
                "behind others it adds nothing, for {} bases at most count behind one another",
                attacks.depth
            ));
        }
        let (_, rear) = &attackers[index];
        attackers
            .iter()
            .enumerate()
            .filter(|(other, (unit, _))| *other != index && unit.has_strength())
            .find_map(|(_, (front, ground))| {
                nearly_behind(rear, (front, ground), self.tolerance_mm)
            })
    }

    fn check_bombardment(
        &self,
        attackers: &[Body<'_>],
        guns: &[Body<'_>],
        defenders: &[Body<'_>],
        findings: &mut Findings,
    ) {
        if guns.is_empty() {
            return;
        }
        let attacks = &self.game.ruleset().attacks;
        if attacks.bombard_joins_only && attackers.iter().all(|(unit, _)| unit.is_guns()) {
            findings.refuse(Reason::count(Code::NoJoiningAttack, 1, 0));
        }
        for gun in guns {
            self.check_free(gun, findings);
            let limit_mm = parties::bombard_range_mm(self.game.ruleset(), gun.0);
            for target in defenders {
                self.check_range(gun, target, limit_mm, findings);
                if !attacks.bombard_over_friends {
                    let sighting = sight::over_friends(self.game, gun, target);
                    self.check_string(&sighting, target.0, findings);
                }
            }
        }
    }

    fn check_fire(&self, guns: &[Body<'_>], targets: &[Body<'_>], findings: &mut Findings) {
        let Some(limit_mm) = sight::farthest_mm(self.game.ruleset()) else {
            let note = "these rules have no gun fire of its own; guns join a battle";
            findings.refuse(impossible("", note));
            return;
        };
        for gun in guns {
            self.check_free(gun, findings);
            for target in targets {
                self.check_range(gun, target, limit_mm, findings);
                let sighting = sight::sighting(self.game, gun, target);
                self.check_string(&sighting, target.0, findings);
            }
        }
    }

    /// A gun that bombards is in no enemy's strike zone.
    fn check_free(&self, gun: &Body<'_>, findings: &mut Findings) {
        if let Some((enemy, distance_mm)) = parties::threat(self.game, gun) {
            findings.measured.push(Measured {
                from: enemy.id.clone(),
                to: gun.0.id.clone(),
                distance_mm,
                limit_mm: self.strike_mm,
                through: None,
            });
            let reason = Reason::length_under(
                Code::GunInZone,
                self.strike_mm,
                distance_mm,
                self.tolerance_mm,
            );
            let note = format!("the guns are {}", gun.0.id);
            findings.refuse(reason.with(&enemy.id.0).note(note));
        }
    }

    fn check_range(
        &self,
        gun: &Body<'_>,
        target: &Body<'_>,
        limit_mm: f64,
        findings: &mut Findings,
    ) {
        let distance_mm = distance_mm(&gun.1, &target.1);
        findings.measured.push(Measured {
            from: gun.0.id.clone(),
            to: target.0.id.clone(),
            distance_mm,
            limit_mm,
            through: None,
        });
        if distance_mm > limit_mm + TOUCH_MM {
            let reason =
                Reason::length_over(Code::OutOfRange, limit_mm, distance_mm, self.tolerance_mm);
            let note = format!("measured from {}", gun.0.id);
            findings.refuse(reason.with(&target.0.id.0).note(note));
        }
    }

    fn check_string(&self, sighting: &sight::Sighting, target: &Unit, findings: &mut Findings) {
        let Some(by) = &sighting.by else { return };
        let reason = Reason::length_under(
            Code::NotInSight,
            sighting.string_mm,
            sighting.clear_mm,
            self.tolerance_mm,
        );
        findings.refuse(
            reason
                .with(&target.id.0)
                .note(format!("{by} is in the way")),
        );
    }

    fn check_follow_up(&self, order: &Order, findings: &mut Findings) {
        if let Order::Battle {
            attackers,
            follow_up: Some(unit),
            ..
        } = order
            && !attackers.contains(unit)
        {
            let note = format!("{unit} is to follow up but does not attack in this battle");
            findings.refuse(impossible(&unit.0, note));
        }
    }

    fn broken(&self, note: &str) -> Reason {
        let percent = |share: f64| {
            #[expect(
                clippy::cast_possible_truncation,
                clippy::cast_sign_loss,
                reason = "a share is 0 to 1"
            )]
            let whole = (share * 100.0).round() as u32;
            whole
        };
        let breaking = self.game.ruleset().breaking.as_ref();
        let limit = breaking.map_or(0, |breaking| percent(breaking.at_share));
        let lost = percent(breaking::share_lost(self.game, self.side));
        Reason::count(Code::NotPossible, limit, lost)
            .note(format!("{note}; of its strength it has lost {lost} %"))
    }

    /// Every enemy that must be attacked and is not, every unit that must attack and does not,
    /// each once, with the nearest distance.
    fn duties(&self, joined: &BTreeSet<UnitId>) -> Vec<Reason> {
        let mut attacking: BTreeSet<&UnitId> = BTreeSet::new();
        let mut attacked: BTreeSet<&UnitId> = joined.iter().collect();
        for order in &self.sheet.orders {
            if let Order::Battle {
                attackers,
                defenders,
                ..
            } = order
            {
                attacking.extend(attackers);
                attacked.extend(defenders);
            }
        }
        let pairs = duties(self.game, self.side);
        let mut left_out: BTreeMap<&UnitId, (&UnitId, f64)> = BTreeMap::new();
        let mut idle: BTreeMap<&UnitId, (&UnitId, f64)> = BTreeMap::new();
        for (unit, enemy, distance) in &pairs {
            if !attacked.contains(enemy) {
                keep_nearest(&mut left_out, enemy, unit, *distance);
            }
            if !attacking.contains(unit) {
                keep_nearest(&mut idle, unit, enemy, *distance);
            }
        }
        let reason = |code, who: &UnitId, distance: f64, note: String| {
            Reason::length_under(code, self.strike_mm, distance, self.tolerance_mm)
                .with(&who.0)
                .note(note)
        };
        let idle = idle.into_iter().map(|(unit, (enemy, distance))| {
            reason(
                Code::MustAttack,
                unit,
                distance,
                format!("the enemy is {enemy}"),
            )
        });
        let left_out = left_out.into_iter().map(|(enemy, (unit, distance))| {
            reason(
                Code::MustBeAttacked,
                enemy,
                distance,
                format!("measured from {unit}"),
            )
        });
        idle.chain(left_out).collect()
    }
}

/// What was measured for one battle, and the limits broken.
#[derive(Default)]
struct Findings {
    measured: Vec<Measured>,
    reasons: Vec<Reason>,
}

impl Findings {
    /// Adds a reason; whether it refuses or is marginal is the reason's own affair.
    fn refuse(&mut self, reason: Reason) {
        self.reasons.push(reason);
    }
}

fn impossible(who: &str, note: impl Into<String>) -> Reason {
    let reason = Reason::count(Code::NotPossible, 1, 0).note(note);
    if who.is_empty() {
        reason
    } else {
        reason.with(who)
    }
}

fn keep_nearest<'a>(
    found: &mut BTreeMap<&'a UnitId, (&'a UnitId, f64)>,
    key: &'a UnitId,
    other: &'a UnitId,
    distance: f64,
) {
    let entry = found.entry(key).or_insert((other, distance));
    if distance < entry.1 {
        *entry = (other, distance);
    }
}

//! What enemy halt zones do to a move: halting it, locking it, making it pay.

use crate::game::Unit;
use crate::geometry::{EPS_MM, Footprint, Motion, signed_distance_mm, smaller};
use crate::orders::{Leg, UnitId};
use crate::ruleset::ZoneExit;
use crate::verdict::{Code, Reason};

use super::super::zones;
use super::walk::{Walk, zones_held};
use super::{Purpose, limits};

impl Walk<'_> {
    /// Remembers the first enemy whose halt zone a member stands in without having begun there.
    pub(super) fn note_halt(&mut self) {
        if self.halted_by.is_some() {
            return;
        }
        for member in 0..self.limits.len() {
            let footprint = self.body.members[member].footprint();
            if let Some((enemy, clearance_mm)) = self.halting(member, &footprint) {
                self.halted_by = Some((UnitId::from(enemy), clearance_mm));
                return;
            }
        }
    }

    /// The first enemy whose halt zone a member would stand in there without having begun in it, with
    /// its clearance.
    pub(super) fn halting(&self, member: usize, footprint: &Footprint) -> Option<(&str, f64)> {
        self.limits[member]
            .iter()
            .find_map(|limit| Some((limit.with, limit.halts_at_mm(footprint)?)))
    }

    /// Whether it was this enemy's halt zone that halted the body.
    pub(super) fn is_halted_by(&self, enemy: &str) -> bool {
        self.halted_by
            .as_ref()
            .is_some_and(|(halting, _)| halting.0 == enemy)
    }

    /// After reaching a halt zone only aligning is left.
    pub(super) fn check_moved_on(&mut self, index: usize, tape_mm: Option<f64>) {
        let Some((enemy, _)) = &self.halted_by else {
            return;
        };
        let reason = match tape_mm {
            Some(tape_mm) if tape_mm <= EPS_MM => return,
            Some(tape_mm) => {
                Reason::length_over(Code::EnemyZone, 0.0, tape_mm, self.tolerance_mm())
            }
            None => Reason::count(Code::EnemyZone, 0, 1),
        };
        let reason = reason
            .with(enemy.0.clone())
            .note("having reached the zone it may only align");
        let at = self.leg_start(0, index);
        self.add(None, reason.at(at));
    }

    pub(super) fn check_aligning(&mut self, index: usize) {
        let footprint = self.body.members[0].footprint();
        let held = zones_held(self.game.ruleset(), &self.around, self.side, &footprint);
        if !held.is_empty() {
            return;
        }
        let zone_mm = zones::halt_zone_mm(self.game.ruleset());
        let reason = match limits::nearest_zoned_enemy(self.game, self.side, &footprint) {
            Some((enemy, distance_mm)) => Reason::length_over(
                Code::NotPossible,
                zone_mm,
                distance_mm,
                self.tolerance_mm(),
            )
            .with(enemy.0.clone())
            .note(format!(
                "aligning is for units in an enemy halt zone, and {enemy} is the nearest enemy"
            )),
            None => Reason::count(Code::NotPossible, 1, 0).note(
                "aligning is for units in an enemy halt zone, and no enemy's is on this side of it",
            ),
        };
        let at = self.leg_start(0, index);
        self.add(None, reason.at(at));
    }

    pub(super) fn is_locked(&self, member: usize) -> bool {
        self.purpose == Purpose::March
            && self.game.ruleset().zones.zone_exit == ZoneExit::Locked
            && !self.standings[member].began_in.is_empty()
    }

    /// A locked unit may close straight in: nearer to every enemy in whose zone it began.
    pub(super) fn check_lock(&mut self, index: usize, motion: &Motion) {
        let straight = matches!(motion, Motion::Straight { .. });
        for member in (0..self.ids.len())
            .filter(|member| self.is_locked(*member))
            .collect::<Vec<_>>()
        {
            let at = self.leg_start(member, index);
            for (enemy, from_mm, to_mm) in self.approaches(member, motion) {
                let reason = if to_mm > from_mm + EPS_MM {
                    Reason::length_over(Code::Locked, from_mm, to_mm, self.tolerance_mm())
                } else if straight {
                    continue;
                } else {
                    Reason::count(Code::Locked, 0, 1)
                        .note("wheeling is neither aligning nor closing straight in")
                };
                self.add(Some(member), reason.with(enemy.0).at(at));
            }
        }
    }

    pub(super) fn check_lock_of_lift(&mut self, index: usize, leg: &Leg) {
        if matches!(leg, Leg::Align { .. }) {
            return;
        }
        for member in (0..self.ids.len())
            .filter(|member| self.is_locked(*member))
            .collect::<Vec<_>>()
        {
            let at = self.leg_start(member, index);
            for held in self.standings[member].began_in.clone() {
                let reason = Reason::count(Code::Locked, 0, 1)
                    .with(held.enemy.0)
                    .note(format!(
                        "\"{}\" is neither aligning nor closing straight in",
                        leg.name()
                    ));
                self.add(Some(member), reason.at(at));
            }
        }
    }

    /// Distances to the enemies in whose zone a member began: the nearest it has stood in this move,
    /// so that creeping off leg by leg is measured as a whole, and that after a motion.
    pub(super) fn approaches(&self, member: usize, motion: &Motion) -> Vec<(UnitId, f64, f64)> {
        let after = motion.footprint_at(&self.body.members[member].footprint(), 1.0);
        self.standings[member]
            .began_in
            .iter()
            .filter_map(|held| {
                let enemy = self.game.unit(&held.enemy)?.footprint()?;
                let to_mm = signed_distance_mm(&after, &enemy);
                Some((held.enemy.clone(), held.nearest_mm, to_mm))
            })
            .collect()
    }

    /// Remembers how near each member has come to the enemies in whose zone it began.
    pub(super) fn note_nearest(&mut self) {
        for (standing, member) in self.standings.iter_mut().zip(&self.body.members) {
            for held in &mut standing.began_in {
                if let Some(enemy) = self.game.unit(&held.enemy).and_then(Unit::footprint) {
                    let distance_mm = signed_distance_mm(&member.footprint(), &enemy);
                    held.nearest_mm = smaller(held.nearest_mm, distance_mm);
                }
            }
        }
    }
}

//! Aligning: only in an enemy halt zone, not out of it, and no more than so many degrees in a move (laws of
//! measurement, §5).

use crate::geometry::Footprint;
use crate::verdict::{Code, Reason};

use super::super::zones;
use super::steps;
use super::walk::Walk;

impl Walk<'_> {
    /// Whether a unit may be said to align here at all: it must be in an enemy halt zone, and the tolerance does not apply
    /// to that.
    pub(super) fn can_align(&mut self, index: usize) -> bool {
        let footprint = self.body.members[0].footprint();
        let zones = &self.standings[0].zones;
        if zones.iter().any(|near| near.holds(&footprint)) {
            return true;
        }
        let zone_mm = zones::halt_zone_mm(self.game.ruleset());
        let nearest = zones::nearest_zoned_enemy(self.game, self.side, &footprint);
        let reason = match nearest {
            Some((enemy, distance_mm)) if distance_mm > zone_mm => {
                Reason::length_over(Code::NotPossible, zone_mm, distance_mm, 0.0)
                    .with(enemy.id.0.clone())
                    .note(format!(
                        "aligning is for units in an enemy halt zone, and {} is the nearest enemy",
                        enemy.id
                    ))
            }
            _ => Reason::forbidden(Code::NotPossible).note(
                "aligning is for units in an enemy halt zone, and no enemy's is on this side of it",
            ),
        };
        let at = self.leg_start(0, index);
        self.add(None, reason.at(at));
        false
    }

    /// Notes an aligning that begins: the sizes of all of a move add up, and it is bound to the zones that the unit is in.
    pub(super) fn begin_aligning(&mut self, index: usize, angle_deg: f64) {
        let footprint = self.body.members[0].footprint();
        let standing = &mut self.standings[0];
        let is_first = standing.aligned_deg.is_none();
        let sum_deg = standing.aligned_deg.unwrap_or(0.0) + angle_deg;
        standing.aligned_deg = Some(sum_deg);
        for near in &mut standing.zones {
            if !near.holds(&footprint) {
                continue;
            }
            near.aligned_in |= is_first;
            near.keeps = true;
            if !near.began_in && !standing.only_aligns.contains(&near.enemy) {
                standing.only_aligns.push(near.enemy);
            }
        }
        let most_deg = self.game.ruleset().movement.align_max;
        if let Some(reason) =
            steps::angle_beyond(most_deg, sum_deg, &footprint, self.tolerance_mm())
        {
            let at = self.leg_start(0, index);
            self.add(Some(0), reason.at(at));
        }
    }

    /// Notes a leg that is no aligning: what follows it begins anew.
    pub(super) fn end_aligning(&mut self) {
        for standing in &mut self.standings {
            standing
                .zones
                .iter_mut()
                .for_each(|near| near.keeps = false);
        }
    }

    /// The reasons why an aligning may not end there: outside a zone that the unit was in.
    pub(super) fn left_by_aligning(&self, after: &Footprint) -> Vec<Reason> {
        let locked = self.is_locked(0);
        let tolerance_mm = self.tolerance_mm();
        let left = self.standings[0].zones.iter().filter_map(|near| {
            let holds = locked && near.began_in;
            let was_in = holds || near.keeps;
            let code = if holds { Code::Locked } else { Code::EnemyZone };
            (was_in && near.is_left(after)).then(|| near.left_reason(code, after, tolerance_mm))
        });
        left.collect()
    }
}

//! What leaving an enemy's halt zone costs, where it may be paid for.

use crate::geometry::{EPS_MM, Motion, distance_mm};
use crate::ruleset::ZoneExit;

use super::Purpose;
use super::walk::Walk;

impl Walk<'_> {
    /// What leaving a halt zone costs, the first time a leg does more than a locked unit might.
    pub(super) fn exit_charge(&mut self, motion: &Motion) -> f64 {
        if !self.pays_to_leave() {
            return 0.0;
        }
        let turns = matches!(motion, Motion::Turn { .. });
        let leaves = self
            .standings
            .iter()
            .zip(&self.body.members)
            .any(|(standing, member)| {
                let after = motion.footprint_at(&member.footprint(), 1.0);
                standing.began_in().any(|near| {
                    turns
                        || distance_mm(&after, near.zone.ground()) > near.began_distance_mm + EPS_MM
                })
            });
        if leaves { self.pay_exit() } else { 0.0 }
    }

    pub(super) fn exit_charge_of_lift(&mut self) -> f64 {
        let began_in_zone = self
            .standings
            .iter()
            .any(|standing| standing.began_in().next().is_some());
        if self.pays_to_leave() && began_in_zone {
            self.pay_exit()
        } else {
            0.0
        }
    }

    pub(super) fn pays_to_leave(&self) -> bool {
        self.purpose == Purpose::March
            && !self.exit_paid
            && self.game.ruleset().zones.zone_exit == ZoneExit::Pay
    }

    pub(super) fn pay_exit(&mut self) -> f64 {
        self.exit_paid = true;
        let ruleset = self.game.ruleset();
        ruleset.zones.zone_exit_charge.mm(&ruleset.scale)
    }
}

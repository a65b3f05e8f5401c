//! Legs that lift the figures: only where they are set down must be clear.

use crate::geometry::{Block, Footprint};
use crate::orders::Leg;
use crate::verdict::{Code, Reason};

use super::body::Member;
use super::steps::Lift;
use super::walk::Walk;

impl Walk<'_> {
    /// Carries out a leg that lifts the figures.
    pub(super) fn lift(&mut self, index: usize, leg: &Leg, how: Lift, fixed_mm: f64) {
        if let Lift::Aligned { .. } = how {
            self.check_aligning(index);
        } else {
            self.check_moved_on(index, None);
            self.check_lock_of_lift(index, leg);
        }
        let members = self.body.members.clone();
        let before: Vec<Footprint> = members.iter().map(Member::footprint).collect();
        for (member, began) in before.iter().enumerate() {
            match how {
                Lift::Turned { clockwise_udeg } => {
                    let angle_rad = (f64::from(clockwise_udeg) / 1e6).to_radians();
                    // Of several each on its own spot: about their common middle, some would go far for nothing.
                    let placement = self.body.members[member]
                        .placement()
                        .turned_about(began.centre, angle_rad);
                    self.settle(member, &placement);
                }
                Lift::Aligned { clockwise_udeg } => {
                    let pose = &mut self.body.members[member].pose;
                    *pose = pose.with_bearing_turned(clockwise_udeg);
                }
                Lift::Reformed { files } => self.reform(member, files),
            }
            self.check_clear(member, index, began);
        }
        self.last_sweep = None;
        self.spend_lift(index, how, fixed_mm, &members);
        self.enter_ledger(leg, None, None);
    }

    pub(super) fn reform(&mut self, member: usize, files: u16) {
        let base_mm = self
            .game
            .unit(&self.ids[member])
            .map_or((0.0, 0.0), |unit| unit.base_mm);
        let ranks = crate::game::ranks_of(self.bases, files);
        let body = &mut self.body.members[member];
        body.files = files;
        body.block = Block {
            frontage_mm: f64::from(files) * base_mm.0,
            depth_mm: f64::from(ranks) * base_mm.1,
        };
    }

    /// Set-down figures must be clear, or stand no deeper than before they were lifted. A halt zone
    /// entered so only ends the move.
    pub(super) fn check_clear(&mut self, member: usize, index: usize, began: &Footprint) {
        let end = self.body.members[member].footprint();
        let broken: Vec<Reason> = self.limits[member]
            .iter()
            .filter(|limit| limit.code != Code::EnemyZone)
            .filter(|limit| !limit.is_far(&end))
            .filter(|limit| !limit.is_kept(&end, limit.clearance_mm(began)))
            .map(|limit| limit.reason(limit.clearance_mm(&end), self.tolerance_mm()))
            .collect();
        let at = self.leg_start(member, index);
        for reason in broken {
            self.add(Some(member), reason.at(at));
        }
    }

    /// An arriving unit must be clear where it is set down.
    pub(super) fn check_set_down(&mut self, member: usize) {
        let end = self.body.members[member].footprint();
        let broken: Vec<Reason> = self.limits[member]
            .iter()
            .filter(|limit| limit.code != Code::EnemyZone)
            .filter(|limit| !limit.is_far(&end) && !limit.is_kept(&end, limit.least_mm))
            .map(|limit| limit.reason(limit.clearance_mm(&end), self.tolerance_mm()))
            .collect();
        let at = self.leg_start(member, 0);
        for reason in broken {
            self.add(Some(member), reason.at(at));
        }
        self.note_halt();
    }
}

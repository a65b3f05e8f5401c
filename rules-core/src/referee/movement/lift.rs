//! Legs that lift the figures: only where they are set down must be clear.

use crate::geometry::{Block, Footprint};
use crate::orders::Leg;
use crate::verdict::{Code, PathPoint, Reason};

use super::body::Member;
use super::limits::{Against, zone_reason};
use super::locks::Bans;
use super::slack::JUDGED_MM;
use super::steps::Lift;
use super::walk::Walk;

impl Walk<'_> {
    /// Carries out a leg that lifts the figures.
    pub(super) fn lift(&mut self, index: usize, leg: &Leg, how: Lift, fixed_mm: f64) {
        let bans = self.check_bans(index, leg);
        if let Leg::Align { angle_deg, .. } = leg {
            if !self.can_align(index) {
                self.spend_nothing();
                self.enter_ledger(leg, None, None);
                return;
            }
            self.begin_aligning(index, *angle_deg);
        } else {
            self.end_aligning();
        }
        let members = self.body.members.clone();
        let before: Vec<Footprint> = members.iter().map(Member::footprint).collect();
        for (member, began) in before.iter().enumerate() {
            let at = self.leg_start(member, index);
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
                    let pose = self.body.members[member].pose();
                    self.body.members[member].put(pose.with_bearing_turned(clockwise_udeg));
                }
                Lift::Reformed { files } => self.reform(member, files),
            }
            let aligned = matches!(how, Lift::Aligned { .. });
            self.check_clear(member, at, aligned, &bans);
            if aligned {
                let after = self.body.members[member].footprint();
                for reason in self.left_by_aligning(&after) {
                    self.add(Some(member), reason.at(at));
                }
            }
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
        let block = Block {
            frontage_mm: f64::from(files) * base_mm.0,
            depth_mm: f64::from(ranks) * base_mm.1,
        };
        body.reform(files, block);
    }

    /// Set-down figures must be clear, or stand no deeper than the move began. Who aligns may come deeper in
    /// the zones that it was in.
    fn check_clear(&mut self, member: usize, at: PathPoint, aligned: bool, bans: &Bans) {
        let end = self.body.members[member].footprint();
        let tolerance_mm = self.tolerance_mm();
        let standing = &self.standings[member];
        let is_free = |against: &Against<'_>, with: &str| {
            matches!(against, Against::Zone(_)) && aligned && standing.aligns_deeper_in(with)
        };
        let broken: Vec<Reason> = self.limits[member]
            .iter()
            .filter(|limit| !bans.contains(&(member, limit.code)))
            .filter(|limit| !is_free(&limit.against, limit.with))
            .filter_map(|limit| limit.broken_by(&end, tolerance_mm))
            .collect();
        for reason in broken {
            self.add(Some(member), reason.at(at));
        }
    }

    /// An arriving unit must be clear where it is set down, where its move begins: also of the zones that it then
    /// begins in.
    pub(super) fn check_set_down(&mut self, member: usize) {
        let end = self.body.members[member].footprint();
        let tolerance_mm = self.tolerance_mm();
        let standing = &self.standings[member];
        let code = if standing.barred {
            Code::OutOfCommand
        } else {
            Code::EnemyZone
        };
        let in_zones = standing
            .zones
            .iter()
            .filter(|near| near.began_depth_mm > JUDGED_MM)
            .map(|near| {
                zone_reason(code, &near.zone, &end, tolerance_mm).with(near.enemy.0.clone())
            });
        let beyond = self.limits[member]
            .iter()
            .filter(|limit| !matches!(limit.against, Against::Zone(_)))
            .filter(|limit| limit.began_mm > JUDGED_MM)
            .map(|limit| limit.reason(&end, tolerance_mm));
        let broken: Vec<Reason> = in_zones.chain(beyond).collect();
        let at = self.leg_start(member, 0);
        for reason in broken {
            self.add(Some(member), reason.at(at));
        }
    }
}

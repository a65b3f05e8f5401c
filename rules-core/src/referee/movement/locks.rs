//! What halt zones forbid: a locked unit every leg that is not straight, a unit that has aligned in another zone
//! all but aligning; and how far a locked unit may go (laws of measurement, §5).

use crate::geometry::{self, Footprint, Motion, Span, distance_mm, larger, smaller, spans_within};
use crate::orders::Leg;
use crate::ruleset::ZoneExit;
use crate::verdict::{Code, LEFT_ZONE, LEFT_ZONE_BEHIND, Reason};

use super::super::zones::Measured;
use super::Purpose;
use super::slack::{ARITHMETIC_MM, JUDGED_MM};
use super::standing::Near;
use super::sweep::Sweep;
use super::walk::Walk;

/// What is forbidden of one leg: the members and codes whose measured limits are then not told beside it.
pub(super) type Bans = Vec<(usize, Code)>;

impl<'a> Walk<'a> {
    /// Whether halt zones lock a member.
    pub(super) fn is_locked(&self, member: usize) -> bool {
        self.purpose != Purpose::Withdrawal
            && self.game.ruleset().zones.zone_exit == ZoneExit::Locked
            && self.standings[member].began_in().next().is_some()
    }

    /// Tells what forbids a leg of this kind, whatever is measured of it.
    pub(super) fn check_bans(&mut self, index: usize, leg: &Leg) -> Bans {
        let mut bans = Bans::new();
        if matches!(leg, Leg::Align { .. }) {
            return bans;
        }
        for member in 0..self.ids.len() {
            let at = self.leg_start(member, index);
            let mut told: Vec<Reason> = Vec::new();
            if !leg.is_straight() && self.is_locked(member) {
                let note = format!("\"{}\" is neither aligning nor a straight leg", leg.name());
                told.extend(self.standings[member].began_in().map(|near| {
                    Reason::forbidden(Code::Locked)
                        .with(near.enemy.0.clone())
                        .note(note.clone())
                }));
            }
            told.extend(self.standings[member].only_aligns.iter().map(|enemy| {
                Reason::forbidden(Code::EnemyZone)
                    .with(enemy.0.clone())
                    .note("having aligned in the zone it may only align")
            }));
            for reason in told {
                bans.push((member, reason.code()));
                self.add(Some(member), reason.at(at));
            }
        }
        bans
    }

    /// The share of a leg at which *up to* stops because halt zones lock a member, and the enemy whose zone it is.
    pub(super) fn locked_stop(&self, motion: &Motion) -> Option<(f64, &'a str)> {
        let Motion::Straight { .. } = motion else {
            return None;
        };
        let mut first: Option<(f64, &'a str)> = None;
        for member in (0..self.ids.len()).filter(|member| self.is_locked(*member)) {
            let moving = self.body.members[member].footprint();
            for near in self.standings[member].began_in() {
                let to = near.stops_at(&moving, motion);
                if to < first.map_or(1.0, |(share, _)| share) {
                    first = Some((to, near.enemy.0.as_str()));
                }
            }
        }
        first
    }

    /// Measures what a leg that sweeps does to the locks of every member: a straight leg adds to the changes of distance,
    /// and no leg may end outside the zone.
    pub(super) fn check_locks(&mut self, index: usize, made: &Sweep, bans: &Bans) {
        let straight = matches!(made.motion, Motion::Straight { .. });
        let tolerance_mm = self.tolerance_mm();
        for member in 0..self.ids.len() {
            let moving = self.body.members[member].footprint();
            let after = made.motion.footprint_at(&moving, 1.0);
            let locked = self.is_locked(member) && !bans.contains(&(member, Code::Locked));
            let mut found: Vec<(f64, Reason)> = Vec::new();
            let zones = &mut self.standings[member].zones;
            for near in zones.iter_mut().filter(|near| near.began_in) {
                let mut share = 0.0;
                if straight {
                    let most_mm = near.most_mm(&moving);
                    share = near
                        .may_go(&moving, &made.motion, most_mm)
                        .map_or(0.0, |part| part.to);
                    near.changed_mm += near.distance_mm(&after) - near.distance_mm(&moving);
                }
                if locked {
                    let reasons = near.lock_reasons(&after, straight, tolerance_mm);
                    found.extend(reasons.into_iter().map(|reason| (share, reason)));
                }
            }
            for (share, reason) in found {
                let along_mm = share * made.tape.length_mm();
                let at = self.path_point(member, index, &made.motion, share, along_mm);
                self.add(Some(member), reason.at(at));
            }
        }
    }
}

impl Near<'_> {
    fn distance_mm(&self, footprint: &Footprint) -> f64 {
        distance_mm(footprint, self.zone.ground())
    }

    /// How far from the enemy a locked unit may end that stands there: where the changes of distance add up to 0.
    fn most_mm(&self, moving: &Footprint) -> f64 {
        self.distance_mm(moving) - self.changed_mm
    }

    /// The share of a straight leg at which *up to* stops: where the changes of distance would come to more than 0, or, if
    /// they do so to the end, where they would grow again; or where the zone would be left.
    pub(super) fn stops_at(&self, moving: &Footprint, motion: &Motion) -> f64 {
        let mut most_mm = self.most_mm(moving);
        if self.changed_mm > JUDGED_MM {
            let ends_mm = |share| self.distance_mm(&motion.footprint_at(moving, share));
            most_mm = larger(most_mm, geometry::least(ends_mm, 0.0, 1.0).1);
        }
        let part = self.may_go(moving, motion, most_mm);
        part.map_or(0.0, |part| part.to)
    }

    /// The part of a straight leg in which a locked unit may end: no farther from the enemy than that, and in the zone
    /// still. Distance and zone are convex along a straight way, so it is one part.
    fn may_go(&self, moving: &Footprint, motion: &Motion, most_mm: f64) -> Option<Span> {
        let near = |slack_mm: f64| {
            let reach_mm = most_mm + slack_mm;
            let within = spans_within(moving, motion, self.zone.ground(), larger(reach_mm, 0.0));
            within.first().copied()
        };
        let depth_mm = self.zone.depth(moving).mm;
        // who stands a little outside, as storing or a marginal end may leave it, may stay so far outside
        let outside_mm = if depth_mm >= 0.0 { 0.0 } else { depth_mm };
        let inside = |slack_mm: f64| {
            let spans = self
                .zone
                .spans_deeper(moving, motion, outside_mm - slack_mm);
            spans.first().copied()
        };
        let part = |slack_mm: f64| {
            let (near, inside) = (near(slack_mm)?, inside(slack_mm)?);
            let part = Span::new(larger(near.from, inside.from), smaller(near.to, inside.to));
            (part.from <= part.to).then_some(part)
        };
        let judged = part(JUDGED_MM)?;
        if judged.to >= 1.0 {
            return Some(judged);
        }
        Some(part(ARITHMETIC_MM).unwrap_or(Span::new(0.0, 0.0)))
    }

    /// What a leg that ends there breaks of the lock.
    fn lock_reasons(&self, after: &Footprint, straight: bool, tolerance_mm: f64) -> Vec<Reason> {
        let mut reasons = Vec::new();
        let distance_mm = self.distance_mm(after);
        if straight && self.changed_mm > JUDGED_MM {
            let most_mm = distance_mm - self.changed_mm;
            let farther = Reason::length_over(Code::Locked, most_mm, distance_mm, tolerance_mm);
            reasons.push(farther.with(self.enemy.0.clone()));
        }
        if self.is_left(after) {
            reasons.push(self.left_reason(Code::Locked, after, tolerance_mm));
        }
        reasons
    }

    /// The reason for ending outside a zone that it may not end outside.
    pub(super) fn left_reason(&self, code: Code, after: &Footprint, tolerance_mm: f64) -> Reason {
        let reason = match self.zone.depth(after).by {
            Measured::Distance(distance_mm) => {
                Reason::length_over(code, self.zone.size_mm(), distance_mm, tolerance_mm)
                    .note(LEFT_ZONE)
            }
            Measured::Reach(reach_mm) => {
                Reason::length_over(code, 0.0, -reach_mm, tolerance_mm).note(LEFT_ZONE_BEHIND)
            }
        };
        reason.with(self.enemy.0.clone())
    }
}

//! Friends: a leg may pass through them, where the rules let it, but no move may end upon one, nor a body upon
//! itself (laws of measurement, §4).

use crate::geometry::{Footprint, Motion, Span, larger, signed_distance_mm, spans_within};
use crate::orders::UnitId;
use crate::verdict::{Code, PathPoint, Place, Reason};

use super::Purpose;
use super::slack::{JUDGED_MM, NEAR_MM, STORED_MM};
use super::sweep::Stop;
use super::walk::Walk;

/// A friend that stands where a move goes.
#[derive(Debug, Clone, Copy)]
pub(super) struct Friend<'a> {
    pub(super) id: &'a UnitId,
    pub(super) ground: Footprint,
    /// How deep the mover overlapped it when its move began, in millimetres.
    pub(super) began_mm: f64,
}

impl Friend<'_> {
    /// How deep a footprint overlaps the friend, if it does, and deeper than the move began.
    fn overlap_mm(&self, footprint: &Footprint) -> Option<f64> {
        if footprint.is_farther_than(&self.ground, NEAR_MM) {
            return None;
        }
        let depth_mm = -signed_distance_mm(footprint, &self.ground);
        (depth_mm > self.began_mm + JUDGED_MM).then_some(depth_mm)
    }

    /// The spans of a motion in which a footprint overlaps the friend, deeper than the move began, by so much more.
    fn spans_upon(&self, moving: &Footprint, motion: &Motion, slack_mm: f64) -> Vec<Span> {
        spans_within(moving, motion, &self.ground, -(self.began_mm + slack_mm))
    }
}

impl<'a> Walk<'a> {
    /// The friends that a member may not end upon, the other members of its body left out.
    pub(super) fn friends_of(&self, member: usize) -> Vec<Friend<'a>> {
        // who arrives has no place yet that it could keep
        let arrives = matches!(self.purpose, Purpose::Arrival(_));
        let start = self.began[member].footprint();
        self.around
            .units
            .iter()
            .filter(|(unit, _)| unit.side == self.side)
            .map(|(unit, ground)| Friend {
                id: &unit.id,
                ground: *ground,
                began_mm: if arrives || start.is_farther_than(ground, NEAR_MM) {
                    0.0
                } else {
                    larger(-signed_distance_mm(&start, ground), 0.0)
                },
            })
            .collect()
    }

    /// Where the last leg of a move, if it says *up to*, stops for a friend: at the last place before its end that is clear
    /// of all of them. It goes on to its end where that is clear, or no place before it is.
    pub(super) fn stop_at_friend(&self, motion: &Motion) -> Option<Stop> {
        if !self.game.ruleset().movement.pass_friends {
            return None;
        }
        let mut share = 1.0;
        let mut stopped_by = None;
        let members = 0..self.ids.len();
        let upon: Vec<_> = members
            .flat_map(|member| {
                let moving = self.body.members[member].footprint();
                self.friends_of(member)
                    .into_iter()
                    .map(move |friend| (moving, friend))
            })
            .map(|(moving, friend)| {
                let deep = friend.spans_upon(&moving, motion, JUDGED_MM);
                let touching = friend.spans_upon(&moving, motion, 0.0);
                (friend.id, deep, touching)
            })
            .filter(|(_, deep, _)| !deep.is_empty())
            .collect();
        while let Some((id, _, touching)) = upon
            .iter()
            .find(|(_, deep, _)| deep.iter().any(|span| is_within(*span, share)))
        {
            let from = touching.iter().find(|span| span.holds(share))?.from;
            if from >= share {
                return None;
            }
            share = from;
            stopped_by = Some(*id);
        }
        stopped_by.map(|id| Stop {
            share,
            words: id.0.clone(),
        })
    }

    /// Tells every friend that a member ends upon.
    pub(super) fn check_friends(&mut self, member: usize) {
        let end = self.body.members[member].footprint();
        let mut upon: Vec<(UnitId, f64, PathPoint)> = Vec::new();
        if self.game.ruleset().movement.pass_friends {
            for friend in self.friends_of(member) {
                if let Some(depth_mm) = friend.overlap_mm(&end) {
                    upon.push((friend.id.clone(), depth_mm, self.before(member, &friend)));
                }
            }
        }
        let others = self.body.members.iter().enumerate();
        for (number, other) in others.filter(|(number, _)| *number != member) {
            let fellow = Friend {
                id: &self.ids[number],
                ground: other.footprint(),
                began_mm: larger(
                    -signed_distance_mm(
                        &self.began[member].footprint(),
                        &self.began[number].footprint(),
                    ),
                    0.0,
                ),
            };
            // each end is stored by itself: two that stand side by side may be stored so much into each other
            let is_seen = |depth_mm: &f64| *depth_mm > fellow.began_mm + STORED_MM;
            if let Some(depth_mm) = fellow.overlap_mm(&end).filter(is_seen) {
                let last_leg = self.ledgers[member].len().saturating_sub(1);
                let at = self.leg_start(member, last_leg);
                upon.push((self.ids[number].clone(), depth_mm, at));
            }
        }
        for (friend, depth_mm, at) in upon {
            let reason =
                Reason::length_over(Code::EndsOnFriend, 0.0, depth_mm, self.tolerance_mm());
            self.add(Some(member), reason.with(friend.0).at(at));
        }
    }

    /// The last point of the path at which a member was still clear of a friend it ends on.
    fn before(&self, member: usize, friend: &Friend<'_>) -> PathPoint {
        let Some(last) = &self.last_sweep else {
            let last_leg = self.ledgers[member].len().saturating_sub(1);
            return self.leg_start(member, last_leg);
        };
        let began = &last.began[member];
        let spans = friend.spans_upon(&began.footprint(), &last.sweep.motion, 0.0);
        let share = spans.last().map_or(0.0, |span| span.from);
        let placement = began.placement_after(&last.sweep.motion, share);
        let along_mm = super::account::hundredths_down(share * last.sweep.tape.length_mm());
        PathPoint::new(last.leg, along_mm, Place::from(&placement))
    }
}

/// Whether a share lies in an open span, or the motion ends or begins within it.
fn is_within(span: Span, share: f64) -> bool {
    let after = span.from < share || (span.from <= 0.0 && share <= 0.0);
    let before = share < span.to || (span.to >= 1.0 && share >= 1.0);
    after && before
}

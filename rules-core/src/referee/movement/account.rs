//! The account of a move: reasons, ledgers, and the verdict at its end.

use crate::game::Unit;
use crate::geometry::{Motion, Placement, Pose, distance_mm, spans_within};
use crate::orders::{Hand, Leg, UnitId};
use crate::verdict::{Code, LegLedger, MoveVerdict, PathPoint, Place, Reason, Ruling};

use super::super::{snap, zones};
use super::banks::Banks;
use super::limits::{self, Limit};
use super::sweep::Sweep;
use super::walk::{Found, Walk};
use super::{Movement, Purpose};

impl Walk<'_> {
    /// The point of the path at which a leg starts.
    pub(super) fn leg_start(&self, member: usize, leg: usize) -> PathPoint {
        PathPoint::new(leg, 0.0, Place::from(self.body.members[member].pose))
    }

    /// The point of the path a share of a motion into a leg. Its tape is cut to whole hundredths
    /// downward, so that an order for just so far keeps the limit.
    pub(super) fn path_point(
        &self,
        member: usize,
        leg: usize,
        motion: &Motion,
        share: f64,
        along_mm: f64,
    ) -> PathPoint {
        let placement = self.body.members[member].placement_after(motion, share);
        PathPoint::new(leg, hundredths_down(along_mm), Place::from(&placement))
    }

    /// Adds a reason; a limit already found broken keeps its earliest place and its worst figure.
    pub(super) fn add(&mut self, member: Option<usize>, reason: Reason) {
        let same = |found: &&mut Found| {
            found.member == member
                && found.reason.code() == reason.code()
                && found.reason.other() == reason.other()
        };
        let Some(found) = self.found.iter_mut().find(same) else {
            self.found.push(Found { member, reason });
            return;
        };
        let places = [found.reason.place_on_path(), reason.place_on_path()];
        let earliest = places
            .into_iter()
            .flatten()
            .copied()
            .reduce(|first, other| {
                if other.is_before(&first) {
                    other
                } else {
                    first
                }
            });
        let worst = if found.reason.excess() < reason.excess() {
            reason
        } else {
            found.reason.clone()
        };
        found.reason = earliest.into_iter().fold(worst, Reason::at);
    }

    /// Enters a leg as it was made. What it is charged is known when the whole move is.
    pub(super) fn enter_ledger(
        &mut self,
        leg: &Leg,
        made: Option<&Sweep>,
        stopped_by: Option<String>,
    ) {
        let (side, angle_deg) = side_and_angle(leg, made);
        for (member, ledgers) in self.ledgers.iter_mut().enumerate() {
            ledgers.push(LegLedger {
                leg: leg.name().to_owned(),
                side,
                angle_deg,
                tape_mm: 0.0,
                tape_of: None,
                pieces: Vec::new(),
                lines: Vec::new(),
                fixed_mm: 0.0,
                charge_mm: 0.0,
                stopped_by: stopped_by.clone(),
                end: Place::from(self.body.members[member].pose),
            });
        }
    }

    /// Rounds a member's end to a stored pose that goes no deeper into any limit.
    pub(super) fn settle(&mut self, member: usize, end: &Placement) {
        let body = &self.body.members[member];
        let footprint = body.footprint_at(end);
        let near: Vec<(&Limit<'_>, f64)> = self.limits[member]
            .iter()
            .filter(|limit| !limit.is_far(&footprint))
            .map(|limit| (limit, limit.clearance_mm(&footprint)))
            .collect();
        let is_clear = |pose: &Pose| {
            let rounded = body.footprint_at(&pose.placement());
            near.iter()
                .all(|(limit, began_mm)| limit.is_kept(&rounded, *began_mm))
        };
        let banks = Banks::about(&self.around, end.anchor);
        let settled = snap::settle(end, |pose| {
            banks.are_kept(pose.placement().anchor) && is_clear(pose)
        })
        .or_else(|| snap::settle(end, is_clear));
        if let Some(pose) = settled {
            self.body.members[member].pose = pose;
        }
    }

    pub(super) fn finish(&mut self) {
        self.settle_spending();
        self.charge_ledgers();
        for member in 0..self.ids.len() {
            self.check_friends(member);
            self.check_withdrawn(member);
        }
    }

    pub(super) fn check_friends(&mut self, member: usize) {
        if !self.game.ruleset().movement.pass_friends {
            return;
        }
        let end = self.body.members[member].footprint();
        let overlapped = limits::friends_overlapped(&self.around, self.side, &end);
        for (friend, depth_mm) in overlapped {
            let at = self.before_friend(member, friend);
            let reason =
                Reason::length_over(Code::EndsOnFriend, 0.0, depth_mm, self.tolerance_mm())
                    .with(friend.0.clone())
                    .at(at);
            self.add(Some(member), reason);
        }
    }

    /// The last point of the path at which a member was still clear of a friend it ends on.
    fn before_friend(&self, member: usize, friend: &UnitId) -> PathPoint {
        let last_leg = self.ledgers[member].len().saturating_sub(1);
        let ground = self.game.unit(friend).and_then(Unit::footprint);
        let (Some(last), Some(ground)) = (&self.last_sweep, ground) else {
            return self.leg_start(member, last_leg);
        };
        let began = &last.began[member];
        let spans = spans_within(&began.footprint(), &last.sweep.motion, &ground, 0.0);
        let share = spans.last().map_or(0.0, |span| span.from);
        let placement = began.placement_after(&last.sweep.motion, share);
        let along_mm = hundredths_down(share * last.sweep.tape.length_mm());
        PathPoint::new(last.leg, along_mm, Place::from(&placement))
    }

    /// A withdrawal must end outside every halt zone it began in.
    pub(super) fn check_withdrawn(&mut self, member: usize) {
        if self.purpose != Purpose::Withdrawal {
            return;
        }
        let zone_mm = zones::halt_zone_mm(self.game.ruleset());
        let end = self.body.members[member].footprint();
        for held in self.standings[member].began_in.clone() {
            let id = held.enemy;
            let Some(enemy) = self.game.unit(&id).and_then(Unit::footprint) else {
                continue;
            };
            if zones::is_in_halt_zone(self.game.ruleset(), &enemy, &end) {
                let distance_mm = distance_mm(&end, &enemy);
                let reason =
                    Reason::length_under(Code::Locked, zone_mm, distance_mm, self.tolerance_mm())
                        .with(id.0)
                        .note("a withdrawal must end outside the halt zones it began in");
                self.add(Some(member), reason);
            }
        }
    }

    pub(super) fn verdicts(mut self, movement: &Movement<'_>) -> Vec<MoveVerdict> {
        self.found.sort_by_key(|found| found.reason.code());
        let refused_at = self.first_refusal();
        let mut verdicts = Vec::with_capacity(self.ids.len());
        for member in 0..self.ids.len() {
            let reasons: Vec<Reason> = self
                .found
                .iter()
                .filter(|found| found.member.is_none_or(|m| m == member))
                .map(|found| found.reason.clone())
                .collect();
            let body = &self.body.members[member];
            let end = Place::from(body.pose);
            verdicts.push(MoveVerdict {
                unit: self.ids[member].clone(),
                order: movement.order,
                verdict: Ruling::worst(reasons.iter().map(Reason::ruling)),
                charge_mm: self.tallies[self.dearest()].total_mm(),
                allowance_mm: self.allowance_mm,
                in_command: self.in_command[member],
                start: Some(Place::from(self.began[member])),
                end: Some(end),
                end_pose: Some(body.pose),
                files: body.files,
                lines_paid: self.lines_paid(member),
                furthest: Some(
                    refused_at
                        .filter(|_| member == 0)
                        .map_or(end, |at| at.place()),
                ),
                legs: std::mem::take(&mut self.ledgers[member]),
                reasons,
                remedies: Vec::new(),
            });
        }
        verdicts
    }

    /// The earliest point of the path at which a limit that refuses the move was reached.
    pub(super) fn first_refusal(&self) -> Option<PathPoint> {
        self.found
            .iter()
            .filter(|found| found.reason.ruling() == Ruling::Refused)
            .filter_map(|found| found.reason.place_on_path().copied())
            .reduce(|first, other| {
                if other.is_before(&first) {
                    other
                } else {
                    first
                }
            })
    }
}

/// The side and the angle a leg has; of a wheel, the angle it was made through.
fn side_and_angle(leg: &Leg, made: Option<&Sweep>) -> (Option<Hand>, Option<f64>) {
    match *leg {
        Leg::Oblique {
            side, angle_deg, ..
        }
        | Leg::Align { side, angle_deg } => (Some(side), Some(angle_deg)),
        Leg::Wheel {
            side, angle_deg, ..
        } => {
            let turned_deg = made.and_then(|made| match made.motion {
                Motion::Turn { clockwise_rad, .. } => Some(clockwise_rad.abs().to_degrees()),
                Motion::Straight { .. } => None,
            });
            (Some(side), turned_deg.or(angle_deg.amount()))
        }
        Leg::Sidestep { side, .. } | Leg::Turn { side } => (Some(side), None),
        Leg::Forward { .. } | Leg::Back { .. } | Leg::About | Leg::Reform { .. } => (None, None),
    }
}

/// Whole hundredths of a millimetre, downward; a billionth short of one counts as whole.
pub(super) fn hundredths_down(along_mm: f64) -> f64 {
    ((along_mm * 100.0 + 1e-6).floor()) / 100.0
}

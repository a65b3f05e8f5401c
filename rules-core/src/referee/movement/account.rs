//! The account of a move: reasons, ledgers, and the verdict at its end.

use crate::geometry::{Motion, Placement, larger};
use crate::orders::{Hand, Leg, UnitId};
use crate::verdict::{Code, LegLedger, MoveVerdict, PathPoint, Place, Reason, Ruling};

use super::super::snap;
use super::banks::Banks;
use super::limits::Limit;
use super::slack::{ARITHMETIC_MM, JUDGED_MM, STORED_MM};
use super::standing::Near;
use super::sweep::Sweep;
use super::walk::{Found, Walk};
use super::{Movement, Purpose};

impl Walk<'_> {
    /// The point of the path at which a leg starts.
    pub(super) fn leg_start(&self, member: usize, leg: usize) -> PathPoint {
        PathPoint::new(leg, 0.0, Place::from(self.body.members[member].pose()))
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
        // what is forbidden is so by whatever figure
        let worst = if !found.reason.is_without_figures()
            && (reason.is_without_figures() || found.reason.excess() < reason.excess())
        {
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
                end: Place::from(self.body.members[member].pose()),
            });
        }
    }

    /// Rounds a member's end to a stored pose that goes no deeper into any limit than its exact end, or than the move began:
    /// exactly so where such a pose is near, else as nearly as poses are judged, else to the nearest.
    pub(super) fn settle(&mut self, member: usize, end: &Placement) {
        let body = &self.body.members[member];
        let footprint = body.footprint_at(end);
        let near: Vec<(&Limit<'_>, f64)> = self.limits[member]
            .iter()
            .filter(|limit| !limit.against.is_far(&footprint))
            .map(|limit| (limit, limit.against.depth_mm(&footprint)))
            .filter(|(limit, depth_mm)| *depth_mm > limit.began_mm - 2.0 * STORED_MM)
            .map(|(limit, depth_mm)| (limit, larger(limit.began_mm, depth_mm)))
            .collect();
        let exit = &self.tallies[member].exit;
        let nothing_due = exit.due_at(&footprint) == 0.0;
        let banks = Banks::about(&self.around, end.anchor);
        let orders = [
            (true, ARITHMETIC_MM),
            (true, JUDGED_MM),
            (false, ARITHMETIC_MM),
            (false, JUDGED_MM),
        ];
        let settled = orders.into_iter().find_map(|(keeps_all, slack_mm)| {
            snap::settle(end, |pose| {
                let placement = pose.placement();
                let rounded = body.footprint_at(&placement);
                let is_kept = |(limit, most_mm): &(&Limit<'_>, f64)| {
                    limit.against.depth_mm(&rounded) <= most_mm + slack_mm
                };
                let is_free = !nothing_due || exit.due_at(&rounded) == 0.0;
                let keeps_charges = is_free && banks.are_kept(placement.anchor);
                (!keeps_all || keeps_charges) && near.iter().all(is_kept)
            })
        });
        if let Some(pose) = settled.or_else(|| end.rounded()) {
            self.body.members[member].put(pose);
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

    /// A withdrawal must end outside every halt zone it began in.
    pub(super) fn check_withdrawn(&mut self, member: usize) {
        if self.purpose != Purpose::Withdrawal {
            return;
        }
        let end = self.body.members[member].footprint();
        let tolerance_mm = self.tolerance_mm();
        let held: Vec<Reason> = self.standings[member]
            .began_in()
            .filter(|near| near.holds(&end))
            .map(|near| {
                let zone_mm = near.zone.size_mm();
                let ends_mm = zone_mm - near.zone.depth(&end).mm;
                Reason::length_under(Code::Locked, zone_mm, ends_mm, tolerance_mm)
                    .with(near.enemy.0.clone())
                    .note("a withdrawal must end outside the halt zones it began in")
            })
            .collect();
        for reason in held {
            self.add(Some(member), reason);
        }
    }

    /// The enemies whose halt zones a locked member ends outside by no more than the tolerance: they hold it still
    /// when its next move begins.
    fn still_held_by(&self, member: usize) -> Vec<UnitId> {
        if !self.is_locked(member) {
            return Vec::new();
        }
        let end = self.body.members[member].footprint();
        let outside = |near: &&Near<'_>| {
            let depth_mm = near.zone.depth(&end).mm;
            depth_mm < -STORED_MM && depth_mm >= -self.tolerance_mm() - JUDGED_MM
        };
        let held = self.standings[member].began_in().filter(outside);
        held.map(|near| near.enemy.clone()).collect()
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
            let still_held_by = self.still_held_by(member);
            let body = &self.body.members[member];
            let end = Place::from(body.pose());
            verdicts.push(MoveVerdict {
                unit: self.ids[member].clone(),
                order: movement.order,
                verdict: Ruling::worst(reasons.iter().map(Reason::ruling)),
                charge_mm: self.tallies[self.dearest()].total_mm(),
                allowance_mm: self.allowance_mm,
                in_command: self.in_command[member],
                start: Some(Place::from(self.began[member].pose())),
                end: Some(end),
                end_pose: Some(body.pose()),
                files: body.files,
                still_held_by,
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
    ((along_mm * 100.0 + ARITHMETIC_MM).floor()) / 100.0
}

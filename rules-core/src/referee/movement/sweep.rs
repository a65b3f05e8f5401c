//! Legs that slide or turn on the table: clear at every instant, paid for along the tape.

use crate::geometry::{Motion, Path};
use crate::orders::Leg;
use crate::verdict::Reason;

use super::limits::Breach;
use super::locks::Bans;
use super::slack::STORED_MM;
use super::walk::{LastSweep, Walk};

/// A motion, the tape that measures it, and its charge per millimetre on open ground.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Sweep {
    pub(super) motion: Motion,
    pub(super) tape: Path,
    pub(super) rate: f64,
}

impl Sweep {
    /// The first part of it.
    pub(super) fn part(&self, share: f64) -> Self {
        Self {
            motion: self.motion.part(share),
            tape: self.tape.part(share),
            ..*self
        }
    }
}

/// What an *up to* leg stopped at.
pub(super) struct Stop {
    pub(super) share: f64,
    pub(super) words: String,
}

impl<'a> Walk<'a> {
    /// Carries out a leg that sweeps: as ordered, or as far as it goes when it says *up to*.
    pub(super) fn sweep(&mut self, index: usize, leg: &Leg, ordered: &Sweep) {
        let bans = self.check_bans(index, leg);
        self.end_aligning();
        let (made, stopped_by) = if leg.is_up_to() {
            self.made_up_to(index, ordered)
        } else {
            self.check_limits(index, ordered, &bans);
            (*ordered, None)
        };
        self.check_locks(index, &made, &bans);
        self.make(index, leg, &made, stopped_by);
    }

    /// What is made of a leg that says *up to*, and in words what it stopped at.
    fn made_up_to(&self, index: usize, ordered: &Sweep) -> (Sweep, Option<String>) {
        let mut stop = self.first_stop(&ordered.motion);
        let share = stop.as_ref().map_or(1.0, |stop| stop.share);
        if let Some(share) = self.lasts_to(index, ordered, share) {
            let words = self.dry_words(ordered, share);
            stop = Some(Stop { share, words });
        }
        let made = stop
            .as_ref()
            .map_or(*ordered, |stop| ordered.part(stop.share));
        let at_friend = (index == self.last_leg)
            .then(|| self.stop_at_friend(&made.motion))
            .flatten();
        let (made, words) = match at_friend {
            Some(friend) => (made.part(friend.share), Some(friend.words)),
            None => (made, stop.map(|stop| stop.words)),
        };
        // what is too short to be stored is no move, and pays for nothing that moving would
        let moves = words.is_none() || made.tape.length_mm() > STORED_MM;
        (if moves { made } else { made.part(0.0) }, words)
    }

    /// The first measured limit at which *up to* stops, but for the allowance: of any member, or a lock.
    fn first_stop(&self, motion: &Motion) -> Option<Stop> {
        let mut first: Option<Stop> = None;
        let mut offer = |share: f64, words: &dyn Fn() -> String| {
            if first.as_ref().is_none_or(|first| share < first.share) {
                first = Some(Stop {
                    share,
                    words: words(),
                });
            }
        };
        for (member, limits) in self.body.members.iter().zip(&self.limits) {
            let moving = member.footprint();
            for limit in limits {
                if let Some(share) = limit.stop(&moving, motion) {
                    offer(share, &|| limit.stop_words());
                }
            }
        }
        if let Some((share, enemy)) = self.locked_stop(motion) {
            offer(share, &|| format!("halt zone of {enemy}"));
        }
        first
    }

    /// Tells every limit that a leg breaks, for every member, but those of which the leg is forbidden altogether.
    fn check_limits(&mut self, index: usize, ordered: &Sweep, bans: &Bans) {
        let mut found: Vec<(usize, Reason)> = Vec::new();
        for (member, limits) in self.limits.iter().enumerate() {
            let moving = self.body.members[member].footprint();
            for limit in limits {
                if bans.contains(&(member, limit.code)) {
                    continue;
                }
                let Some(Breach { share, deepest }) = limit.breach(&moving, &ordered.motion) else {
                    continue;
                };
                let along_mm = share * ordered.tape.length_mm();
                let at = self.path_point(member, index, &ordered.motion, share, along_mm);
                let reason = limit.reason(&deepest, self.tolerance_mm());
                found.push((member, reason.at(at)));
            }
        }
        for (member, reason) in found {
            self.add(Some(member), reason);
        }
    }

    /// Moves every member and enters the leg in the ledger.
    fn make(&mut self, index: usize, leg: &Leg, made: &Sweep, stopped_by: Option<String>) {
        self.spend_sweep(index, made);
        let began = self.body.members.clone();
        for (member, before) in began.iter().enumerate() {
            self.settle(member, &before.placement_after(&made.motion, 1.0));
        }
        self.enter_ledger(leg, Some(made), stopped_by);
        self.last_sweep = Some(LastSweep {
            leg: index,
            sweep: *made,
            began,
        });
    }
}

//! Legs that slide or turn on the table: clear at every instant, paid for along the tape.

use crate::geometry::{Motion, Path};
use crate::orders::Leg;

use super::limits::{Breach, Limit};
use super::walk::{LastSweep, Walk};

/// A motion, the tape that measures it, and its charge per millimetre on open ground.
#[derive(Debug, Clone, Copy)]
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

/// A limit that a member breaks during a motion.
struct MemberBreach<'a> {
    member: usize,
    limit: Limit<'a>,
    breach: Breach,
}

/// What an *up to* leg stopped at.
struct Stop {
    share: f64,
    words: String,
}

impl<'a> Walk<'a> {
    /// Carries out a leg that sweeps: as ordered, or as far as it goes when it says *up to*.
    pub(super) fn sweep(&mut self, index: usize, leg: &Leg, ordered: &Sweep) {
        let breaches = self.breaches(&ordered.motion);
        if leg.is_up_to() {
            let first = first_stop(&breaches);
            let share = first.as_ref().map_or(1.0, |stop| stop.share);
            let dry = self.lasts_to(index, ordered, share).map(|share| Stop {
                share,
                words: self.dry_words(ordered, share),
            });
            let Some(stop) = dry.or(first) else {
                self.check_moved_on(index, Some(ordered.tape.length_mm()));
                self.make(index, leg, ordered, None);
                return;
            };
            let made = ordered.part(stop.share);
            self.check_moved_on(index, Some(made.tape.length_mm()));
            self.make(index, leg, &made, Some(stop.words));
            return;
        }
        // Going deeper at once into the zone that halted it says all that moving on would.
        let deeper_at_once = breaches.iter().any(|found| {
            self.is_halted_by(found.limit.with)
                && found.breach.share * ordered.tape.length_mm() < 0.01
        });
        if !deeper_at_once {
            self.check_moved_on(index, Some(ordered.tape.length_mm()));
        }
        for found in &breaches {
            self.add_breach(index, ordered, found);
        }
        self.make(index, leg, ordered, None);
    }

    /// Every limit that a motion breaks, for every member.
    fn breaches(&self, motion: &Motion) -> Vec<MemberBreach<'a>> {
        let mut breaches = Vec::new();
        for (member, limits) in self.limits.iter().enumerate() {
            let moving = self.body.members[member].footprint();
            for limit in limits {
                if let Some(breach) = limit.breach(&moving, motion) {
                    breaches.push(MemberBreach {
                        member,
                        limit: limit.clone(),
                        breach,
                    });
                }
            }
        }
        breaches
    }

    fn add_breach(&mut self, index: usize, ordered: &Sweep, found: &MemberBreach<'_>) {
        let Breach { share, measured_mm } = found.breach;
        let along_mm = share * ordered.tape.length_mm();
        let at = self.path_point(found.member, index, &ordered.motion, share, along_mm);
        let reason = found.limit.reason(measured_mm, self.tolerance_mm());
        self.add(Some(found.member), reason.at(at));
    }

    /// Moves every member and enters the leg in the ledger.
    fn make(&mut self, index: usize, leg: &Leg, made: &Sweep, stopped_by: Option<String>) {
        self.check_lock(index, &made.motion);
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

/// The first limit but the allowance that an *up to* leg meets: its share of the motion, and what it is.
fn first_stop(breaches: &[MemberBreach<'_>]) -> Option<Stop> {
    breaches
        .iter()
        .map(|found| Stop {
            share: found.breach.share,
            words: found.limit.stop_words(),
        })
        .reduce(|first, other| {
            if other.share < first.share {
                other
            } else {
                first
            }
        })
}

//! Legs that slide or turn on the table: clear at every instant, paid for along the tape.

use crate::geometry::{Footprint, Motion, Path, larger};
use crate::orders::Leg;
use crate::verdict::Reason;

use super::charges::{Charged, Charges};
use super::limits::Breach;
use super::locks::Bans;
use super::tapes::{self, Tape};
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
        let motion = self.motion.part(share);
        let tape = match self.tape {
            Path::Straight { from, .. } => Path::Straight {
                from,
                to: self.tape.at(share),
            },
            Path::Arc {
                centre,
                from,
                clockwise_rad,
            } => Path::Arc {
                centre,
                from,
                clockwise_rad: clockwise_rad * share,
            },
        };
        Self {
            motion,
            tape,
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
        let mut stop = if leg.is_up_to() {
            self.first_stop(&ordered.motion)
        } else {
            None
        };
        let within = stop
            .as_ref()
            .map_or(*ordered, |stop| ordered.part(stop.share));
        let fixed_mm = self.exit_charge(&within.motion);
        self.spend_fixed(index, fixed_mm);
        let mut tapes = self.tapes(&within);
        let mut made = within;
        let lasts_to = self.lasts_to(&tapes);
        if leg.is_up_to() {
            if let Some((share, to_mm)) = lasts_to {
                made = within.part(share);
                stop = Some(self.dry_stop(share, to_mm));
            }
            if index == self.last_leg
                && let Some(clear) = self.stop_at_friend(&made.motion)
            {
                made = made.part(clear.share);
                stop = Some(clear);
            }
            if made != within {
                tapes = self.tapes(&made);
            }
        } else {
            self.check_limits(index, ordered, &bans);
            if let (Some((share, to_mm)), None) = (lasts_to, &self.dry) {
                self.dry = Some(self.path_point(0, index, &ordered.motion, share, to_mm));
            }
        }
        self.check_locks(index, &made, &bans);
        self.make(
            index,
            leg,
            &made,
            tapes,
            fixed_mm,
            stop.map(|stop| stop.words),
        );
    }

    /// Where an allowance is used up, or the move that is always granted.
    fn dry_stop(&self, share: f64, to_mm: f64) -> Stop {
        let words = match self.granted_mm() {
            Some(least_mm) if to_mm <= least_mm => "minimum move",
            _ => "allowance",
        };
        Stop {
            share,
            words: words.to_owned(),
        }
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

    /// Tape that is granted whatever it costs: only of a first leg.
    fn granted_mm(&self) -> Option<f64> {
        self.minimum_mm.filter(|_| self.ledgers[0].is_empty())
    }

    /// How far along the tape the allowance lasts, when it does not last to the end.
    pub(super) fn charges_last_to_mm(&self, charges: &Charges<'_>, ordered: &Sweep) -> Option<f64> {
        let to_mm = charges.lasts_to_mm(self.allowance_mm - self.spent_mm)?;
        let to_mm = self
            .granted_mm()
            .map_or(to_mm, |least_mm| larger(to_mm, least_mm));
        (to_mm < ordered.tape.length_mm()).then_some(to_mm)
    }

    /// What a sweep costs a member that begins it there.
    pub(super) fn charges_from(
        &self,
        member: usize,
        moving: &Footprint,
        sweep: &Sweep,
    ) -> Charges<'a> {
        let Sweep { motion, tape, rate } = sweep;
        let charged = Charged {
            tape,
            motion,
            moving,
            rate: *rate,
        };
        let laws = &self.game.ruleset().movement;
        Charges::of(laws, &self.around, &charged, &self.astride[member])
    }

    /// Moves every member and enters the leg in the ledger.
    fn make(
        &mut self,
        index: usize,
        leg: &Leg,
        made: &Sweep,
        tapes: Vec<Tape<'_>>,
        fixed_mm: f64,
        stopped_by: Option<String>,
    ) {
        let dearest = tapes::dearest(tapes);
        self.spent_mm += dearest.as_ref().map_or(0.0, |tape| tape.charges.total_mm());
        let began = self.body.members.clone();
        for (member, before) in began.iter().enumerate() {
            self.settle(member, &before.placement_after(&made.motion, 1.0));
        }
        self.enter_ledger(leg, dearest.as_ref(), fixed_mm, stopped_by);
        self.last_sweep = Some(LastSweep {
            leg: index,
            sweep: *made,
            began,
        });
    }
}

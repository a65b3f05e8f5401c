//! Legs that slide or turn on the table: clear at every instant, paid for along the tape.

use crate::geometry::{Footprint, Motion, Path, larger};
use crate::orders::Leg;

use super::charges::{Charged, Charges};
use super::limits::{Breach, Limit};
use super::tapes::{self, Tape};
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
        let fixed_mm = self.exit_charge(&ordered.motion);
        self.spend_fixed(index, fixed_mm);
        let tapes = self.tapes(ordered);
        let lasts_to = self.lasts_to(&tapes);
        if leg.is_up_to() {
            let dry = lasts_to.map(|(share, to_mm)| self.dry_stop(share, to_mm));
            let Some(stop) = first_stop(&breaches, dry) else {
                self.check_moved_on(index, Some(ordered.tape.length_mm()));
                self.make(index, leg, ordered, tapes, fixed_mm, None);
                return;
            };
            let made = ordered.part(stop.share);
            let tapes = self.tapes(&made);
            self.check_moved_on(index, Some(made.tape.length_mm()));
            self.make(index, leg, &made, tapes, fixed_mm, Some(stop.words));
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
        if let (Some((share, to_mm)), None) = (lasts_to, &self.dry) {
            self.dry = Some(self.path_point(0, index, &ordered.motion, share, to_mm));
        }
        self.make(index, leg, ordered, tapes, fixed_mm, None);
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

    /// Tape that is granted whatever it costs: only of a first leg.
    fn granted_mm(&self) -> Option<f64> {
        self.minimum_mm.filter(|_| self.ledgers[0].is_empty())
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
        self.check_lock(index, &made.motion);
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

/// The first limit that an *up to* leg meets: its share of the motion, and what it is.
fn first_stop(breaches: &[MemberBreach<'_>], dry: Option<Stop>) -> Option<Stop> {
    breaches
        .iter()
        .map(|found| Stop {
            share: found.breach.share,
            words: found.limit.stop_words(),
        })
        .chain(dry)
        .reduce(|first, other| {
            if other.share < first.share {
                other
            } else {
                first
            }
        })
}

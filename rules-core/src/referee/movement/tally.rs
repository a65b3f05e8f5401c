//! All that one unit's tape is charged, leg by leg (laws of measurement, §4).

use crate::game::LinesPaid;
use crate::geometry::{Footprint, Motion, Path, smaller};
use crate::ruleset::Ruleset;
use crate::verdict::LineCharge;

use super::super::astride::{has_paid, is_upon};
use super::Surroundings;
use super::charges::{Charge, Charged, pieces};
use super::contacts::Swept;
use super::leaving::Exit;
use super::lines::{Chain, Lifted, Lines};
use super::marks::Reached;
use super::purse::{Purse, Spot, used_up};

/// The price of leaving a halt zone, where it falls due on a leg.
#[derive(Debug, Clone, Copy)]
pub(super) struct ExitCharge {
    pub(super) at_mm: f64,
    /// Where a tape stops that cannot pay it.
    pub(super) last_mm: f64,
    pub(super) charge_mm: f64,
}

/// What one leg is charged but for lines.
#[derive(Debug, Clone, Default)]
pub(super) struct LegCharges<'a> {
    pub(super) length_mm: f64,
    pub(super) pieces: Vec<Charge<'a>>,
    pub(super) fixed_mm: f64,
    pub(super) exit: Option<ExitCharge>,
}

impl<'a> LegCharges<'a> {
    /// What a leg that sweeps is charged to a unit; `exit`: what it pays for leaving, if it still may.
    pub(super) fn of(
        ruleset: &Ruleset,
        around: &Surroundings<'a>,
        exit: Option<&Exit>,
        leg: &Laid,
    ) -> Self {
        let charged = Charged {
            tape: &leg.tape,
            motion: &leg.motion,
            moving: &leg.moving,
            rate: leg.rate,
        };
        let length_mm = leg.tape.length_mm();
        let due = exit
            .filter(|_| length_mm > 0.0)
            .and_then(|exit| exit.due(&leg.moving, &leg.motion));
        Self {
            length_mm,
            pieces: pieces(ruleset.movement.terrain_by, around, &charged),
            fixed_mm: 0.0,
            exit: due.map(|due| ExitCharge {
                at_mm: due.share * length_mm,
                last_mm: due.last * length_mm,
                charge_mm: due.charge_mm,
            }),
        }
    }

    /// All of it.
    pub(super) fn total_mm(&self) -> f64 {
        let pieces = self.pieces.iter().map(|piece| piece.charge_mm);
        pieces.fold(self.lumps_mm(), |sum, charge_mm| sum + charge_mm)
    }

    /// What is charged at one place, the price of leaving included.
    pub(super) fn lumps_mm(&self) -> f64 {
        self.fixed_mm + self.exit.map_or(0.0, |exit| exit.charge_mm)
    }
}

/// A leg that sweeps, as it is charged to one unit.
#[derive(Debug, Clone, Copy)]
pub(super) struct Laid {
    /// Number of the leg.
    pub(super) number: usize,
    pub(super) chain: Chain,
    /// The unit at the leg's start.
    pub(super) moving: Footprint,
    pub(super) motion: Motion,
    pub(super) tape: Path,
    /// Charge per millimetre on open ground.
    pub(super) rate: f64,
}

impl Laid {
    /// The first part of it.
    pub(super) fn part(&self, share: f64) -> Self {
        Self {
            motion: self.motion.part(share),
            tape: self.tape.part(share),
            ..*self
        }
    }

    /// As lines see it.
    pub(super) fn swept(&self) -> Swept<'_> {
        Swept {
            number: self.number,
            length_mm: self.tape.length_mm(),
            moving: &self.moving,
            motion: &self.motion,
            corner: matches!(self.motion, Motion::Turn { .. }).then_some(self.tape),
        }
    }
}

/// One leg of one unit, as it was made.
#[derive(Debug, Clone, Copy)]
enum Made {
    Swept(Laid),
    Lifted(Lifted),
}

/// One unit's account.
#[derive(Debug, Clone)]
pub(super) struct Tally<'a> {
    pub(super) legs: Vec<LegCharges<'a>>,
    pub(super) lines: Lines<'a>,
    pub(super) exit: Exit,
    /// The lines as the move began.
    lines_at_start: Lines<'a>,
    /// Its legs, where there are lines.
    made: Vec<Made>,
}

impl<'a> Tally<'a> {
    /// Nothing charged yet, of a move of so many legs.
    pub(super) fn new(lines: Lines<'a>, exit: Exit, legs: usize) -> Self {
        Self {
            legs: Vec::with_capacity(legs),
            lines_at_start: lines.clone(),
            lines,
            exit,
            made: Vec::new(),
        }
    }

    /// The sum so far. What the tape is upon or has just passed is charged once that is settled.
    pub(super) fn total_mm(&self) -> f64 {
        let legs = self.legs.iter().map(LegCharges::total_mm);
        legs.fold(self.lines.total_mm(), |sum, leg| sum + leg)
    }

    /// What leaving halt zones has cost.
    pub(super) fn exit_mm(&self) -> f64 {
        let exits = self.legs.iter().filter_map(|leg| leg.exit);
        exits.fold(0.0, |sum, exit| sum + exit.charge_mm)
    }

    /// Tape so far.
    pub(super) fn length_mm(&self) -> f64 {
        self.legs.iter().fold(0.0, |sum, leg| sum + leg.length_mm)
    }

    /// Enters a leg that sweeps.
    pub(super) fn sweep(&mut self, ruleset: &Ruleset, around: &Surroundings<'a>, leg: &Laid) {
        let charges = LegCharges::of(ruleset, around, Some(&self.exit), leg);
        if charges.exit.is_some() {
            self.exit.pay();
        }
        self.legs.push(charges);
        self.lines.sweep(around, leg.chain, &leg.swept());
        if !around.lines.is_empty() {
            self.made.push(Made::Swept(*leg));
        }
    }

    /// Enters a leg that lifts; `pays_to_leave`: whether it does when it ends farther from who held the unit.
    pub(super) fn lift(
        &mut self,
        around: &Surroundings<'a>,
        leg: &Lifted,
        fixed_mm: f64,
        pays_to_leave: bool,
    ) {
        let charge_mm = if pays_to_leave {
            self.exit.due_at(&leg.end)
        } else {
            0.0
        };
        let exit = (charge_mm > 0.0).then_some(ExitCharge {
            at_mm: 0.0,
            last_mm: 0.0,
            charge_mm,
        });
        if exit.is_some() {
            self.exit.pay();
        }
        self.legs.push(LegCharges {
            fixed_mm,
            exit,
            ..LegCharges::default()
        });
        self.lines.lift(around, leg);
        if !around.lines.is_empty() {
            self.made.push(Made::Lifted(*leg));
        }
    }

    /// Enters a leg that is not made.
    pub(super) fn skip(&mut self) {
        self.legs.push(LegCharges::default());
    }

    /// The tape ends here.
    pub(super) fn close(&mut self, around: &Surroundings<'a>) {
        self.lines.take_up(around);
    }

    /// The lines as they would be without the tolerance, when it has granted anything.
    pub(super) fn strict_lines(&self, around: &Surroundings<'a>) -> Option<Lines<'a>> {
        if !self.lines.granted {
            return None;
        }
        let mut strict = self.lines_at_start.clone();
        strict.be_strict(around);
        for made in &self.made {
            match made {
                Made::Swept(leg) => strict.sweep(around, leg.chain, &leg.swept()),
                Made::Lifted(leg) => strict.lift(around, leg),
            }
        }
        strict.take_up(around);
        Some(strict)
    }

    /// The sum without what the tolerance granted.
    pub(super) fn strict_total_mm(&self, around: &Surroundings<'a>) -> f64 {
        let strict = self.strict_lines(around);
        let lines_mm = strict.map_or(self.lines.total_mm(), |lines| lines.total_mm());
        self.total_mm() - self.lines.total_mm() + lines_mm
    }

    /// The lines that a leg reaches, for a ledger, in order.
    pub(super) fn lines_of(&self, number: usize) -> Vec<LineCharge> {
        let reached = self.lines.reached.iter();
        let of_leg = reached.filter(|line| line.spot.leg == number);
        let mut lines: Vec<LineCharge> = of_leg.map(Reached::line_charge).collect();
        lines.sort_by(|a, b| a.at_mm.total_cmp(&b.at_mm));
        lines
    }

    /// Where a purse is used up; `None` when it pays for everything.
    pub(super) fn used_up(&self, purse: &Purse) -> Option<Spot> {
        used_up(&self.legs, &self.lines.reached, purse)
    }

    /// How far a leg could be made so that a purse pays for everything, when not to `share`: the share. The tolerance
    /// grants nothing of that leg.
    pub(super) fn lasts_to(
        &self,
        ruleset: &Ruleset,
        around: &Surroundings<'a>,
        purse: &Purse,
        leg: &Laid,
        share: f64,
    ) -> Option<f64> {
        /// Each try ends short of the one before, at a line or where the allowance does.
        const TRIES: u32 = 8;
        let mut before = self.clone();
        before.lines.be_strict(around);
        let length_mm = leg.tape.length_mm();
        let mut found = None;
        let mut share = share;
        for _ in 0..TRIES {
            let mut trial = before.clone();
            trial.sweep(ruleset, around, &leg.part(share));
            trial.close(around);
            let Some(spot) = trial.used_up(purse) else {
                return found;
            };
            share = if spot.leg == leg.number && length_mm > 0.0 {
                smaller(share, spot.along_mm / length_mm)
            } else {
                0.0
            };
            found = Some(share);
            if share <= 0.0 {
                break;
            }
        }
        found
    }
}

/// The lines under a unit's footprint that it has paid for, by their places in the ground's list.
pub(super) fn lines_paid(
    around: &Surroundings<'_>,
    footprint: &Footprint,
    remembered: &LinesPaid,
) -> Vec<usize> {
    let lines = around.lines.iter();
    lines
        .filter(|(place, line)| is_upon(footprint, line) && has_paid(remembered, *place))
        .map(|(place, _)| *place)
        .collect()
}

//! What a body spends: each unit's tally, the dearest, and where the allowance is used up (laws of measurement, §4).

use crate::game::{Game, LinesPaid, Unit};
use crate::geometry::{Motion, larger};
use crate::orders::Leg;
use crate::ruleset::{ChargeLines, ZoneExit};
use crate::verdict::{Code, PathPoint, Place, Reason};

use super::account::hundredths_down;
use super::body::Member;
use super::charges::Charge;
use super::leaving::Exit;
use super::lines::{Lifted, Lines};
use super::purse::{Purse, SUM_MM, Spot, used_up};
use super::slack::JUDGED_MM;
use super::standing::Standing;
use super::steps::Lift;
use super::sweep::Sweep;
use super::tally::{Tally, lines_paid};
use super::tapes::own;
use super::walk::Walk;
use super::{Movement, Purpose, Surroundings};

/// A stop within this of where the minimum move ends is the minimum move's, in millimetres.
const SAME_MM: f64 = 1e-6;

/// Where a leg began and how it went, to find a place on it again.
#[derive(Debug, Clone, Copy)]
pub(super) struct Begun {
    first: Member,
    motion: Option<Motion>,
}

/// A unit's tally as its move begins.
pub(super) fn tally_of<'a>(
    game: &'a Game,
    around: &Surroundings<'a>,
    movement: &Movement<'_>,
    (unit, member): (&Unit, &Member),
    standing: &Standing<'_>,
) -> Tally<'a> {
    let ruleset = game.ruleset();
    let began = member.footprint();
    let remembered = match movement.purpose {
        Purpose::Arrival(_) => &LinesPaid::All,
        Purpose::March | Purpose::Withdrawal => &unit.lines_paid,
    };
    let paid = lines_paid(around, &began, remembered);
    let first_base = ruleset.movement.charge_lines == ChargeLines::FirstBase;
    let exit =
        if movement.purpose != Purpose::Withdrawal && ruleset.zones.zone_exit == ZoneExit::Pay {
            let enemies = standing.began_in().map(|near| *near.zone.ground());
            let charge_mm = ruleset.zones.zone_exit_charge.mm(&ruleset.scale);
            Exit::of(&began, enemies.collect(), charge_mm)
        } else {
            Exit::default()
        };
    let lines = Lines::new(first_base, ruleset.scale.tolerance_mm, &paid);
    Tally::new(lines, exit, movement.legs.len())
}

impl Walk<'_> {
    /// What may be spent, and how little more by.
    pub(super) fn purse(&self, slack_mm: f64) -> Purse {
        Purse {
            allowance_mm: self.allowance_mm,
            granted_mm: self.granted_mm,
            slack_mm,
        }
    }

    /// How far a leg could be made so that no unit's sum exceeds the allowance, when not to `share`: the share.
    pub(super) fn lasts_to(&self, index: usize, ordered: &Sweep, share: f64) -> Option<f64> {
        let purse = self.purse(SUM_MM);
        let members = self.body.members.iter().zip(&self.tallies);
        members.fold(None, |found: Option<f64>, (member, tally)| {
            let leg = own(index, member, ordered);
            let to = found.unwrap_or(share);
            tally
                .lasts_to(self.game.ruleset(), &self.around, &purse, &leg, to)
                .or(found)
        })
    }

    /// What a stop of the allowance's is, in words.
    pub(super) fn dry_words(&self, ordered: &Sweep, share: f64) -> String {
        let to_mm = self.tallies[0].length_mm() + share * ordered.tape.length_mm();
        let is_granted = |granted_mm: f64| (to_mm - granted_mm).abs() < SAME_MM;
        match self.granted_mm {
            Some(granted_mm) if is_granted(granted_mm) => "minimum move".to_owned(),
            _ => "allowance".to_owned(),
        }
    }

    /// Enters a leg that sweeps in every unit's tally, before it is made.
    pub(super) fn spend_sweep(&mut self, index: usize, made: &Sweep) {
        self.begun.push(Begun {
            first: self.body.members[0],
            motion: Some(made.motion),
        });
        for (member, tally) in self.body.members.iter().zip(&mut self.tallies) {
            let leg = own(index, member, made);
            tally.sweep(self.game.ruleset(), &self.around, &leg);
        }
    }

    /// Enters a leg that lifts in every unit's tally, after it is made.
    pub(super) fn spend_lift(&mut self, index: usize, how: Lift, fixed_mm: f64, began: &[Member]) {
        self.begun.push(Begun {
            first: began[0],
            motion: None,
        });
        let members = began.iter().zip(&self.body.members);
        for ((began, end), tally) in members.zip(&mut self.tallies) {
            let leg = Lifted {
                number: index,
                began: began.footprint(),
                end: end.footprint(),
                anchor_stays: !matches!(how, Lift::Turned { .. }),
            };
            let aligns = matches!(how, Lift::Aligned { .. });
            tally.lift(&self.around, &leg, fixed_mm, !aligns);
        }
    }

    /// Enters a leg that is not made.
    pub(super) fn spend_nothing(&mut self) {
        self.begun.push(Begun {
            first: self.body.members[0],
            motion: None,
        });
        for tally in &mut self.tallies {
            tally.skip();
        }
    }

    /// The unit whose whole tape is dearest; of equals the first.
    pub(super) fn dearest(&self) -> usize {
        let sums = self.tallies.iter().map(Tally::total_mm).enumerate();
        sums.reduce(|dearest, other| if other.1 > dearest.1 { other } else { dearest })
            .map_or(0, |(member, _)| member)
    }

    /// Every tape ends here; whether the allowance has paid for it.
    pub(super) fn settle_spending(&mut self) {
        for tally in &mut self.tallies {
            tally.close(&self.around);
        }
        let purse = self.purse(JUDGED_MM);
        let reason = match self.first_used_up(|tally| tally.used_up(&purse)) {
            Some(spot) => Some(self.overspent().at(self.place_of(spot))),
            None => self.granted_by_tolerance(&purse),
        };
        if let Some(reason) = reason {
            self.add(None, reason);
        }
    }

    /// Enters what the dearest tape is charged in every ledger.
    pub(super) fn charge_ledgers(&mut self) {
        let dearest = self.dearest();
        let tally = &self.tallies[dearest];
        let whose = (self.ids.len() > 1).then(|| self.ids[dearest].clone());
        for (number, charged) in tally.legs.iter().enumerate() {
            let lines = tally.lines_of(number);
            let of_lines = lines.iter().fold(0.0, |sum, line| sum + line.charge_mm);
            for ledger in self
                .ledgers
                .iter_mut()
                .filter_map(|legs| legs.get_mut(number))
            {
                ledger.tape_mm = charged.length_mm;
                ledger.pieces = charged.pieces.iter().map(Charge::piece).collect();
                ledger.lines.clone_from(&lines);
                ledger.fixed_mm = charged.lumps_mm();
                ledger.charge_mm = charged.total_mm() + of_lines;
                let has_tape = charged.length_mm > 0.0 || !lines.is_empty();
                ledger.tape_of = whose.clone().filter(|_| has_tape);
            }
        }
    }

    /// Lines under a unit at its end that it has paid for; `None` where no line is under it that charges, or where every
    /// tape pays.
    pub(super) fn lines_paid(&self, member: usize) -> Option<Vec<usize>> {
        let laws = &self.game.ruleset().movement;
        let end = self.body.members[member].footprint();
        let under = lines_paid(&self.around, &end, &LinesPaid::All);
        let is_remembered = laws.charge_lines == ChargeLines::FirstBase && !under.is_empty();
        is_remembered.then(|| {
            let paid = self.tallies[member].lines.paid();
            under
                .into_iter()
                .filter(|line| paid.contains(line))
                .collect()
        })
    }

    /// The first place at which some unit's purse is used up, with the unit.
    fn first_used_up(&self, of: impl Fn(&Tally<'_>) -> Option<Spot>) -> Option<(usize, Spot)> {
        let tallies = self.tallies.iter().enumerate();
        let spots = tallies.filter_map(|(member, tally)| Some((member, of(tally)?)));
        spots.reduce(|first, other| {
            if other.1.is_before(&first.1) {
                other
            } else {
                first
            }
        })
    }

    /// The reason for a sum that exceeds the allowance; of a minimum move, for what exceeds that, if it is less.
    fn overspent(&self) -> Reason {
        let tally = &self.tallies[self.dearest()];
        let tolerance_mm = self.tolerance_mm();
        let over = |limit_mm: f64, measured_mm: f64| {
            Reason::length_over(Code::OverAllowance, limit_mm, measured_mm, tolerance_mm)
        };
        let allowance_mm = self.allowance_mm;
        let spent = over(allowance_mm, tally.total_mm());
        let Some(granted_mm) = self.granted_mm else {
            return spent;
        };
        let (exit_mm, length_mm) = (tally.exit_mm(), tally.length_mm());
        let too_long_mm = length_mm - granted_mm;
        if too_long_mm > tolerance_mm || spent.excess() <= tolerance_mm {
            return spent;
        }
        if exit_mm > allowance_mm {
            return over(allowance_mm, exit_mm)
                .note("the minimum move does not cover leaving a halt zone");
        }
        over(granted_mm, length_mm).note("the minimum move is longer than granted")
    }

    /// What the tolerance has granted at lines, if the allowance could not have paid for it.
    fn granted_by_tolerance(&self, purse: &Purse) -> Option<Reason> {
        let strict: Vec<Option<Lines<'_>>> = self
            .tallies
            .iter()
            .map(|tally| tally.strict_lines(&self.around))
            .collect();
        let dry = |member: usize| {
            let (tally, lines) = (&self.tallies[member], strict[member].as_ref()?);
            let spot = used_up(&tally.legs, &lines.reached, purse)?;
            let sum_mm = tally.total_mm() - tally.lines.total_mm() + lines.total_mm();
            Some((member, spot, sum_mm))
        };
        let over: Vec<(usize, Spot, f64)> = (0..strict.len()).filter_map(dry).collect();
        let sum_mm = over.iter().map(|over| over.2).fold(0.0, larger);
        let first = over.into_iter().reduce(|first, other| {
            if other.1.is_before(&first.1) {
                other
            } else {
                first
            }
        })?;
        let reason = Reason::length_granted(Code::OverAllowance, self.allowance_mm, sum_mm)
            .note("the tolerance at lines grants what could not have been paid");
        Some(reason.at(self.place_of((first.0, first.1))))
    }

    /// A place on a unit's tape as a point of the path.
    fn place_of(&self, (member, spot): (usize, Spot)) -> PathPoint {
        let begun = &self.begun[spot.leg];
        let length_mm = self.tallies[member].legs[spot.leg].length_mm;
        let share = if length_mm > 0.0 {
            spot.along_mm / length_mm
        } else {
            0.0
        };
        let placement = match &begun.motion {
            Some(motion) => begun.first.placement_after(motion, share),
            None => begun.first.placement(),
        };
        PathPoint::new(
            spot.leg,
            hundredths_down(spot.along_mm),
            Place::from(&placement),
        )
    }

    /// What an order of these legs might have of tape ahead whatever it costs.
    pub(super) fn granted_mm(game: &Game, movement: &Movement<'_>) -> Option<f64> {
        let ruleset = game.ruleset();
        let granted_mm = ruleset.movement.minimum_move?.forward.mm(&ruleset.scale);
        let is_forward = |leg: &Leg| matches!(leg, Leg::Forward { .. });
        (movement.units.len() == 1 && movement.legs.iter().all(is_forward)).then_some(granted_mm)
    }
}

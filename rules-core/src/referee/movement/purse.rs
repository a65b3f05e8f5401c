//! How far along a move an allowance lasts (laws of measurement, §4).

use crate::geometry::larger;

use super::marks::Reached;
use super::tally::LegCharges;

/// A sum that is less than this over the allowance is arithmetic, in millimetres: sums are exacter than places.
pub(super) const SUM_MM: f64 = 1e-9;

/// What may be spent.
#[derive(Debug, Clone, Copy)]
pub(super) struct Purse {
    pub(super) allowance_mm: f64,
    /// Tape ahead that is granted whatever it costs, when the move is that and nothing else. It does not cover the
    /// price of leaving a halt zone.
    pub(super) granted_mm: Option<f64>,
    /// What a sum may be over it, in millimetres: nothing but arithmetic where a leg is to be cut, what is judged where a
    /// whole move is, since the legs before were cut where other limits were reached.
    pub(super) slack_mm: f64,
}

/// A place on a unit's tape.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Spot {
    pub(super) leg: usize,
    pub(super) along_mm: f64,
}

impl Spot {
    pub(super) fn is_before(&self, other: &Self) -> bool {
        (self.leg, self.along_mm) < (other.leg, other.along_mm)
    }
}

/// A charge that falls due at one place of a leg.
#[derive(Debug, Clone, Copy)]
struct Lump {
    at_mm: f64,
    /// Where a tape must stop that cannot pay it.
    stop_mm: f64,
    charge_mm: f64,
    is_exit: bool,
}

/// Where the purse is used up on a unit's tape; `None` when it pays for everything.
pub(super) fn used_up(
    legs: &[LegCharges<'_>],
    reached: &[Reached<'_>],
    purse: &Purse,
) -> Option<Spot> {
    let mut spending = Spending {
        left_mm: purse.allowance_mm,
        left_for_exit_mm: purse.allowance_mm,
        granted_mm: purse.granted_mm,
        slack_mm: purse.slack_mm,
        length_mm: 0.0,
    };
    legs.iter().enumerate().find_map(|(number, leg)| {
        let along_mm = spending.leg(leg, lumps(number, leg, reached))?;
        Some(Spot {
            leg: number,
            along_mm,
        })
    })
}

/// The charges of a leg that fall due at one place, in order.
fn lumps(number: usize, leg: &LegCharges<'_>, reached: &[Reached<'_>]) -> Vec<Lump> {
    let mut lumps = Vec::new();
    if leg.fixed_mm > 0.0 {
        lumps.push(Lump {
            at_mm: 0.0,
            stop_mm: 0.0,
            charge_mm: leg.fixed_mm,
            is_exit: false,
        });
    }
    lumps.extend(leg.exit.map(|exit| Lump {
        at_mm: exit.at_mm,
        stop_mm: exit.last_mm,
        charge_mm: exit.charge_mm,
        is_exit: true,
    }));
    let lines = reached.iter().filter(|line| line.spot.leg == number);
    lumps.extend(lines.filter(|line| line.charge_mm > 0.0).map(|line| Lump {
        at_mm: line.spot.along_mm,
        stop_mm: line.short_mm,
        charge_mm: line.charge_mm,
        is_exit: false,
    }));
    lumps.sort_by(|a, b| a.at_mm.total_cmp(&b.at_mm));
    lumps
}

/// An allowance being spent.
struct Spending {
    left_mm: f64,
    /// What is left of it were the price of leaving a halt zone all that is charged.
    left_for_exit_mm: f64,
    granted_mm: Option<f64>,
    slack_mm: f64,
    /// Tape so far.
    length_mm: f64,
}

impl Spending {
    /// Where on a leg's tape it is used up, if it is.
    fn leg(&mut self, leg: &LegCharges<'_>, lumps: Vec<Lump>) -> Option<f64> {
        let mut lumps = lumps.into_iter().peekable();
        for piece in &leg.pieces {
            let per_mm = piece.per_mm();
            let mut from_mm = piece.from_mm;
            while let Some(lump) = lumps.next_if(|lump| lump.at_mm < piece.to_mm) {
                if let Some(at_mm) = self.run(per_mm, from_mm, lump.at_mm) {
                    return Some(at_mm);
                }
                from_mm = larger(from_mm, lump.at_mm);
                if !self.pay(&lump) {
                    return Some(lump.stop_mm);
                }
            }
            if let Some(at_mm) = self.run(per_mm, from_mm, piece.to_mm) {
                return Some(at_mm);
            }
        }
        // at the very end of the tape, or of a leg without one
        lumps.find(|lump| !self.pay(lump)).map(|lump| lump.stop_mm)
    }

    /// How much more tape is granted.
    fn still_granted_mm(&self) -> Option<f64> {
        let granted_mm = self.granted_mm? - self.length_mm;
        let exit_is_paid = self.left_for_exit_mm >= -self.slack_mm;
        (exit_is_paid && granted_mm >= -self.slack_mm).then_some(granted_mm)
    }

    /// Pays for tape from one place to another; where it is used up, if it is.
    fn run(&mut self, per_mm: f64, from_mm: f64, to_mm: f64) -> Option<f64> {
        let way_mm = larger(to_mm - from_mm, 0.0);
        let charge_mm = way_mm * per_mm;
        if charge_mm > self.left_mm + self.slack_mm {
            let lasts_mm = if per_mm > 0.0 {
                larger(self.left_mm, 0.0) / per_mm
            } else {
                0.0
            };
            let lasts_mm = self
                .still_granted_mm()
                .map_or(lasts_mm, |granted_mm| larger(lasts_mm, granted_mm));
            if lasts_mm < way_mm - self.slack_mm {
                return Some(from_mm + lasts_mm);
            }
        }
        self.left_mm -= charge_mm;
        self.length_mm += way_mm;
        None
    }

    /// Pays what falls due at one place; whether it can.
    fn pay(&mut self, lump: &Lump) -> bool {
        self.left_mm -= lump.charge_mm;
        if lump.is_exit {
            self.left_for_exit_mm -= lump.charge_mm;
        }
        self.left_mm >= -self.slack_mm || self.still_granted_mm().is_some()
    }
}

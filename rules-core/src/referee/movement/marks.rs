//! What is remembered of one line: where the tape came upon it, what it has just passed, what is paid (laws of
//! measurement, §4).

use crate::game::GroundLine;
use crate::geometry::{Contact, Side};
use crate::verdict::LineCharge;

use super::Surroundings;
use super::contacts::Tracked;
use super::passage::Passage;
use super::purse::Spot;

/// A line that the tape has reached, for the ledger.
#[derive(Debug, Clone)]
pub(super) struct Reached<'a> {
    line: &'a str,
    /// Where it was reached.
    pub(super) spot: Spot,
    /// Where on that leg a tape stops that cannot pay for it, in millimetres.
    pub(super) short_mm: f64,
    pub(super) charge_mm: f64,
    free: Option<String>,
}

impl Reached<'_> {
    /// For a ledger.
    pub(super) fn line_charge(&self) -> LineCharge {
        LineCharge {
            line: self.line.to_owned(),
            at_mm: self.spot.along_mm,
            charge_mm: self.charge_mm,
            free: self.free.clone(),
        }
    }
}

/// Where a line was reached, and what passing it there costs.
#[derive(Debug, Clone)]
pub(super) struct Arrival {
    pub(super) from: Side,
    pub(super) spot: Spot,
    pub(super) short_mm: f64,
    pub(super) passage: Passage,
    /// How often the unit had been clear of the line before.
    pub(super) clears: u32,
}

/// How a point came to be on a line.
#[derive(Debug, Clone)]
pub(super) enum Upon {
    /// Its tape was taken up there.
    Began,
    Came(Arrival),
}

/// A line that was passed, and may yet be come back over.
#[derive(Debug, Clone)]
pub(super) struct Passed {
    pub(super) arrival: Arrival,
    pub(super) to: Side,
    pub(super) farthest_mm: f64,
}

/// What one point of the unit does at one line.
#[derive(Debug, Clone, Default)]
pub(super) struct AtLine {
    pub(super) upon: Option<Upon>,
    pub(super) passed: Option<Passed>,
}

/// What is remembered of one line.
#[derive(Debug, Clone, Default)]
pub(super) struct Mark {
    /// Its place in the ground's list.
    pub(super) line: usize,
    /// How often the unit has been clear of it.
    clears: u32,
    /// How often it had been when the line was last paid for: it stays paid for as long as that is so.
    paid_after: Option<u32>,
    /// How often each point has passed it since the tape was taken up.
    passes: [u32; 2],
    points: [AtLine; 2],
}

impl Mark {
    /// Nothing yet; `paid`: but that it is paid for.
    pub(super) fn of(line: usize, paid: bool) -> Self {
        Self {
            line,
            paid_after: paid.then_some(0),
            ..Self::default()
        }
    }

    /// Whether it is paid for.
    pub(super) fn is_paid(&self) -> bool {
        self.paid_after == Some(self.clears)
    }

    pub(super) fn at(&mut self, point: Tracked) -> &mut AtLine {
        &mut self.points[point as usize]
    }

    pub(super) fn is_worth_keeping(&self) -> bool {
        let open = |at: &AtLine| at.upon.is_some() || at.passed.is_some();
        let passed = self.passes != [0; 2];
        self.is_paid() || passed || self.points.iter().any(open)
    }

    /// The unit is clear of the line.
    pub(super) fn clear(&mut self) {
        self.clears += 1;
    }

    /// The line is reached now, by a contact.
    pub(super) fn arrival(
        &self,
        around: &Surroundings<'_>,
        line: &GroundLine,
        (contact, from): (&Contact, Side),
        (spot, short_mm): (Spot, f64),
        tolerance_mm: f64,
    ) -> Arrival {
        Arrival {
            from,
            spot,
            short_mm,
            passage: match Passage::of(around, line, contact, from, tolerance_mm) {
                Passage::Owed | Passage::Granted(_) if self.is_paid() => {
                    Passage::Counts(STILL_ASTRIDE.to_owned())
                }
                passage => passage,
            },
            clears: self.clears,
        }
    }
}

/// In a ledger, of a line that is paid for.
const STILL_ASTRIDE: &str = "paid already: still astride";

/// Payments for one line.
pub(super) struct Settling<'a, 'r> {
    pub(super) line: &'a GroundLine,
    /// Whether what is paid for stays so until the unit is clear of it; else each tape pays.
    pub(super) first_base: bool,
    /// Whether the tape is one of wheels, which pays once with the anchor that they carry.
    pub(super) wheels: bool,
    pub(super) reached: &'r mut Vec<Reached<'a>>,
    /// Whether the tolerance has granted anything.
    pub(super) granted: &'r mut bool,
}

impl Settling<'_, '_> {
    /// The tape ends, or is taken up elsewhere.
    pub(super) fn take_up(&mut self, mark: &mut Mark) {
        for point in Tracked::BOTH {
            self.passed(mark, point);
            if let Some(Upon::Came(arrival)) = mark.at(point).upon.take() {
                self.pay(mark, point, arrival);
            }
        }
        mark.passes = [0; 2];
    }

    /// What was passed is not come back over.
    pub(super) fn passed(&mut self, mark: &mut Mark, point: Tracked) {
        if let Some(passed) = mark.at(point).passed.take() {
            self.pay(mark, point, passed.arrival);
        }
    }

    /// What was passed is come back over: neither is charged.
    pub(super) fn excuse(&mut self, passed: &Passed, why: String) {
        let why = match &passed.arrival.passage {
            Passage::Owed => {
                *self.granted = true;
                why
            }
            Passage::Granted(why) | Passage::Counts(why) | Passage::Free(why) => why.clone(),
        };
        self.enter(&passed.arrival, 0.0, Some(why));
    }

    /// Pays for a line where a point reached it, if that is owed.
    pub(super) fn pay(&mut self, mark: &mut Mark, point: Tracked, arrival: Arrival) {
        let free = match &arrival.passage {
            Passage::Free(why) => {
                self.enter(&arrival, 0.0, Some(why.clone()));
                return;
            }
            Passage::Counts(why) => Some(why.clone()),
            Passage::Granted(why) => {
                *self.granted = true;
                Some(why.clone())
            }
            Passage::Owed => None,
        };
        let paid_before = if self.first_base {
            let paid = Some(arrival.clears);
            let was_paid = mark.paid_after == paid;
            // none is less than any
            mark.paid_after = mark.paid_after.max(paid);
            was_paid.then_some(STILL_ASTRIDE)
        } else {
            // of the corner's tape and the anchor that is carried, the one that passes it more often pays
            let paid = mark.passes[0].max(mark.passes[1]);
            mark.passes[point as usize] += 1;
            let was_paid = self.wheels && mark.passes[point as usize] <= paid;
            was_paid.then_some("paid once by its tape and its anchor")
        };
        let free = free.or_else(|| paid_before.map(str::to_owned));
        let charge_mm = if free.is_some() {
            0.0
        } else {
            self.line.charge_mm
        };
        self.enter(&arrival, charge_mm, free);
    }

    fn enter(&mut self, arrival: &Arrival, charge_mm: f64, free: Option<String>) {
        self.reached.push(Reached {
            line: &self.line.name,
            spot: arrival.spot,
            short_mm: arrival.short_mm,
            charge_mm,
            free,
        });
    }
}

//! One unit's tape at lines, from leg to leg (laws of measurement, §4).
//!
//! A contact may last over several legs, and a line passed by no more than the tolerance may be come back over in a later
//! one. So what the tape is upon and what it has just passed stay open until it goes on, comes back, or ends.

use crate::game::GroundLine;
use crate::geometry::{Contact, Footprint, Path, Point, Side, crossings, is_near_line};
use crate::orders::Hand;

use super::Surroundings;
use super::contacts::{Beside, Swept, Tracked};
use super::follow::Following;
use super::marks::{Mark, Reached, Settling};
use super::purse::Spot;
use super::slack::STORED_MM;

/// The tolerance is for tapes: an anchor that is carried straight has none, in millimetres.
const CARRIED_MM: f64 = 0.0;

/// Legs whose tape goes on where that of the leg before ended.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Chain {
    /// Straight legs: the track of the anchor.
    Straight,
    /// Wheels to one side: the track of the outer corner, and the anchor carried along.
    Wheel(Hand),
}

/// Figures that are lifted, as lines see it.
#[derive(Debug, Clone, Copy)]
pub(super) struct Lifted {
    /// Number of the leg.
    pub(super) number: usize,
    pub(super) began: Footprint,
    pub(super) end: Footprint,
    /// Whether they are turned about the anchor, or set down anew before it.
    pub(super) anchor_stays: bool,
}

/// One unit's tape at lines.
#[derive(Debug, Clone)]
pub(super) struct Lines<'a> {
    /// Whether what is paid for stays so until the unit is clear of it; else each tape pays.
    first_base: bool,
    /// How far a line may be passed and come back over, and a crossing missed, in millimetres.
    tolerance_mm: f64,
    marks: Vec<Mark>,
    chain: Option<Chain>,
    /// Where the points were as the last leg of the chain ended.
    ends: [Option<Point>; 2],
    pub(super) reached: Vec<Reached<'a>>,
    /// Whether the tolerance has granted anything.
    pub(super) granted: bool,
}

impl<'a> Lines<'a> {
    /// The tape of a unit that has paid for these lines.
    pub(super) fn new(first_base: bool, tolerance_mm: f64, paid: &[usize]) -> Self {
        let paid = paid.iter().filter(|_| first_base);
        Self {
            first_base,
            tolerance_mm,
            marks: paid.map(|line| Mark::of(*line, true)).collect(),
            chain: None,
            ends: [None; 2],
            reached: Vec::new(),
            granted: false,
        }
    }

    /// Lines that are paid for, by their places in the ground's list.
    pub(super) fn paid(&self) -> Vec<usize> {
        let paid = self.marks.iter().filter(|mark| mark.is_paid());
        let mut paid: Vec<usize> = paid.map(|mark| mark.line).collect();
        paid.sort_unstable();
        paid
    }

    /// What lines have charged so far.
    pub(super) fn total_mm(&self) -> f64 {
        let charges = self.reached.iter().map(|line| line.charge_mm);
        charges.fold(0.0, |sum, charge_mm| sum + charge_mm)
    }

    /// From here on there is no tolerance: what has been passed is owed, whether or not it is come back over.
    pub(super) fn be_strict(&mut self, around: &Surroundings<'a>) {
        self.tolerance_mm = 0.0;
        self.settle(around, |settling, mark| {
            for point in Tracked::BOTH {
                settling.passed(mark, point);
            }
        });
    }

    /// The tape ends here, or is taken up elsewhere.
    pub(super) fn take_up(&mut self, around: &Surroundings<'a>) {
        self.settle(around, |settling, mark| settling.take_up(mark));
        self.chain = None;
        self.ends = [None; 2];
    }

    /// Follows a leg that sweeps.
    pub(super) fn sweep(&mut self, around: &Surroundings<'a>, chain: Chain, leg: &Swept<'_>) {
        if leg.length_mm <= 0.0 {
            return;
        }
        if self.chain != Some(chain) {
            self.take_up(around);
        }
        self.chain = Some(chain);
        for &(place, line) in around.lines.iter().filter(|(_, line)| line.charge_mm > 0.0) {
            self.sweep_by(around, (place, line), leg);
        }
        for (tracked, track) in leg.tracks() {
            self.ends[tracked as usize] = Some(track.end());
        }
    }

    fn sweep_by(
        &mut self,
        around: &Surroundings<'a>,
        (place, line): (usize, &'a GroundLine),
        leg: &Swept<'_>,
    ) {
        let known = self.marks.iter().position(|mark| mark.line == place);
        let mut beside = Beside::of(leg, line);
        if beside.contacts.is_empty() && known.is_none() {
            return;
        }
        if self.first_base {
            beside.find_clear(leg, line);
        }
        let mut mark =
            known.map_or_else(|| Mark::of(place, false), |at| self.marks.swap_remove(at));
        let wheels = self.is_of_wheels();
        Following {
            around,
            line,
            leg,
            beside: &beside,
            settling: Settling {
                line,
                first_base: self.first_base,
                wheels,
                reached: &mut self.reached,
                granted: &mut self.granted,
            },
            tolerance_mm: self.tolerance_mm,
            ends: self.ends,
        }
        .all(&mut mark);
        if mark.is_worth_keeping() {
            self.marks.push(mark);
        }
    }

    /// Follows figures that are lifted. The tape goes on where it ended if it ended at the anchor and that stays.
    pub(super) fn lift(&mut self, around: &Surroundings<'a>, leg: &Lifted) {
        if !(leg.anchor_stays && self.chain == Some(Chain::Straight)) {
            self.take_up(around);
        }
        if !leg.anchor_stays {
            for &(place, line) in around.lines.iter().filter(|(_, line)| line.charge_mm > 0.0) {
                self.carry_over(around, (place, line), leg);
            }
            self.settle(around, |settling, mark| settling.take_up(mark));
        }
        self.settle(around, |settling, mark| {
            if !is_near_line(&leg.end, &settling.line.course, STORED_MM) {
                mark.clear();
            }
        });
    }

    /// The anchor is carried straight from one place to another, perhaps onto a line or over it.
    fn carry_over(
        &mut self,
        around: &Surroundings<'a>,
        (place, line): (usize, &'a GroundLine),
        leg: &Lifted,
    ) {
        let way = Path::Straight {
            from: leg.began.anchor(),
            to: leg.end.anchor(),
        };
        let contacts = crossings(&way, &line.course);
        let Some((contact, from)) = passed_by(&contacts) else {
            return;
        };
        let known = self.marks.iter().position(|mark| mark.line == place);
        let mut mark =
            known.map_or_else(|| Mark::of(place, false), |at| self.marks.swap_remove(at));
        let spot = Spot {
            leg: leg.number,
            along_mm: 0.0,
        };
        let arrival = mark.arrival(around, line, (contact, from), (spot, 0.0), CARRIED_MM);
        Settling {
            line,
            first_base: self.first_base,
            wheels: false,
            reached: &mut self.reached,
            granted: &mut self.granted,
        }
        .pay(&mut mark, Tracked::Anchor, arrival);
        self.marks.push(mark);
    }

    fn is_of_wheels(&self) -> bool {
        matches!(self.chain, Some(Chain::Wheel(_)))
    }

    /// Does something with every mark of a line that is near.
    fn settle(
        &mut self,
        around: &Surroundings<'a>,
        act: impl Fn(&mut Settling<'a, '_>, &mut Mark),
    ) {
        let wheels = self.is_of_wheels();
        for mark in &mut self.marks {
            let line = around.lines.iter().find(|(place, _)| *place == mark.line);
            let Some(&(_, line)) = line else {
                continue;
            };
            let mut settling = Settling {
                line,
                first_base: self.first_base,
                wheels,
                reached: &mut self.reached,
                granted: &mut self.granted,
            };
            act(&mut settling, mark);
        }
        self.marks.retain(Mark::is_worth_keeping);
    }
}

/// The contact by which a straight way comes onto a line or to its other side, and the side it comes from.
fn passed_by(contacts: &[Contact]) -> Option<(&Contact, Side)> {
    let (first, last) = (contacts.first()?, contacts.last()?);
    let starts_on_and_leaves = contacts.len() > 1;
    let from = first
        .from_side
        .or(first.to_side.filter(|_| starts_on_and_leaves))?;
    let ends_on = last.near.to >= 1.0;
    let is_over = |to: Option<Side>| to.is_some_and(|to| to != from);
    if !ends_on && !is_over(last.to_side) {
        return None;
    }
    let over = contacts.iter().find(|contact| is_over(contact.to_side));
    Some((over.unwrap_or(last), from))
}

//! Remedies: the nearest legal alternatives to a refused move, each judged as the move itself was.
//!
//! Two kinds are looked for. *The furthest*: the ordered path cut at the last place where the move
//! may end. *One change*: one leg shorter, or with a smaller angle, or left out, or said *up to*,
//! all others kept. Figures are whole tenths of a millimetre or degree, as people read them, and every
//! order offered has been judged legal, not marginal, on the table as the refused one found it.
//!
//! Whether a leg of some amount is legal need not be monotone (a move may end beyond a friend and
//! before it, but not on it). So the search comes down a ladder of [`RUNGS`] amounts from what was
//! ordered to the first legal rung and then halves the gap to the rung above: what it finds is legal and a tenth
//! more is not, and no rung above is legal. A legal pocket narrower than a gap may be passed over.
//! What a limit refused stays refused: the leg on which it was reached is tried no farther than there, and legs
//! after it are not tried at all, but where a move's end or the whole of it decides.
//! One refused order costs at most [`MOST_WALKED`] legs judged, and one more for each remedy.

mod amount;
#[cfg(test)]
mod tests;

use std::rc::Rc;

use crate::game::{Game, Unit};
use crate::geometry::{Footprint, larger};
use crate::orders::Leg;
use crate::verdict::rounding::UNSEEN;
use crate::verdict::{
    Change, ChangedLeg, Code, LegLedger, MoveVerdict, PathPoint, Place, Remedy, Ruling,
    remedy_words,
};

use super::movement::{self, Movement, Surroundings, TurnStart};
use amount::{Amount, said_up_to};

/// Amounts tried between nothing and what was ordered before halving.
const RUNGS: u32 = 12;
/// Legs that may be judged for one refused order: some 240 judgments of an order of three.
const MOST_WALKED: usize = 1000;
/// Remedies that change one leg: how many are offered.
const MOST_CHANGES: usize = 3;

/// Which remedies are looked for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Sought {
    /// None.
    Nothing,
    /// The furthest on the ordered path alone, which takes a few judgments.
    Furthest,
    /// All.
    All,
}

/// Adds remedies to the first refused verdict of a move. The furthest place of each verdict becomes the end of the
/// furthest legal path that is offered; where none is, the place where it stands.
pub(super) fn offer(
    sought: Sought,
    game: &Game,
    turn: &TurnStart,
    movement: &Movement<'_>,
    verdicts: &mut [MoveVerdict],
) {
    let Some(refused) = verdicts
        .iter()
        .position(|verdict| verdict.verdict == Ruling::Refused)
        .filter(|_| sought != Sought::Nothing)
    else {
        return;
    };
    let mut search = Search {
        game,
        turn,
        movement,
        units: movement.units,
        around: Rc::new(Surroundings::of(game, movement)),
        ordered: verdicts.to_vec(),
        left: MOST_WALKED,
    };
    let cut = search.cut_short();
    for (index, verdict) in verdicts.iter_mut().enumerate() {
        verdict.furthest = match &cut {
            Some(found) => found.ends.get(index).copied().flatten(),
            None => verdict.start,
        };
    }
    let cut: Option<Remedy> = cut.map(|found| found.remedy);
    let mut changes = match sought {
        Sought::All => search.changes(),
        Sought::Furthest | Sought::Nothing => Vec::new(),
    };
    changes.retain(|found| cut.as_ref().is_none_or(|cut| cut.legs != found.legs));
    changes.truncate(MOST_CHANGES);
    verdicts[refused].remedies = cut.into_iter().chain(changes).collect();
}

/// Whether a limit must be kept at every instant of a leg, so that once broken it stays so however much more of
/// the leg is made. A lock is of a leg's end, and what a leg cannot be is of the whole of it.
fn holds_at_every_instant(code: Code) -> bool {
    matches!(
        code,
        Code::OverAllowance
            | Code::EnemyZone
            | Code::EnemyContact
            | Code::Impassable
            | Code::OffTable
            | Code::OutOfCommand
    )
}

/// A legal order found, with the end of every member.
struct Found {
    remedy: Remedy,
    ends: Vec<Option<Place>>,
}

struct Search<'a> {
    game: &'a Game,
    turn: &'a TurnStart,
    movement: &'a Movement<'a>,
    units: &'a [&'a Unit],
    /// What the move as ordered can come near, and so any that goes less far.
    around: Rc<Surroundings<'a>>,
    ordered: Vec<MoveVerdict>,
    /// Legs that may still be judged.
    left: usize,
}

impl Search<'_> {
    /// The verdicts on other legs, if all are legal.
    fn judged(&mut self, legs: &[Leg]) -> Option<Vec<MoveVerdict>> {
        if self.left > 0 && self.turn.interruption.is_due() {
            self.left = 0;
        }
        self.left = self.left.checked_sub(legs.len() + 1)?;
        let movement = Movement {
            legs,
            ..*self.movement
        };
        let around = Rc::clone(&self.around);
        movement::judge_if_legal(self.game, self.turn, &movement, around)
    }

    fn is_legal(&mut self, legs: &[Leg]) -> bool {
        self.judged(legs).is_some()
    }

    /// A leg as the order made it.
    fn made(&self, index: usize) -> Option<&LegLedger> {
        self.ordered.first()?.legs.get(index)
    }

    /// Leg and tape at which the first limit that refuses the move was reached.
    fn refused_at(&self) -> Option<(usize, f64)> {
        self.ordered
            .iter()
            .flat_map(|verdict| &verdict.reasons)
            .filter(|reason| reason.ruling() == Ruling::Refused)
            .filter_map(|reason| reason.place_on_path())
            .map(|at| (at.leg, at.along_mm))
            .reduce(|first, other| if other < first { other } else { first })
    }

    /// Where limits were broken that stay broken however the move goes on. A move ends on a friend only once all
    /// of it is made, and a minimum move is granted to the whole of it.
    fn broken_for_good(&self) -> impl Iterator<Item = (Code, &PathPoint)> {
        let grants_minimum = self.game.ruleset().movement.minimum_move.is_some();
        self.ordered
            .iter()
            .flat_map(|verdict| &verdict.reasons)
            .filter(|reason| reason.ruling() == Ruling::Refused)
            .filter(move |reason| match reason.code() {
                Code::EndsOnFriend => false,
                Code::OverAllowance => !grants_minimum,
                _ => true,
            })
            .filter_map(|reason| Some((reason.code(), reason.place_on_path()?)))
    }

    /// Whether a limit was broken before a leg, so that no less of that leg cures the move.
    fn is_refused_before(&self, index: usize) -> bool {
        self.broken_for_good().any(|(_, at)| at.leg < index)
    }

    /// The most of a leg that may be legal, in tenths: no more than there is, and no more than brings it to the
    /// first limit that it broke, or two tenths beyond, for that place is told rounded.
    fn ceiling(&self, index: usize, amount: Amount, most: u32) -> u32 {
        let leg = self.movement.legs[index];
        if !amount.is_told_by_tape(&leg, self.units) {
            return most;
        }
        self.broken_for_good()
            .filter(|(code, at)| at.leg == index && holds_at_every_instant(*code))
            .filter_map(|(_, at)| amount.tenths_of_tape(&leg, at.along_mm, self.units))
            .map(|tenths| tenths + 2)
            .fold(most, u32::min)
    }

    /// The ordered path cut at the furthest place where it may end.
    fn cut_short(&mut self) -> Option<Found> {
        let legs = self.movement.legs;
        let (refused, along_mm) = self
            .refused_at()
            .unwrap_or((legs.len().checked_sub(1)?, f64::INFINITY));
        for index in (0..=refused.min(legs.len().checked_sub(1)?)).rev() {
            let leg = legs[index];
            let before = &legs[..index];
            let with = |leg: Leg| [before, &[leg]].concat();
            if let Some(amount) = Amount::of_tape(&leg) {
                let guess = (index == refused)
                    .then(|| amount.tenths_of_tape(&leg, along_mm, self.units))
                    .flatten();
                let most = amount.most_tenths(&leg, self.made(index));
                let found = self.highest(
                    self.ceiling(index, amount, most),
                    guess,
                    |search, tenths| search.is_legal(&with(amount.set(&leg, tenths, most))),
                );
                if let Some(tenths) = found {
                    let cut = with(amount.set(&leg, tenths, most));
                    return self.found(Change::CutShort, index, Some(cut[index]), cut);
                }
            } else if index < refused && self.is_legal(&with(leg)) {
                return self.found(Change::CutShort, index, Some(leg), with(leg));
            }
        }
        None
    }

    /// Changes of one leg that make the whole order legal, the best of each leg, nearest first.
    fn changes(&mut self) -> Vec<Remedy> {
        let legs = self.movement.legs;
        let refused = self.refused_at().map_or(0, |(leg, _)| leg);
        let mut order: Vec<usize> = (0..legs.len()).collect();
        // the leg that was refused first, then those that led to it, then the rest
        order.sort_by_key(|index| (*index > refused, index.abs_diff(refused)));
        let mut best = Vec::new();
        for index in order {
            let mut found: Vec<Remedy> = self.shorter(index);
            found.extend(self.other_block(index));
            if found.is_empty() && !self.is_refused_before(index) {
                found.extend(self.left_out(index));
            }
            if index == refused {
                best.extend(self.up_to(index));
            }
            sort_nearest_first(&mut found);
            best.extend(found.into_iter().next());
        }
        sort_nearest_first(&mut best);
        best
    }

    /// A leg with its length or its angle taken down as little as will do.
    fn shorter(&mut self, index: usize) -> Vec<Remedy> {
        let leg = self.movement.legs[index];
        if self.is_refused_before(index) {
            return Vec::new();
        }
        let mut found = Vec::new();
        for amount in Amount::all_of(&leg) {
            let guess = self
                .refused_at()
                .filter(|(refused, _)| *refused == index)
                .and_then(|(_, along_mm)| amount.tenths_of_tape(&leg, along_mm, self.units));
            let most = amount.most_tenths(&leg, self.made(index));
            let tenths = self.highest(
                self.ceiling(index, *amount, most),
                guess,
                |search, tenths| {
                    let legs = search.with(index, amount.set(&leg, tenths, most));
                    search.is_legal(&legs)
                },
            );
            if let Some(tenths) = tenths {
                let instead = amount.set(&leg, tenths, most);
                let legs = self.with(index, instead);
                let change = match (amount, leg) {
                    (Amount::Extent, Leg::Wheel { .. }) | (Amount::Angle, _) => {
                        Change::SmallerAngle
                    }
                    (Amount::Extent, _) => Change::Shorter,
                };
                found.extend(self.found(change, index, Some(instead), legs));
            }
        }
        found.into_iter().map(|found| found.remedy).collect()
    }

    fn left_out(&mut self, index: usize) -> Option<Remedy> {
        let mut legs = self.movement.legs.to_vec();
        legs.remove(index);
        if legs.is_empty() {
            return None;
        }
        Some(self.found(Change::LeftOut, index, None, legs)?.remedy)
    }

    fn up_to(&mut self, index: usize) -> Option<Remedy> {
        let leg = self.movement.legs.get(index)?;
        let instead = said_up_to(leg)?;
        let legs = self.with(index, instead);
        Some(self.found(Change::UpTo, index, Some(instead), legs)?.remedy)
    }

    /// The same files with the ranks that the bases need.
    fn other_block(&mut self, index: usize) -> Option<Remedy> {
        let Leg::Reform { files, ranks } = self.movement.legs[index] else {
            return None;
        };
        let needed = crate::game::ranks_of(self.units.first()?.bases, files);
        if needed == ranks || files == 0 {
            return None;
        }
        let instead = Leg::Reform {
            files,
            ranks: needed,
        };
        let legs = self.with(index, instead);
        Some(
            self.found(Change::OtherBlock, index, Some(instead), legs)?
                .remedy,
        )
    }

    fn with(&self, index: usize, instead: Leg) -> Vec<Leg> {
        let mut legs = self.movement.legs.to_vec();
        legs[index] = instead;
        legs
    }

    /// A remedy of these legs, if they are legal.
    fn found(
        &mut self,
        change: Change,
        leg: usize,
        instead: Option<Leg>,
        legs: Vec<Leg>,
    ) -> Option<Found> {
        // the last word on an order is never left to the budget of the search
        self.left = self.left.max(legs.len() + 1);
        let verdicts = self.judged(&legs)?;
        let ledger = verdicts[0].legs.get(leg);
        let stopped = ledger.and_then(|made| Some((made.tape_mm, made.stopped_by.as_deref()?)));
        // who would stop where it stands is offered nothing
        if change == Change::UpTo && ledger.is_none_or(|made| made.tape_mm < UNSEEN) {
            return None;
        }
        let words = remedy_words(&ChangedLeg {
            change,
            ordered: self.movement.legs,
            leg,
            instead,
            stopped,
        });
        Some(Found {
            remedy: Remedy {
                change,
                leg,
                off_mm: self.off_mm(&verdicts),
                end: verdicts[0].end?,
                legs,
                words,
            },
            ends: verdicts.iter().map(|verdict| verdict.end).collect(),
        })
    }

    /// How far the corner that is moved most ends from where the order put it.
    fn off_mm(&self, verdicts: &[MoveVerdict]) -> f64 {
        let mut most_mm = 0.0;
        for ((unit, ordered), found) in self.units.iter().zip(&self.ordered).zip(verdicts) {
            let (Some(ordered), Some(found)) = (corners(unit, ordered), corners(unit, found))
            else {
                continue;
            };
            for (one, other) in ordered.iter().zip(found) {
                most_mm = larger(most_mm, one.distance_to(other));
            }
        }
        most_mm
    }

    /// The highest number of tenths up to `most` that is legal, by the ladder described above.
    /// `guess` is tried first and, when legal, only what is above it.
    fn highest(
        &mut self,
        most: u32,
        guess: Option<u32>,
        mut is_legal: impl FnMut(&mut Self, u32) -> bool,
    ) -> Option<u32> {
        let mut above = most.checked_add(1)?;
        if let Some(guess) = guess.filter(|guess| (1..above).contains(guess))
            && is_legal(self, guess)
        {
            return Some(self.climb(guess, above, is_legal));
        }
        for rung in (1..=RUNGS).rev().map(|rung| rungs_amount(most, rung)) {
            if rung == 0 || rung >= above {
                continue;
            }
            if is_legal(self, rung) {
                return Some(self.halve(rung, above, is_legal));
            }
            above = rung;
        }
        (above > 1 && is_legal(self, 1)).then(|| self.halve(1, above, is_legal))
    }

    /// Climbs from a legal amount in growing steps, for a guess that is nearly right.
    fn climb(
        &mut self,
        mut legal: u32,
        mut above: u32,
        mut is_legal: impl FnMut(&mut Self, u32) -> bool,
    ) -> u32 {
        let mut step = 1;
        while step < above - legal {
            if is_legal(self, legal + step) {
                legal += step;
                step *= 4;
            } else {
                above = legal + step;
            }
        }
        self.halve(legal, above, is_legal)
    }

    /// Halves the gap between a legal amount and one above it that is not.
    fn halve(
        &mut self,
        mut legal: u32,
        mut above: u32,
        mut is_legal: impl FnMut(&mut Self, u32) -> bool,
    ) -> u32 {
        while above - legal > 1 {
            let middle = legal.midpoint(above);
            if is_legal(self, middle) {
                legal = middle;
            } else {
                above = middle;
            }
        }
        legal
    }
}

fn rungs_amount(most: u32, rung: u32) -> u32 {
    let tenths = u64::from(most) * u64::from(rung) / u64::from(RUNGS);
    u32::try_from(tenths).unwrap_or(most)
}

fn sort_nearest_first(remedies: &mut [Remedy]) {
    remedies.sort_by(|a, b| {
        a.off_mm
            .total_cmp(&b.off_mm)
            .then_with(|| a.leg.cmp(&b.leg))
            .then_with(|| a.change.cmp(&b.change))
    });
}

fn corners(unit: &Unit, verdict: &MoveVerdict) -> Option<[crate::geometry::Point; 4]> {
    let pose = verdict.end_pose?;
    let mut after = unit.clone();
    after.files = verdict.files;
    Some(Footprint::new(&pose.placement(), after.block()).corners())
}

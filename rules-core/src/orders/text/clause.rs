//! What was said of one leg, before it is known what that means.

use std::ops::Range;

use super::aim::Goal;
use super::measure::Measure;
use super::words::Sense;
use crate::orders::Hand;

/// All that was said of one leg.
#[derive(Debug, Clone, Default)]
pub(super) struct Clause {
    pub sense: Option<Sense>,
    pub side: Option<Hand>,
    /// `half right`, `quarter turn`: this share of a right angle.
    pub share: Option<Share>,
    pub measures: Vec<Measure>,
    pub up_to: bool,
    pub as_far: bool,
    /// It should hurry, which says nothing of how far.
    pub haste: bool,
    pub goal: Option<Goal>,
    /// Whether the goal hangs on a word that could be a turn: `face B4`.
    pub goal_of_turn: bool,
    /// Bases abreast, and deep where that was said.
    pub block: Option<(Option<u16>, Option<u16>)>,
    /// A formation by name.
    pub formation: Option<Range<usize>>,
    /// Several units make it as one body.
    pub together: bool,
    /// Whether a comma or a word such as `then` stands before it.
    pub parted: bool,
    pub span: Range<usize>,
    /// Where a part is missing, if one is.
    pub end: Range<usize>,
}

/// A share of a right angle, by its name.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Share {
    /// 45°, as in `half right`.
    Half,
    /// A quarter of the circle.
    Quarter,
}

impl Clause {
    /// Whether nothing was said.
    pub fn is_empty(&self) -> bool {
        self.sense.is_none() && self.says_no_more() && self.side.is_none()
    }

    /// Whether nothing but a word and a side was said.
    pub fn says_no_more(&self) -> bool {
        self.share.is_none()
            && self.measures.is_empty()
            && !self.as_far
            && !self.up_to
            && !self.haste
            && self.goal.is_none()
            && self.block.is_none()
            && self.formation.is_none()
    }

    /// Whether it says how far.
    pub fn has_extent(&self) -> bool {
        self.as_far || self.haste || self.goal.is_some() || self.share.is_some()
    }

    /// What the leg still needs to be made, if anything.
    pub fn missing(&self) -> Option<&'static str> {
        let lengths = self.measures.len();
        match self.sense? {
            Sense::Go | Sense::Step if self.side.is_some() => None,
            Sense::Turn if self.is_half_round() => None,
            Sense::Forward | Sense::Back | Sense::Go if lengths == 0 && !self.has_extent() => {
                Some("a distance")
            }
            Sense::Sidestep | Sense::Step if lengths == 0 && !self.has_extent() => {
                Some("a distance")
            }
            Sense::Oblique if lengths == 0 => Some("an angle"),
            Sense::Oblique if lengths == 1 && !self.as_far && self.share.is_none() => {
                (!self.measures[0].is_length()).then_some("a distance")
            }
            Sense::Wheel | Sense::Align if lengths == 0 && !self.has_extent() => Some("an angle"),
            Sense::Sidestep | Sense::Oblique | Sense::Wheel | Sense::Turn | Sense::Align
                if self.side.is_none() && self.goal.is_none() =>
            {
                Some("left or right")
            }
            _ => None,
        }
    }

    /// Whether a turn is by half of the circle, to whatever side.
    fn is_half_round(&self) -> bool {
        let [measure] = &self.measures[..] else {
            return false;
        };
        measure.amount == 180.0 && !measure.is_length()
    }

    /// Whether what comes after a comma could still belong to it: `80 mm on the oblique, 30° to the right`.
    pub fn is_open(&self) -> bool {
        let parts =
            self.measures.len() + usize::from(self.as_far) + usize::from(self.share.is_some());
        let open_oblique = self.sense == Some(Sense::Oblique) && (parts < 2 || self.side.is_none());
        open_oblique || self.missing().is_some()
    }

    /// Takes in what another clause says, which names no movement of its own.
    pub fn take_in(&mut self, other: Self) {
        self.side = self.side.or(other.side);
        self.share = self.share.or(other.share);
        self.measures.extend(other.measures);
        self.up_to |= other.up_to;
        self.as_far |= other.as_far;
        self.haste |= other.haste;
        self.together |= other.together;
        self.goal = self.goal.take().or(other.goal);
        self.span.end = self.span.end.max(other.span.end);
        self.end = other.end;
    }
}

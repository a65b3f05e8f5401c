//! The tapes of a body: each of its units lays one of its own, and the dearest is charged. So units that move together
//! pay for the ground that they go over, not for that between them.

use crate::geometry::{Motion, Path};

use super::body::Member;
use super::charges::Charges;
use super::sweep::Sweep;
use super::walk::Walk;

/// The tape of one member for one leg, and what it costs.
pub(super) struct Tape<'a> {
    pub(super) member: usize,
    pub(super) sweep: Sweep,
    pub(super) charges: Charges<'a>,
}

impl<'a> Walk<'a> {
    /// The tapes of all members for a leg of the body; that of one unit alone is the leg's.
    pub(super) fn tapes(&self, leg: &Sweep) -> Vec<Tape<'a>> {
        let members = &self.body.members;
        let tape_of = |(number, member): (usize, &Member)| {
            let sweep = match members.len() {
                1 => *leg,
                _ => own(member, leg),
            };
            Tape {
                member: number,
                charges: self.charges_from(number, &member.footprint(), &sweep),
                sweep,
            }
        };
        members.iter().enumerate().map(tape_of).collect()
    }

    /// How far a leg goes before the allowance is used up along some member's tape, when it does not last to the end: the
    /// share of the leg, and millimetres of that tape.
    pub(super) fn lasts_to(&self, tapes: &[Tape<'_>]) -> Option<(f64, f64)> {
        let ends = tapes.iter().filter_map(|tape| {
            let to_mm = self.charges_last_to_mm(&tape.charges, &tape.sweep)?;
            Some((to_mm / tape.sweep.tape.length_mm(), to_mm))
        });
        ends.reduce(|first, other| if other.0 < first.0 { other } else { first })
    }
}

/// The dearest tape; of equals the first.
pub(super) fn dearest(tapes: Vec<Tape<'_>>) -> Option<Tape<'_>> {
    tapes.into_iter().reduce(|dearest, other| {
        if other.charges.total_mm() > dearest.charges.total_mm() {
            other
        } else {
            dearest
        }
    })
}

/// A leg of a body along one member's own tape: the track of its anchor, or of its front corner farther from what it
/// turns about.
fn own(member: &Member, leg: &Sweep) -> Sweep {
    let footprint = member.footprint();
    let tape = match leg.motion {
        Motion::Straight { by } => Path::Straight {
            from: footprint.anchor(),
            to: footprint.anchor() + by,
        },
        Motion::Turn {
            pivot,
            clockwise_rad,
        } => {
            let (left, right) = (footprint.front_left(), footprint.front_right());
            let left_is_farther = left.distance_to(pivot) > right.distance_to(pivot);
            Path::Arc {
                centre: pivot,
                from: if left_is_farther { left } else { right },
                clockwise_rad,
            }
        }
    };
    Sweep { tape, ..*leg }
}

//! The tapes of a body: each of its units lays one of its own. So units that move together pay for the ground that they go
//! over, not for that between them.

use crate::geometry::{EPS_MM, Motion, Path};
use crate::orders::Hand;

use super::body::Member;
use super::lines::Chain;
use super::sweep::Sweep;
use super::tally::Laid;

/// A leg of a body along one member's own tape: the track of its anchor, or of its front corner farther from what it turns
/// about; of two as far the outer one of a unit that wheels by itself.
pub(super) fn own(number: usize, member: &Member, leg: &Sweep) -> Laid {
    let moving = member.footprint();
    let (chain, tape) = match leg.motion {
        Motion::Straight { by } => {
            let from = moving.anchor();
            let tape = Path::Straight {
                from,
                to: from + by,
            };
            (Chain::Straight, tape)
        }
        Motion::Turn {
            pivot,
            clockwise_rad,
        } => {
            let hand = if clockwise_rad < 0.0 {
                Hand::Left
            } else {
                Hand::Right
            };
            let (left, right) = (moving.front_left(), moving.front_right());
            let (outer, inner) = match hand {
                Hand::Left => (right, left),
                Hand::Right => (left, right),
            };
            let is_inner_farther = inner.distance_to(pivot) > outer.distance_to(pivot) + EPS_MM;
            let tape = Path::Arc {
                centre: pivot,
                from: if is_inner_farther { inner } else { outer },
                clockwise_rad,
            };
            (Chain::Wheel(hand), tape)
        }
    };
    Laid {
        number,
        chain,
        moving,
        motion: leg.motion,
        tape,
        rate: leg.rate,
    }
}

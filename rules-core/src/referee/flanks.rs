//! Optional law: attacks on flank and rear, judged by where the attacker's front edge stands.

use crate::game::Game;
use crate::geometry::{EPS_MM, Footprint, separation};
use crate::ruleset::Flanks;

use super::support::Body;
use super::zones::strike_zone_mm;

/// From where an attack comes, seen from the one attacked.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub(crate) enum Aspect {
    /// From within the front arc.
    Front,
    /// From outside it.
    Flank,
    /// From wholly behind the line of the rear edge.
    Rear,
}

/// From where an attacker comes. The front arc opens at each front corner by `front_arc`
/// outward of straight ahead, its edge included; the attacker's place is its front edge's
/// midpoint. Behind is when both of its front corners are behind the line of the rear edge.
pub(crate) fn aspect(flanks: &Flanks, attacker: &Footprint, defender: &Footprint) -> Aspect {
    let behind = |corner| defender.local(corner).1 < -defender.half_depth - EPS_MM;
    if behind(attacker.front_left()) && behind(attacker.front_right()) {
        return Aspect::Rear;
    }
    let (right, ahead) = defender.local(attacker.anchor());
    let beyond = right.abs() - defender.half_frontage;
    let forward = ahead - defender.half_depth;
    if beyond <= EPS_MM && forward >= -EPS_MM {
        return Aspect::Front;
    }
    // An angle times its distance is how far off the arc's edge it is.
    let arm = (beyond * beyond + forward * forward).sqrt();
    let over = libm::atan2(beyond, forward) - flanks.front_arc.to_radians();
    if beyond > 0.0 && over * arm <= EPS_MM {
        Aspect::Front
    } else {
        Aspect::Flank
    }
}

/// The best of the attackers' places, in words and columns; `None` when all are in front or the
/// ruleset has no such law. Only attackers count that have the one attacked in their own strike
/// zone; guns that fire alone count from any range.
pub(crate) fn shift(
    game: &Game,
    attackers: &[Body<'_>],
    defenders: &[Body<'_>],
    from_afar: bool,
) -> Option<(String, i32)> {
    let flanks = game.ruleset().flanks.as_ref()?;
    let limit = strike_zone_mm(game.ruleset()) + game.ruleset().scale.tolerance_mm;
    let mut best: Option<(String, i32)> = None;
    for (defender, ground) in defenders.iter().filter(|(unit, _)| unit.has_strength()) {
        for (attacker, place) in attackers {
            if !from_afar && separation(place, ground).distance_mm > limit {
                continue;
            }
            let (where_from, columns) = match aspect(flanks, place, ground) {
                Aspect::Front => continue,
                Aspect::Flank => ("flank", flanks.flank_shift),
                Aspect::Rear => ("rear", flanks.rear_shift),
            };
            if best.as_ref().is_none_or(|(_, most)| columns > *most) {
                let why = format!("{} on the {where_from} of {}", attacker.id, defender.id);
                best = Some((why, columns));
            }
        }
    }
    best
}

//! Falling back (laws of measurement, §8): which way, how far, and who makes room.

use crate::game::{Game, Push};
use crate::geometry::{Footprint, Pose, Vector, separation};
use crate::orders::{Hand, UnitId};

use super::pushing::{Ranks, Shove, is_on_table};

/// Directions off straight away are tried in steps of half a degree: 0.7 mm at two base widths of 40 mm,
/// about what the tolerance is.
const STEP_DEG: f64 = 0.5;
/// The first open one is then narrowed down to this: what storing can do over a way of 300 mm. Changes of
/// direction that differ by no more are equal.
const FINE_DEG: f64 = 0.001;
/// A sum of unit vectors shorter than this points nowhere (laws of measurement, §8).
const NOWHERE: f64 = 0.1;
/// Who goes this much backward at most, as a share of the way, goes exactly sideways: the sum of a few unit
/// vectors is exact to 1e-15, and a bearing is stored to 2e-8.
const SIDEWAYS: f64 = 1e-9;

/// What becomes of a unit that has to fall back.
#[derive(Debug, Clone, PartialEq)]
pub(crate) enum Retreat {
    /// It goes.
    Goes {
        /// Where it stood.
        from: Pose,
        /// Where it ends.
        to: Pose,
        /// Degrees off straight away, clockwise positive.
        turned_deg: f64,
        /// Friends it pushed.
        pushed: Vec<Push>,
        /// Whether that is wholly or partly off the table.
        off_table: bool,
    },
    /// Enemies on all sides.
    Surrounded,
    /// Every direction is blocked.
    NoWayOpen,
}

/// The way away from some opponents: the sum of the unit vectors from the nearest place of each
/// to the loser's nearest place, an edge's normal where they touch or face in parallel. `None`
/// when it is shorter than a tenth: surrounded.
pub(crate) fn away(loser: &Footprint, opponents: &[Footprint]) -> Option<Vector> {
    let mut sum = Vector::ZERO;
    for opponent in opponents {
        sum = sum + separation(opponent, loser).normal;
    }
    if sum.length() < NOWHERE {
        None
    } else {
        sum.unit()
    }
}

/// Sends a unit back from its opponents. `None` when it is not on the table.
pub(crate) fn retreat(
    game: &Game,
    unit: &UnitId,
    opponents: &[Footprint],
    distance_mm: f64,
    first_side: Option<Hand>,
) -> Option<Retreat> {
    let from = game.unit(unit)?.pose()?;
    let mut ranks = Ranks::of(game, unit)?;
    let Some(away) = away(ranks.loser(), opponents) else {
        return Some(Retreat::Surrounded);
    };
    let block = game.unit(unit)?.block();
    let first = clockwise_first(ranks.facing(), away, first_side.unwrap_or(Hand::Right));
    let found = first_open(
        &mut ranks,
        away,
        distance_mm,
        first,
        game.ruleset().falling_back.fan,
    );
    Some(match found {
        None => Retreat::NoWayOpen,
        Some((turned_deg, shove)) => Retreat::Goes {
            from,
            to: shove.to,
            turned_deg,
            pushed: shove.pushed,
            off_table: !is_on_table(game, &Footprint::new(&shove.to.placement(), block)),
        },
    })
}

/// Whether turning off the way away towards a side of the unit is clockwise (1) or not (−1).
/// The sides are those of the unit as it faces: one that goes straight back and prefers its
/// right turns counter-clockwise off its way. Who goes exactly sideways takes its left and right along
/// the way.
fn clockwise_first(facing: Vector, away: Vector, side: Hand) -> f64 {
    if facing.dot(away) < -SIDEWAYS {
        -side.sign()
    } else {
        side.sign()
    }
}

/// The open direction with the smallest change from straight away, the preferred side first:
/// straight, then either side in steps, the first open step narrowed down between it and the
/// blocked step before.
fn first_open(
    ranks: &mut Ranks<'_>,
    away: Vector,
    distance_mm: f64,
    first: f64,
    fan_deg: f64,
) -> Option<(f64, Shove)> {
    let mut go = |deg: f64| ranks.shove(away.turned(deg.to_radians()), distance_mm);
    if let Some(shove) = go(0.0) {
        return Some((0.0, shove));
    }
    let mut blocked_deg = 0.0;
    while blocked_deg < fan_deg {
        let next = blocked_deg + STEP_DEG;
        let step = if next > fan_deg { fan_deg } else { next };
        let preferred = narrowed(&mut go, first, blocked_deg, step);
        let other = narrowed(&mut go, -first, blocked_deg, step);
        match (preferred, other) {
            (Some(preferred), Some(other)) => {
                let is_nearer = other.0.abs() + FINE_DEG < preferred.0.abs();
                return Some(if is_nearer { other } else { preferred });
            }
            (Some(found), None) | (None, Some(found)) => return Some(found),
            (None, None) => blocked_deg = step,
        }
    }
    None
}

/// The smallest open turn between a blocked one and an open one, by halving.
fn narrowed(
    go: &mut impl FnMut(f64) -> Option<Shove>,
    sign: f64,
    blocked_deg: f64,
    step_deg: f64,
) -> Option<(f64, Shove)> {
    let mut open = (step_deg, go(sign * step_deg)?);
    let mut blocked = blocked_deg;
    while open.0 - blocked > FINE_DEG {
        let middle = f64::midpoint(blocked, open.0);
        match go(sign * middle) {
            Some(shove) => open = (middle, shove),
            None => blocked = middle,
        }
    }
    Some((sign * open.0, open.1))
}

//! Support: who stands behind whom, and how many bases count behind one another.

use crate::game::{Game, Unit};
use crate::geometry::{Footprint, TOUCH_MM, larger, signed_distance_mm, smaller};
use crate::orders::UnitId;
use crate::verdict::rounding::tenths;

/// Cosine of 45°, the widest angle between the facings of a unit and one that supports it; a
/// billionth of arithmetic less, so that 45° itself is within. (A micro-degree is 12 times that.)
const SAME_WAY: f64 = std::f64::consts::FRAC_1_SQRT_2 - 1e-9;

/// A unit with the ground it covers.
pub(crate) type Body<'a> = (&'a Unit, Footprint);

/// Whether a block stands behind another: it touches it, has its front edge's middle behind the line of the
/// other's rear edge, faces the same way within 45°, and has at least half of its own front edge, measured
/// along that edge, behind the other's rear edge. All three lengths within the tolerance.
pub(crate) fn stands_behind(rear: &Footprint, front: &Footprint, tolerance_mm: f64) -> bool {
    let slack = tolerance_mm + TOUCH_MM;
    if rear.is_farther_than(front, slack) || rear.ahead.dot(front.ahead) < SAME_WAY {
        return false;
    }
    let across = |place| front.local(place).0;
    let (left, right) = (across(rear.front_left()), across(rear.front_right()));
    front.local(rear.anchor()).1 <= slack - front.half_depth
        && signed_distance_mm(rear, front).abs() <= slack
        && front_behind_mm(left, right, rear, front) + slack >= rear.half_frontage
}

/// How much of its own front edge a block has behind another, whose axes its corners are given in: left
/// and right of the other's middle.
fn front_behind_mm(left: f64, right: f64, rear: &Footprint, front: &Footprint) -> f64 {
    let half = front.half_frontage;
    // within 45° the edge runs from left to right
    let share = |place: f64| larger(smaller((place - left) / (right - left), 1.0), 0.0);
    (share(half) - share(-half)) * rear.half_frontage * 2.0
}

/// How far from supporting a block still seems meant to support, in millimetres.
const NEARLY_MM: f64 = 10.0;

/// Why a unit that seems meant to stand behind another does not: in words with the figure and what it must keep. `None` where it
/// does, or is not nearly there.
pub(crate) fn nearly_behind(
    rear: &Footprint,
    (front, of): (&Unit, &Footprint),
    tolerance_mm: f64,
) -> Option<String> {
    if stands_behind(rear, of, tolerance_mm) || !stands_behind(rear, of, NEARLY_MM) {
        return None;
    }
    let slack = tolerance_mm + TOUCH_MM;
    let front = &front.id;
    let apart_mm = signed_distance_mm(rear, of);
    if apart_mm > slack {
        return Some(format!(
            "it stands {} mm behind {front}, and supports it only where it touches it",
            tenths(apart_mm)
        ));
    }
    let across = |place| of.local(place).0;
    let (left, right) = (across(rear.front_left()), across(rear.front_right()));
    let shared_mm = front_behind_mm(left, right, rear, of);
    if left < right && shared_mm + slack < rear.half_frontage {
        return Some(format!(
            "{} mm of its front edge are behind {front}, and supporting it takes half, {} mm",
            tenths(shared_mm),
            tenths(rear.half_frontage)
        ));
    }
    Some(format!(
        "it overlaps {front} and is not behind its rear edge"
    ))
}

/// For each unit of a party, how many of its bases count: at most `depth` ranks behind one
/// another on one frontage, taken from the front. A unit that stands behind two counts behind
/// the shallower. Units without strength neither count nor are in the way.
pub(crate) fn counted_bases(party: &[Body<'_>], depth: u32, tolerance_mm: f64) -> Vec<u32> {
    (0..party.len())
        .map(|index| {
            let unit = party[index].0;
            let before = ranks_before(party, index, tolerance_mm, party.len());
            let ranks = depth.saturating_sub(before);
            let most = ranks.saturating_mul(u32::from(unit.files));
            if unit.has_strength() {
                u32::from(unit.bases).min(most)
            } else {
                0
            }
        })
        .collect()
}

/// Ranks of the party that stand before a unit on its frontage. `steps` bounds the chain, which
/// blocks thinner than the tolerance could otherwise close to a ring.
fn ranks_before(party: &[Body<'_>], index: usize, tolerance_mm: f64, steps: usize) -> u32 {
    if steps == 0 {
        return 0;
    }
    fronts_of(party, index, tolerance_mm)
        .map(|front| {
            u32::from(party[front].0.ranks()).saturating_add(ranks_before(
                party,
                front,
                tolerance_mm,
                steps - 1,
            ))
        })
        .min()
        .unwrap_or(0)
}

/// Places in the party of the units that one stands directly behind.
pub(crate) fn fronts_of<'a>(
    party: &'a [Body<'a>],
    index: usize,
    tolerance_mm: f64,
) -> impl Iterator<Item = usize> + 'a {
    let (unit, rear) = &party[index];
    (0..party.len()).filter(move |&other| {
        let (front, footprint) = &party[other];
        other != index
            && front.side == unit.side
            && front.has_strength()
            && stands_behind(rear, footprint, tolerance_mm)
    })
}

/// The units on the table behind the given ones, and behind those in turn, that add bases to
/// them within the depth. `is_free` says which may join.
pub(crate) fn stack_behind(
    game: &Game,
    fronts: &[UnitId],
    is_free: impl Fn(&UnitId) -> bool,
) -> Vec<UnitId> {
    let ruleset = game.ruleset();
    if !ruleset.attacks.support {
        return Vec::new();
    }
    let tolerance_mm = ruleset.scale.tolerance_mm;
    let mut party = bodies(game, fronts);
    let given = party.len();
    let Some(side) = party.first().map(|(unit, _)| unit.side) else {
        return Vec::new();
    };
    let free: Vec<Body<'_>> = game
        .on_table()
        .filter(|unit| unit.side == side && unit.has_strength())
        .filter(|unit| !fronts.contains(&unit.id) && is_free(&unit.id))
        .filter_map(|unit| Some((unit, unit.footprint()?)))
        .collect();
    let mut next = 0;
    while next < party.len() {
        let (front, footprint) = party[next];
        next += 1;
        if !front.has_strength() {
            continue;
        }
        for &(unit, rear) in &free {
            let is_new = party.iter().all(|(known, _)| known.id != unit.id);
            if is_new && stands_behind(&rear, &footprint, tolerance_mm) {
                party.push((unit, rear));
                let last = party.len() - 1;
                let before = ranks_before(&party, last, tolerance_mm, party.len());
                if before >= ruleset.attacks.depth {
                    party.pop();
                }
            }
        }
    }
    party[given..]
        .iter()
        .map(|(unit, _)| unit.id.clone())
        .collect()
}

/// The units of a list that stand on the table, with their ground, in its order.
pub(crate) fn bodies<'a>(game: &'a Game, ids: &[UnitId]) -> Vec<Body<'a>> {
    ids.iter()
        .filter_map(|id| game.unit(id))
        .filter_map(|unit| Some((unit, unit.footprint()?)))
        .collect()
}

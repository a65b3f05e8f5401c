//! Who stands behind whom, and how many bases count on one frontage.

use crate::plane::{distance, overlap};
use crate::table::{Table, Unit};

/// Whether one unit stands behind another of its side: it touches the other's rear edge, behind that
/// edge's line, and at least half of its own front lies behind it, measured along its own front.
pub fn stands_behind(table: &Table, unit: &Unit, other: &Unit) -> bool {
    let tolerance = table.tolerance_mm + 1e-6;
    let (own, front) = (unit.rect, other.rect);
    if unit.side != other.side || unit.is_commander() || other.is_commander() {
        return false;
    }
    let same_facing = own.ahead.dot(front.ahead) >= (45f64).to_radians().cos() - 1e-9;
    let touches = distance(&own, &front) <= tolerance && overlap(&own, &front) <= tolerance;
    let behind = |point| {
        let (_, ahead) = front.local(point);
        -front.deep / 2.0 - ahead
    };
    if !same_facing || !touches || behind(own.anchor) < -tolerance {
        return false;
    }
    // the stretch of its own front edge whose points lie within the other's frontage
    let (left, right) = (own.front_left(), own.front_right());
    let (from, to) = (front.local(left).0, front.local(right).0);
    let half = front.wide / 2.0;
    let share = |at: f64| ((at - from) / (to - from)).clamp(0.0, 1.0);
    let behind_mm = (share(half) - share(-half)).abs() * own.wide;
    behind_mm >= own.wide / 2.0 - tolerance
}

/// Ranks of bases already on each unit's frontage before it, among the units of one side of a battle.
pub fn ranks_before(table: &Table, units: &[usize]) -> Vec<u16> {
    let mut before = vec![0u16; units.len()];
    // a stack is no deeper than there are units
    for _ in 0..units.len() {
        for i in 0..units.len() {
            let unit = &table.units[units[i]];
            let fronts = (0..units.len())
                .filter(|&j| j != i && stands_behind(table, unit, &table.units[units[j]]));
            let least = fronts
                .map(|j| before[j] + table.units[units[j]].ranks())
                .min();
            before[i] = least.unwrap_or(0);
        }
    }
    before
}

/// Strength of the bases that count behind so many ranks.
pub fn counted(table: &Table, unit: &Unit, before: u16) -> f64 {
    let depth = u16::try_from(table.rules.attacks.depth).unwrap();
    let ranks = unit.ranks().min(depth.saturating_sub(before));
    let full = u32::from(ranks) * u32::from(unit.files);
    f64::from(full.min(u32::from(unit.bases))) * unit.strength_per_base
}

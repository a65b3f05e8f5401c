//! Depth in a halt zone, all round and ahead only.

use fieldpost_rules::ruleset::ZoneFront;

use crate::plane::{Point, Rect, distance, point_to_rect, segment_to_segment};
use crate::table::Table;

/// How deep a footprint stands in the zone of an enemy; negative outside.
pub fn depth(table: &Table, rect: &Rect, enemy: &Rect) -> f64 {
    match table.rules.zones.zone_front {
        ZoneFront::AllRound => table.halt_mm - distance(rect, enemy),
        ZoneFront::Ahead => {
            let (part, reach) = ahead(rect, enemy);
            // where nothing is ahead, in any case by how far it is beyond the zone's size
            let apart = if reach < 0.0 {
                distance(rect, enemy)
            } else {
                part_to_rect(&part, enemy)
            };
            (table.halt_mm - apart).min(reach)
        }
    }
}

/// How far a footprint is from an enemy as its zone is measured; endless where nothing counts.
pub fn nearness(table: &Table, rect: &Rect, enemy: &Rect) -> f64 {
    match table.rules.zones.zone_front {
        ZoneFront::AllRound => distance(rect, enemy),
        ZoneFront::Ahead => {
            let (part, reach) = ahead(rect, enemy);
            if reach < crate::table::IN_ZONE_MM {
                1e9
            } else {
                part_to_rect(&part, enemy)
            }
        }
    }
}

/// The part of a footprint ahead of an enemy's front line, and how far it reaches ahead. Where nothing
/// is ahead, the foremost part alone, and by how much it lies behind.
fn ahead(rect: &Rect, enemy: &Rect) -> (Vec<Point>, f64) {
    let corners = rect.corners();
    let forward = |point: Point| (point - enemy.anchor).dot(enemy.ahead);
    let reach = corners
        .iter()
        .map(|c| forward(*c))
        .fold(f64::NEG_INFINITY, f64::max);
    let from = reach.min(0.0) - 1e-9;
    let mut part = Vec::new();
    for i in 0..4 {
        let (a, b) = (corners[i], corners[(i + 1) % 4]);
        let (at_a, at_b) = (forward(a) - from, forward(b) - from);
        if at_a >= 0.0 {
            part.push(a);
        }
        if (at_a >= 0.0) != (at_b >= 0.0) {
            part.push(a.towards(b, at_a / (at_a - at_b)));
        }
    }
    (part, reach)
}

fn part_to_rect(part: &[Point], rect: &Rect) -> f64 {
    let corners = rect.corners();
    let mut least = f64::INFINITY;
    for (i, point) in part.iter().enumerate() {
        least = least.min(point_to_rect(*point, rect));
        let next = part[(i + 1) % part.len()];
        for j in 0..4 {
            least = least.min(segment_to_segment(
                *point,
                next,
                corners[j],
                corners[(j + 1) % 4],
            ));
        }
    }
    least
}

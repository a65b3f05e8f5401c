//! Terrain under a tape or a footprint: the tape cut into pieces, each with its rate.

use fieldpost_rules::ruleset::TerrainBy;

use crate::legs::Step;
use crate::lines::point_gap;
use crate::paths::Path;
use crate::plane::{Point, Rect};
use crate::table::Table;

/// On an edge within this much is outside; a base covers ground that it overlaps by more.
const EDGE_MM: f64 = 0.001;

/// What the ground charges for a leg's tape.
pub fn charge(table: &Table, step: &Step) -> f64 {
    let Some(tape) = step.tape() else {
        return 0.0;
    };
    let mut cuts = vec![0.0, 1.0];
    for patch in &table.patches {
        for (a, b) in patch.edges() {
            cuts.extend(tape.meets_line(a, b));
        }
    }
    for road in &table.roads {
        for pair in road.points.windows(2) {
            let aside = (pair[1] - pair[0])
                .unit()
                .map(|way| way.quarter_right() * (road.half_mm + EDGE_MM));
            for off in aside.into_iter().flat_map(|aside| [aside, -aside]) {
                cuts.extend(tape.meets_line(pair[0] + off, pair[1] + off));
            }
        }
        for corner in &road.points {
            cuts.extend(tape.meets_circle(*corner, road.half_mm + EDGE_MM));
        }
    }
    if table.rules.movement.terrain_by == TerrainBy::Base {
        cuts.extend(base_cuts(table, step));
    }
    cuts.sort_by(f64::total_cmp);
    let length = tape.length();
    let piece = |pair: &[f64]| {
        let (from, to) = (pair[0], pair[1]);
        if to - from < 1e-12 {
            return 0.0;
        }
        let middle = (from + to) / 2.0;
        (to - from) * length * step.factor * rate(table, &tape, &step.rect_at(middle), middle)
    };
    cuts.windows(2).map(piece).sum()
}

/// Shares at which a footprint may begin or cease to cover a patch.
pub fn base_cuts(table: &Table, step: &Step) -> Vec<f64> {
    let mut cuts = Vec::new();
    let corners = step.from.corners();
    for patch in &table.patches {
        for (a, b) in patch.edges() {
            for corner in corners {
                cuts.extend(step.track(corner).meets_line(a, b));
            }
            for i in 0..4 {
                cuts.extend(
                    step.track_of_ground(a)
                        .meets_line(corners[i], corners[(i + 1) % 4]),
                );
            }
        }
    }
    cuts
}

fn rate(table: &Table, tape: &Path, rect: &Rect, share: f64) -> f64 {
    let point = tape.at(share);
    let on_road = |point: Point| {
        let reach = |half: f64| half + EDGE_MM;
        table
            .roads
            .iter()
            .any(|road| point_gap(point, &road.points) <= reach(road.half_mm))
    };
    if on_road(point) {
        return 1.0;
    }
    let by_base = table.rules.movement.terrain_by == TerrainBy::Base;
    let covered = table.patches.iter().filter(|patch| {
        if by_base {
            patch.depth(rect) > EDGE_MM
        } else {
            patch.holds(point) && patch.to_edge(point) > EDGE_MM
        }
    });
    covered
        .map(|patch| patch.rate)
        .reduce(f64::max)
        .unwrap_or(1.0)
}

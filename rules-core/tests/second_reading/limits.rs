//! The clearances that a footprint has to keep in a leg, each measured as a depth that may not exceed 0.

use crate::legs::{Motion, Step};
use crate::plane::{Rect, distance, overlap};
use crate::search::{first_above, highest, profile};
use crate::table::Table;
use crate::zones;

/// Measurements agree within this: a quantum of a stored pose and what rounding does.
pub const NOISE_MM: f64 = 0.0015;

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum What {
    Zone(usize),
    Enemy(usize),
    Friend(usize),
    Impassable(usize),
    Edge,
}

/// One clearance of one unit.
#[derive(Debug, Clone, Copy)]
pub struct Limit {
    pub what: What,
    pub code: &'static str,
    /// As deep as the move began, or 0.
    pub may_be: f64,
    /// Where an *up to* stops.
    pub stops_at: f64,
}

impl Limit {
    pub fn depth(&self, table: &Table, rect: &Rect) -> f64 {
        depth(table, self.what, rect)
    }
}

pub fn depth(table: &Table, what: What, rect: &Rect) -> f64 {
    match what {
        What::Zone(enemy) => zones::depth(table, rect, &table.units[enemy].rect),
        What::Enemy(other) | What::Friend(other) => overlap(rect, &table.units[other].rect),
        What::Impassable(patch) => table.patches[patch].depth(rect),
        What::Edge => rect
            .corners()
            .into_iter()
            .map(|c| {
                (-c.x)
                    .max(c.x - table.width_mm)
                    .max(-c.y)
                    .max(c.y - table.depth_mm)
            })
            .fold(f64::NEG_INFINITY, f64::max),
    }
}

/// What was found of one limit in one leg.
#[derive(Debug, Clone, Copy)]
pub struct Found {
    pub deepest: f64,
    /// The share at which it was first deeper than it may be.
    pub first: Option<f64>,
}

/// Whether a leg stays so far from a thing that it need not be sampled.
fn is_far(table: &Table, what: What, step: &Step) -> bool {
    let reach = step.longest() + table.halt_mm + 1.0;
    match what {
        What::Zone(other) | What::Enemy(other) | What::Friend(other) => {
            step.sweeps() && distance(&step.from, &table.units[other].rect) > reach
        }
        What::Impassable(patch) => {
            let centre = step.from.centre();
            let near = step.longest() + step.from.wide + step.from.deep;
            let patch = &table.patches[patch];
            step.sweeps() && !patch.holds(centre) && patch.to_edge(centre) > near
        }
        What::Edge => false,
    }
}

fn samples(step: &Step) -> usize {
    match step.motion {
        Motion::Swing { rad, .. } => {
            let by_angle = rad.abs().to_degrees() / 1.5;
            (by_angle.max(step.longest() / 4.0).ceil() as usize).clamp(16, 240)
        }
        _ => ((step.longest() / 6.0).ceil() as usize).clamp(12, 120),
    }
}

/// The depth over a leg: sampled, with peaks, and for patches wherever a corner may touch.
pub fn sampled(table: &Table, what: What, step: &Step) -> Vec<(f64, f64)> {
    let at = |share: f64| depth(table, what, &step.rect_at(share));
    if !step.sweeps() {
        return vec![(1.0, at(1.0))];
    }
    if is_far(table, what, step) {
        return vec![(0.0, f64::NEG_INFINITY)];
    }
    // what a corner does in a patch comes and goes within millimetres
    let finer = if matches!(what, What::Impassable(_)) {
        4
    } else {
        1
    };
    let mut all = profile(at, samples(step) * finer, step.longest());
    if let What::Impassable(_) = what {
        let mut cuts = crate::ground::base_cuts(table, step);
        cuts.extend([0.0, 1.0]);
        cuts.sort_by(f64::total_cmp);
        let middles = cuts.windows(2).map(|pair| (pair[0] + pair[1]) / 2.0);
        all.extend(middles.map(|share| (share, at(share))));
        all.sort_by(|a, b| a.0.total_cmp(&b.0));
    }
    all
}

pub fn find(table: &Table, limit: &Limit, step: &Step) -> Found {
    let all = sampled(table, limit.what, step);
    let (_, deepest) = highest(&all);
    let over = limit.may_be + NOISE_MM;
    let at = |share: f64| limit.depth(table, &step.rect_at(share));
    let exact = limit.may_be + 1e-9;
    let first = (deepest > over)
        .then(|| {
            if step.sweeps() {
                first_above(at, &all, exact)
            } else {
                Some(1.0)
            }
        })
        .flatten();
    Found { deepest, first }
}

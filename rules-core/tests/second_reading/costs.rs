//! What the steps of a move cost one unit: ground, fixed charges, lines, and leaving a zone.

use fieldpost_rules::ruleset::ZoneExit;

use crate::legs::{Kind, Step};
use crate::plane::distance;
use crate::search::greatest;
use crate::table::{Table, Unit};
use crate::{ground, lines};

/// Farther from an enemy by more than this is farther.
const FARTHER_MM: f64 = 0.005;

/// The enemies in whose zones a move began, with the depth and the distance then.
#[derive(Debug, Clone, Default)]
pub struct Begun {
    pub enemies: Vec<usize>,
    pub depths: Vec<f64>,
    pub distances: Vec<f64>,
}

impl Begun {
    pub fn push(&mut self, enemy: usize, depth: f64, distance: f64) {
        self.enemies.push(enemy);
        self.depths.push(depth);
        self.distances.push(distance);
    }

    pub fn holds(&self, enemy: usize) -> bool {
        self.enemies.contains(&enemy)
    }
}

#[derive(Debug, Clone, Default)]
pub struct Sum {
    pub ground_mm: f64,
    pub fixed_mm: f64,
    pub lines_mm: f64,
    pub fee_mm: f64,
    pub near: Vec<(f64, String)>,
}

impl Sum {
    pub fn total(&self) -> f64 {
        self.ground_mm + self.fixed_mm + self.lines_mm + self.fee_mm
    }
}

/// What these steps cost if the move ended with them.
pub fn sum(table: &Table, unit: &Unit, begun: &Begun, steps: &[Step], tolerant: bool) -> Sum {
    let mut sum = Sum::default();
    for step in steps.iter().filter(|step| step.kind != Kind::Nothing) {
        sum.ground_mm += ground::charge(table, step);
        sum.fixed_mm += step.fixed_mm;
    }
    let (charges, _) = lines::charges(table, &unit.paid, steps, tolerant);
    sum.lines_mm = charges.iter().map(|charge| charge.mm).sum();
    let zones = &table.rules.zones;
    if zones.zone_exit == ZoneExit::Pay && goes_farther(table, begun, steps, &mut sum) {
        sum.fee_mm = zones.zone_exit_charge.mm(&table.rules.scale);
    }
    sum
}

fn goes_farther(table: &Table, begun: &Begun, steps: &[Step], sum: &mut Sum) -> bool {
    let mut farther = false;
    for (&enemy, &began) in begun.enemies.iter().zip(&begun.distances) {
        let other = table.units[enemy].rect;
        for step in steps {
            let at = |share: f64| distance(&step.rect_at(share), &other);
            let most = match step.kind {
                Kind::Nothing | Kind::Align => continue,
                Kind::Straight => at(0.0).max(at(1.0)),
                Kind::Wheel => {
                    let samples = (step.longest() / 3.0).ceil().clamp(16.0, 200.0) as usize;
                    greatest(at, samples, step.longest()).1
                }
                Kind::Turn | Kind::Reform => at(1.0),
            };
            let gap = most - began - FARTHER_MM;
            if gap.abs() < 0.0101 {
                sum.near.push((gap, "farther than it began".to_owned()));
            }
            farther |= gap > 1e-9;
        }
    }
    farther
}

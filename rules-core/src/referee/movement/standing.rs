//! How a unit that moves stands to the enemy's halt zones: in which it began, which hold it, what aligning
//! in them has come to (laws of measurement, §5).

use crate::game::{Game, Unit};
use crate::geometry::{Footprint, larger};
use crate::orders::UnitId;
use crate::verdict::Code;

use super::super::zones::{self, HaltZone};
use super::Surroundings;
use super::slack::{JUDGED_MM, NEAR_MM, STORED_MM};

/// The halt zone of one enemy that a move can come near.
#[derive(Debug, Clone, Copy)]
pub(super) struct Near<'a> {
    pub(super) enemy: &'a UnitId,
    pub(super) zone: HaltZone,
    /// Depth when the move began, in millimetres; negative outside.
    pub(super) began_depth_mm: f64,
    /// Whether the move began in it.
    pub(super) began_in: bool,
    /// Whether the unit was in it when the first aligning of its move began.
    pub(super) aligned_in: bool,
    /// Whether the unit was in it when the aligning that it makes, or one just before it, began.
    pub(super) keeps: bool,
    /// What the straight legs so far have changed of the distance, in millimetres.
    pub(super) changed_mm: f64,
}

/// How a unit that moves stands to the enemy's halt zones.
#[derive(Debug, Clone, Default)]
pub(super) struct Standing<'a> {
    pub(super) zones: Vec<Near<'a>>,
    /// Whether it may not enter or close within any: out of command, or its army broken.
    pub(super) barred: bool,
    /// The sizes of all alignings so far, in degrees; `None` before the first.
    pub(super) aligned_deg: Option<f64>,
    /// Enemies in whose zones it aligned without having begun there: it may only go on aligning.
    pub(super) only_aligns: Vec<&'a UnitId>,
}

impl<'a> Standing<'a> {
    /// How a unit stands where its move begins.
    pub(super) fn of(
        game: &Game,
        around: &Surroundings<'a>,
        unit: &Unit,
        barred: bool,
        start: &Footprint,
    ) -> Self {
        let ruleset = game.ruleset();
        let tolerance_mm = ruleset.scale.tolerance_mm;
        let near = |&(enemy, ground): &(&'a Unit, Footprint)| {
            let zone = HaltZone::of(ruleset, ground);
            let is_far = zone.is_far(start, tolerance_mm + NEAR_MM);
            let began_depth_mm = if is_far {
                f64::NEG_INFINITY
            } else {
                zone.depth(start).mm
            };
            Near {
                enemy: &enemy.id,
                zone,
                began_depth_mm,
                began_in: zones::begins_in(ruleset, unit, &enemy.id, began_depth_mm),
                aligned_in: false,
                keeps: false,
                changed_mm: 0.0,
            }
        };
        Self {
            zones: around
                .units
                .iter()
                .filter(|(other, _)| other.side != unit.side && other.has_strength())
                .map(near)
                .collect(),
            barred,
            aligned_deg: None,
            only_aligns: Vec::new(),
        }
    }

    /// The zones in which the move began.
    pub(super) fn began_in(&self) -> impl Iterator<Item = &Near<'a>> {
        self.zones.iter().filter(|near| near.began_in)
    }

    /// The code of a zone whose depth is bound, as it is for all that are out of command, and in all zones in
    /// which the move did not begin.
    pub(super) fn zone_code_if_bound(&self, near: &Near<'_>) -> Option<Code> {
        match (self.barred, near.began_in) {
            (true, _) => Some(Code::OutOfCommand),
            (false, false) => Some(Code::EnemyZone),
            (false, true) => None,
        }
    }

    /// Whether a unit that aligns may come deeper in the zone of an enemy than it is.
    pub(super) fn aligns_deeper_in(&self, enemy: &str) -> bool {
        !self.barred
            && self
                .zones
                .iter()
                .any(|near| near.enemy.0 == enemy && (near.began_in || near.aligned_in))
    }
}

impl Near<'_> {
    /// Whether a footprint is in the zone.
    pub(super) fn holds(&self, footprint: &Footprint) -> bool {
        self.zone.holds(footprint)
    }

    /// Whether a footprint is outside the zone of a unit that was in it: farther than storing a pose can do, and than the
    /// move began.
    pub(super) fn is_left(&self, footprint: &Footprint) -> bool {
        let began_outside_mm = if self.began_in {
            -self.began_depth_mm
        } else {
            0.0
        };
        let most_mm = larger(STORED_MM, began_outside_mm + JUDGED_MM);
        self.zone.depth(footprint).mm < -most_mm
    }
}

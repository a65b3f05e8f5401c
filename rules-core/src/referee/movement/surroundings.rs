//! What a move can come near. All else on the table is left out before a leg is measured, so that
//! the time a move takes depends on what stands about it and not on how large the battle is.

use crate::game::{Game, GroundLine, GroundPatch, GroundRoad, Unit};
use crate::geometry::{Bounds, Footprint, Point, smaller};
use crate::orders::{Leg, UnitId};

use super::super::zones;
use super::Movement;
use super::body::Body;

/// What is added to every reach, in millimetres: more than all slack and rounding of a move.
const MARGIN_MM: f64 = 5.0;

/// Everything on the table that a move can come near, in the table's own order.
#[derive(Debug, Clone, Default)]
pub(in crate::referee) struct Surroundings<'a> {
    /// Units on the table but for those that move.
    pub(super) units: Vec<(&'a Unit, Footprint)>,
    pub(super) patches: Vec<&'a GroundPatch>,
    /// Lines with their places in the ground's list.
    pub(super) lines: Vec<(usize, &'a GroundLine)>,
    pub(super) roads: Vec<&'a GroundRoad>,
}

/// A disc that holds every place a body can cover.
#[derive(Debug, Clone, Copy)]
pub(super) struct Region {
    pub(super) centre: Point,
    pub(super) radius_mm: f64,
}

impl Region {
    /// Where a body that makes these legs can come: as ordered, cut short, or left out.
    pub(super) fn of(body: &Body, legs: &[Leg]) -> Self {
        let rectangle = body.footprint();
        let reach_mm = rectangle.reach();
        let travel_mm = legs
            .iter()
            .fold(0.0, |sum, leg| sum + travel_mm(leg, reach_mm));
        Self {
            centre: rectangle.centre,
            radius_mm: reach_mm + travel_mm,
        }
    }

    /// Whether something that lies within these bounds may come within `apart_mm` of the region.
    fn is_near(&self, bounds: &Bounds, apart_mm: f64) -> bool {
        bounds
            .widened(self.radius_mm + apart_mm + MARGIN_MM)
            .holds(self.centre)
    }

    fn is_near_unit(&self, ground: &Footprint, apart_mm: f64) -> bool {
        let near_mm = self.radius_mm + ground.spread() + apart_mm + MARGIN_MM;
        let offset = ground.centre - self.centre;
        offset.x.abs() <= near_mm && offset.y.abs() <= near_mm
    }
}

impl<'a> Surroundings<'a> {
    /// The surroundings of a move.
    pub(in crate::referee) fn of(game: &'a Game, movement: &Movement<'_>) -> Self {
        let Some(body) = Body::of(movement) else {
            return Self::default();
        };
        let movers: Vec<&UnitId> = movement.units.iter().map(|unit| &unit.id).collect();
        Self::within(game, &movers, &Region::of(&body, movement.legs))
    }

    /// All the table but the movers.
    pub(super) fn everything(game: &'a Game, movement: &Movement<'_>) -> Self {
        let movers: Vec<&UnitId> = movement.units.iter().map(|unit| &unit.id).collect();
        let region = Region {
            centre: Point::new(0.0, 0.0),
            radius_mm: f64::INFINITY,
        };
        Self::within(game, &movers, &region)
    }

    /// Everything but the movers that a region comes near.
    pub(super) fn within(game: &'a Game, movers: &[&UnitId], region: &Region) -> Self {
        let ground = game.ground();
        let zone_mm = zones::halt_zone_mm(game.ruleset());
        Self {
            units: game
                .grounds()
                .filter(|(_, ground)| region.is_near_unit(ground, zone_mm))
                .filter(|(unit, _)| !movers.contains(&&unit.id))
                .map(|(unit, ground)| (unit, *ground))
                .collect(),
            patches: ground
                .patches
                .iter()
                .filter(|patch| region.is_near(&patch.outline.bounds(), 0.0))
                .collect(),
            lines: ground
                .lines
                .iter()
                .enumerate()
                .filter(|(_, line)| region.is_near(&line.course.bounds(), 0.0))
                .collect(),
            roads: ground
                .roads
                .iter()
                .filter(|road| region.is_near(&road.course.bounds(), road.half_width_mm))
                .collect(),
        }
    }
}

/// The farthest that a leg, or less of it, carries the middle of a body whose corners are
/// `reach_mm` from it. A new block may be of any shape, so it may come anywhere.
fn travel_mm(leg: &Leg, reach_mm: f64) -> f64 {
    match *leg {
        Leg::Forward { distance_mm }
        | Leg::Back { distance_mm }
        | Leg::Sidestep { distance_mm, .. }
        | Leg::Oblique { distance_mm, .. } => {
            distance_mm.amount().map_or(f64::INFINITY, at_least_none)
        }
        Leg::Wheel { angle_deg, .. } => {
            turning_mm(angle_deg.amount().unwrap_or(f64::INFINITY), reach_mm)
        }
        Leg::Align { angle_deg, .. } => turning_mm(angle_deg, reach_mm),
        Leg::Turn { .. } | Leg::About => 0.0,
        Leg::Reform { .. } => f64::INFINITY,
    }
}

/// Round a corner, or round the middle of the front edge: at most across the circle.
fn turning_mm(angle_deg: f64, reach_mm: f64) -> f64 {
    reach_mm * smaller(at_least_none(angle_deg.to_radians()), 2.0)
}

/// A leg that asks for less than nothing, or for no number, is not made.
fn at_least_none(amount: f64) -> f64 {
    if amount > 0.0 { amount } else { 0.0 }
}

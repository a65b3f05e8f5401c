//! Halt zones and strike zones (laws of measurement, §5 and §7).

use crate::game::{Game, Unit};
pub use crate::geometry::TOUCH_MM;
use crate::geometry::{self, Footprint};
use crate::ruleset::{Ruleset, ZoneFront};

/// Depth of a halt zone in millimetres.
#[must_use]
pub fn halt_zone_mm(ruleset: &Ruleset) -> f64 {
    ruleset.zones.halt_zone.mm(&ruleset.scale)
}

/// Depth of a strike zone in millimetres.
#[must_use]
pub fn strike_zone_mm(ruleset: &Ruleset) -> f64 {
    ruleset.zones.strike_zone.mm(&ruleset.scale)
}

/// Distance in millimetres from a footprint to an enemy that radiates a halt zone, as that zone
/// measures it: to the part of the footprint ahead of the enemy's front when zones look ahead
/// only. `None` when no part of it can be within the zone at all.
#[must_use]
pub fn zone_distance_mm(ruleset: &Ruleset, enemy: &Footprint, moving: &Footprint) -> Option<f64> {
    match ruleset.zones.zone_front {
        ZoneFront::AllRound => Some(geometry::signed_distance_mm(enemy, moving)),
        ZoneFront::Ahead => {
            geometry::separation_ahead(moving, enemy).map(|separation| separation.distance_mm)
        }
    }
}

/// Whether a footprint is within an enemy's halt zone.
#[must_use]
pub fn is_in_halt_zone(ruleset: &Ruleset, enemy: &Footprint, moving: &Footprint) -> bool {
    let within_mm = halt_zone_mm(ruleset) + TOUCH_MM;
    !enemy.is_farther_than(moving, within_mm + 1.0)
        && zone_distance_mm(ruleset, enemy, moving).is_some_and(|distance| distance <= within_mm)
}

/// Enemies of a side that stand on the table and radiate zones.
pub fn zoned_enemies(game: &Game, side: usize) -> impl Iterator<Item = (&Unit, Footprint)> {
    game.on_table()
        .filter(move |unit| unit.side != side && unit.has_strength())
        .filter_map(|unit| Some((unit, unit.footprint()?)))
}

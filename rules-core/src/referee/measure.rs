//! Measuring between any two units: what an umpire would read off the table if asked.

mod aims;

use std::fmt;

use crate::game::{Game, Unit};
use crate::geometry::{self, Footprint, larger, separation};
use crate::orders::UnitId;
use crate::ruleset::Flanks;
use crate::verdict::{
    Arc, CommandMeasured, Cover, Measurement, Regard, SightMeasured, Spot, Within,
};

use super::defences::{self, Help};
use super::flanks::{self, Aspect};
use super::support::Body;
use super::zones::TOUCH_MM;
use super::{command, parties, sight, zones};

/// Why two units cannot be measured.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum MeasureFault {
    /// No order of battle has it.
    NoSuchUnit(UnitId),
    /// It waits to arrive, or is gone.
    NotOnTable(UnitId),
    /// It was named twice.
    SameUnit(UnitId),
}

impl fmt::Display for MeasureFault {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::NoSuchUnit(id) => write!(
                f,
                "no order of battle has a unit {id}; name one that the table lists"
            ),
            Self::NotOnTable(id) => write!(
                f,
                "{id} is not on the table, so nothing can be measured to it"
            ),
            Self::SameUnit(id) => write!(f, "{id} was named twice; measure between two units"),
        }
    }
}

impl std::error::Error for MeasureFault {}

/// Measures between two units on the table as it stands, of any side. Command and zones are those
/// of this moment, not of the turn's beginning. Distances are to the nearest points of the
/// footprints; within means no farther than the limit, with the slack of a stored pose.
///
/// # Errors
/// When a unit does not exist or is not on the table, or both are the same.
pub fn measure(game: &Game, first: &UnitId, second: &UnitId) -> Result<Measurement, MeasureFault> {
    let one = standing(game, first)?;
    let other = standing(game, second)?;
    if first == second {
        return Err(MeasureFault::SameUnit(first.clone()));
    }
    let nearest = separation(&one.1, &other.1);
    Ok(Measurement {
        distance_mm: larger(nearest.distance_mm, 0.0),
        nearest: [Spot::from(nearest.on_first), Spot::from(nearest.on_second)],
        enemies: one.0.side != other.0.side,
        regards: [regard(game, &one, &other), regard(game, &other, &one)],
    })
}

fn standing<'a>(game: &'a Game, id: &UnitId) -> Result<Body<'a>, MeasureFault> {
    let unit = game
        .unit(id)
        .ok_or_else(|| MeasureFault::NoSuchUnit(id.clone()))?;
    let footprint = unit
        .footprint()
        .ok_or_else(|| MeasureFault::NotOnTable(id.clone()))?;
    Ok((unit, footprint))
}

fn regard(game: &Game, own: &Body<'_>, other: &Body<'_>) -> Regard {
    let ruleset = game.ruleset();
    let enemies = own.0.side != other.0.side;
    let armed = enemies && own.0.has_strength();
    let guns = armed && own.0.is_guns();
    let distance_mm = geometry::distance_mm(&own.1, &other.1);
    let within = |limit_mm: f64| within(limit_mm, Some(distance_mm));
    let towards = other.1.centre - own.1.centre;
    let off_ahead = libm::atan2(-own.1.ahead.cross(towards), own.1.ahead.dot(towards));
    let bearing_deg = towards.bearing_rad().to_degrees();
    Regard {
        unit: own.0.id.clone(),
        other: other.0.id.clone(),
        bearing_deg: if bearing_deg < 0.0 {
            bearing_deg + 360.0
        } else {
            bearing_deg
        },
        off_ahead_deg: off_ahead.to_degrees(),
        aims: aims::aims(&own.1, &other.1),
        arc: arc(game, &other.1, &own.1),
        halt_zone: armed.then(|| Within {
            within: zones::is_in_halt_zone(ruleset, &own.1, &other.1),
            ..self::within(
                zones::halt_zone_mm(ruleset),
                zones::zone_distance_mm(ruleset, &own.1, &other.1),
            )
        }),
        strike_zone: armed.then(|| within(zones::strike_zone_mm(ruleset))),
        bombardment: guns.then(|| within(parties::bombard_range_mm(ruleset, own.0))),
        fire: sight::farthest_mm(ruleset)
            .filter(|_| guns)
            .map(|farthest_mm| {
                self::within_by(farthest_mm, distance_mm, ruleset.scale.tolerance_mm)
            }),
        sight: ruleset.sight.is_some().then(|| seen(game, own, other)),
        cover: if enemies {
            cover(game, &own.1, &other.1)
        } else {
            Vec::new()
        },
        command: commanded(game, own.0),
    }
}

fn within(limit_mm: f64, measured_mm: Option<f64>) -> Within {
    Within {
        within: measured_mm.is_some_and(|measured_mm| measured_mm <= limit_mm + TOUCH_MM),
        limit_mm,
        measured_mm: measured_mm.map(|measured_mm| larger(measured_mm, 0.0)),
    }
}

/// Range bands are kept within the tolerance.
fn within_by(limit_mm: f64, measured_mm: f64, tolerance_mm: f64) -> Within {
    Within {
        within: measured_mm <= limit_mm + tolerance_mm,
        limit_mm,
        measured_mm: Some(measured_mm),
    }
}

/// The arc of a unit in which another stands; by the usual 45° where the ruleset has no law of
/// flanks, and there it is for information only.
fn arc(game: &Game, other: &Footprint, own: &Footprint) -> Arc {
    let usual = Flanks::default();
    let flanks = game.ruleset().flanks.as_ref().unwrap_or(&usual);
    match flanks::aspect(flanks, other, own) {
        Aspect::Front => Arc::Front,
        Aspect::Flank => Arc::Flank,
        Aspect::Rear => Arc::Rear,
    }
}

fn seen(game: &Game, own: &Body<'_>, other: &Body<'_>) -> SightMeasured {
    let sighting = sight::sighting(game, own, other);
    SightMeasured {
        clear: sighting.by.is_none(),
        string_mm: sighting.string_mm,
        clear_mm: sighting.clear_mm,
        by: sighting.by,
    }
}

/// What the ground does for a defender against one attacker, as a battle between the two counts it.
fn cover(game: &Game, defender: &Footprint, attacker: &Footprint) -> Vec<Cover> {
    let patches = defences::of_patches(game, defender);
    let lines = defences::of_lines(game, &[separation(attacker, defender)]);
    let mut cover = offers(&patches, false);
    cover.extend(offers(&lines, true));
    cover
}

/// The factor and the shift, which may come from two places.
fn offers(help: &Help, line: bool) -> Vec<Cover> {
    let offer = |ground: &str, factor: f64, shift: i32| Cover {
        ground: ground.to_owned(),
        line,
        factor,
        shift,
    };
    let one = [offer(&help.factor_from, help.factor, help.shift)];
    let two = [
        offer(&help.factor_from, help.factor, 0),
        offer(&help.shift_from, 1.0, help.shift),
    ];
    let offers: &[Cover] = if help.factor_from == help.shift_from {
        &one
    } else {
        &two
    };
    offers
        .iter()
        .filter(|offer| offer.factor != 1.0 || offer.shift != 0)
        .cloned()
        .collect()
}

fn commanded(game: &Game, unit: &Unit) -> CommandMeasured {
    let link = command::link(game, unit);
    CommandMeasured {
        in_command: link.in_command,
        commander: link.commander,
        distance_mm: link.distance_mm,
        radius_mm: link.radius_mm,
    }
}

#[cfg(test)]
mod tests;

//! Leaving the table over an exit.

use crate::game::{Game, Unit};
use crate::geometry::{Footprint, Point, TOUCH_MM, Vector, distance_mm};
use crate::orders::UnitId;
use crate::scenario::{Edge, Exit};
use crate::verdict::rounding::tenths;
use crate::verdict::{Code, Reason, Ruling};

use super::{arrivals, zones};

/// Why a unit cannot leave the table where it stands: no exit of its side touches its footprint,
/// or an enemy halt zone holds it. Who has not moved is told that a move comes before.
pub(super) fn reasons(game: &Game, id: &UnitId, has_moved: bool) -> Vec<Reason> {
    let Some((unit, footprint)) = standing(game, id) else {
        return Vec::new();
    };
    let mut reasons = Vec::new();
    for (enemy, ground) in zones::zoned_enemies(game, unit.side) {
        if zones::is_in_halt_zone(game.ruleset(), &ground, &footprint) {
            let zone_mm = zones::halt_zone_mm(game.ruleset());
            let measured_mm = distance_mm(&footprint, &ground);
            reasons.push(
                Reason::length_under(Code::Locked, zone_mm, measured_mm, 0.0)
                    .with(enemy.id.0.clone())
                    .note("a unit in an enemy halt zone cannot leave the table"),
            );
        }
    }
    match nearest_exit(game, unit, &footprint) {
        None => reasons.push(
            Reason::count(Code::NotPossible, 1, 0)
                .with(id.0.clone())
                .note("the scenario has no exit for its side"),
        ),
        Some((exit, away_mm)) if away_mm > TOUCH_MM => {
            let tolerance_mm = game.ruleset().scale.tolerance_mm;
            let reason = Reason::length_over(Code::NotPossible, 0.0, away_mm, tolerance_mm);
            // what is marginal is played, and stands in records word for word
            let hint = if has_moved || reason.ruling() == Ruling::Marginal {
                ""
            } else {
                "; orders are carried out as written, so write its move to the edge on a line before this one"
            };
            let away = match reason.ruling() {
                Ruling::Marginal => format!("{away_mm:.1}"),
                Ruling::Legal | Ruling::Refused => tenths(away_mm),
            };
            reasons.push(reason.with(id.0.clone()).note(format!(
                "to leave it must touch the {} edge between {} and {} mm, and is {away} mm away{hint}",
                arrivals::edge_name(exit.edge),
                exit.from_mm,
                exit.to_mm,
            )));
        }
        Some(_) => {}
    }
    reasons
}

/// Points that a unit's side gets for its leaving where it stands.
pub(super) fn points(game: &Game, id: &UnitId) -> f64 {
    standing(game, id)
        .and_then(|(unit, footprint)| {
            let (exit, _) = nearest_exit(game, unit, &footprint)?;
            Some(unit.strength() * exit.points_per_strength)
        })
        .unwrap_or(0.0)
}

fn standing<'a>(game: &'a Game, id: &UnitId) -> Option<(&'a Unit, Footprint)> {
    let unit = game.unit(id)?;
    Some((unit, unit.footprint()?))
}

fn nearest_exit<'a>(game: &'a Game, unit: &Unit, footprint: &Footprint) -> Option<(&'a Exit, f64)> {
    let side = game.side_id(unit.side);
    game.scenario()
        .exit
        .iter()
        .filter(|exit| exit.side == side.0)
        .map(|exit| (exit, distance_mm(footprint, &stretch(game, exit))))
        .reduce(|near, other| if other.1 < near.1 { other } else { near })
}

/// The stretch of edge as a rectangle without depth, so that it is measured like a base.
fn stretch(game: &Game, exit: &Exit) -> Footprint {
    let table = &game.ground().table;
    let middle_mm = (exit.from_mm + exit.to_mm) / 2.0;
    let (centre, ahead) = match exit.edge {
        Edge::North => (Point::new(middle_mm, table.depth_mm), Vector::new(0.0, 1.0)),
        Edge::South => (Point::new(middle_mm, 0.0), Vector::new(0.0, 1.0)),
        Edge::West => (Point::new(0.0, middle_mm), Vector::new(1.0, 0.0)),
        Edge::East => (Point::new(table.width_mm, middle_mm), Vector::new(1.0, 0.0)),
    };
    Footprint {
        centre,
        ahead,
        half_frontage: (exit.to_mm - exit.from_mm).abs() / 2.0,
        half_depth: 0.0,
    }
}

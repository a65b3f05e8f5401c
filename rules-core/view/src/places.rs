//! Where something happens, in the map's own names.

use fieldpost_rules::game::{Game, Unit};
use fieldpost_rules::geometry::Point;
use fieldpost_rules::orders::UnitId;

use super::svg::shape::{Course, Shape};
use fieldpost_rules::sanitize::plain;

/// The name of the place nearest to a point: a patch it lies in, or an objective, crossing, patch
/// or line within three base widths. With the word that joins it: "in Hanger Wood", "by Mill Bridge".
#[must_use]
pub(super) fn near(game: &Game, at: Point) -> Option<String> {
    let scenario = game.scenario();
    let inside = scenario
        .terrain
        .iter()
        .rev()
        .find(|patch| Shape::new(&patch.outline, &patch.holes).holds(at));
    if let Some(patch) = inside {
        return Some(format!("at {}", plain(&patch.name)));
    }
    let spans = scenario.line.iter().flat_map(|line| &line.span);
    let points = scenario
        .objective
        .iter()
        .map(|objective| (&objective.name, objective.at))
        .chain(spans.map(|span| (&span.name, span.at)))
        .map(|(name, [x, y])| (name, at.distance_to(Point::new(x, y))));
    let patches = scenario.terrain.iter().map(|patch| {
        let shape = Shape::new(&patch.outline, &patch.holes);
        (&patch.name, shape.to_edge_mm(at))
    });
    let lines = scenario
        .line
        .iter()
        .map(|line| (&line.name, Course::new(&line.points).to_mm(at)));
    let (name, distance) = points
        .chain(patches)
        .chain(lines)
        .min_by(|a, b| a.1.total_cmp(&b.1))?;
    (distance <= game.ruleset().scale.base_width_mm * 3.0).then(|| format!("near {}", plain(name)))
}

/// The middle of the ground that some units cover.
pub(super) fn middle_of(game: &Game, units: &[UnitId]) -> Option<Point> {
    let centres: Vec<Point> = units
        .iter()
        .filter_map(|id| game.unit(id)?.footprint())
        .map(|footprint| footprint.centre)
        .collect();
    let first = centres.first()?;
    let count = f64::from(u32::try_from(centres.len()).ok()?);
    let mut sum = fieldpost_rules::geometry::Vector::ZERO;
    for centre in &centres {
        sum = sum + (*centre - *first) * (1.0 / count);
    }
    Some(*first + sum)
}

/// A unit as people call it: its name, or its id when there is no such unit.
#[must_use]
pub(super) fn called(game: &Game, id: &UnitId) -> String {
    plain(
        game.unit(id)
            .map_or(id.0.as_str(), |unit| unit.name.as_str()),
    )
}

/// A unit with its side: "Red's Third Foot".
#[must_use]
pub(super) fn called_in_full(game: &Game, id: &UnitId) -> String {
    match game.unit(id) {
        Some(unit) => format!("{} {}", owner(game, unit.side), plain(&unit.name)),
        None => plain(&id.0),
    }
}

/// A unit whose side has just been named: by its name alone, unless the other side has one of that name.
#[must_use]
pub(super) fn called_after_its_side(game: &Game, id: &UnitId) -> String {
    let namesake = |unit: &Unit| {
        let same = |other: &Unit| other.side != unit.side && other.name == unit.name;
        game.units().any(same)
    };
    match game.unit(id) {
        Some(unit) if namesake(unit) => called_in_full(game, id),
        _ => called(game, id),
    }
}

/// A side as an owner: "Red's", "the Marches'".
#[must_use]
pub(super) fn owner(game: &Game, side: usize) -> String {
    let name = side_name(game, side);
    if name.ends_with('s') || name.ends_with('S') {
        format!("{name}’")
    } else {
        format!("{name}’s")
    }
}

/// A side's name.
#[must_use]
pub(super) fn side_name(game: &Game, side: usize) -> String {
    plain(&game.scenario().side[side % 2].name)
}

//! A part of the table by what stands in it.

use super::svg::Part;
use super::svg::shape::Shape;
use fieldpost_rules::game::{Game, Unit};
use fieldpost_rules::geometry::Point;
use fieldpost_rules::orders::text::{TextFault, unit_meant};
use fieldpost_rules::sanitize::plain;

/// The part of the table round a unit, or round a place that the map names, with so many
/// millimetres on every side.
///
/// # Errors
/// When neither a unit nor a place is called that.
pub fn around(text: &str, within_mm: f64, game: &Game) -> Result<Part, TextFault> {
    let table = &game.scenario().table;
    let points = match unit_meant(text, game) {
        Ok(id) => {
            let stands = game.unit(&id).and_then(Unit::footprint);
            stands
                .map(|footprint| footprint.corners().to_vec())
                .ok_or_else(|| not_there(text, &id.0))?
        }
        Err(fault) => place(text, game).ok_or_else(|| with_places(fault, game))?,
    };
    Ok(Part::around(&points, within_mm, 20.0, table).widened(1.25, table))
}

fn not_there(text: &str, id: &str) -> TextFault {
    TextFault {
        file: "the place named".to_owned(),
        line: 1,
        column: 1,
        length: text.chars().count().max(1),
        problem: format!("{} is not on the table", plain(id)),
        remedy: "name a unit that stands on it, or a place on the map".to_owned(),
        readings: Vec::new(),
        source: plain(text),
    }
}

fn with_places(fault: TextFault, game: &Game) -> TextFault {
    let mut names: Vec<String> = places(game).map(|(name, _)| plain(name)).collect();
    names.dedup();
    names.truncate(12);
    TextFault {
        remedy: if names.is_empty() {
            fault.remedy
        } else {
            format!("{}; or a place: {}", fault.remedy, names.join(", "))
        },
        ..fault
    }
}

/// Named places with the ground they cover.
fn places(game: &Game) -> impl Iterator<Item = (&str, Vec<Point>)> {
    let scenario = game.scenario();
    let at = |[x, y]: [f64; 2]| Point::new(x, y);
    let patches = scenario.terrain.iter().map(|patch| {
        let (low, high) = Shape::new(&patch.outline, &patch.holes).bounds();
        (patch.name.as_str(), vec![low, high])
    });
    let objectives = scenario
        .objective
        .iter()
        .map(move |objective| (objective.name.as_str(), vec![at(objective.at)]));
    let spans = scenario.line.iter().flat_map(move |line| {
        line.span
            .iter()
            .map(move |span| (span.name.as_str(), vec![at(span.at)]))
    });
    let all = |points: &[[f64; 2]]| points.iter().map(|[x, y]| Point::new(*x, *y)).collect();
    let lines = scenario
        .line
        .iter()
        .map(move |line| (line.name.as_str(), all(&line.points)));
    patches.chain(objectives).chain(spans).chain(lines)
}

/// The one place whose name is or begins with a text, capitals aside.
fn place(text: &str, game: &Game) -> Option<Vec<Point>> {
    let wanted = text.trim().to_lowercase();
    if wanted.is_empty() {
        return None;
    }
    let exact = places(game).find(|(name, _)| name.to_lowercase() == wanted);
    let begins = || {
        let mut fits = places(game).filter(|(name, _)| name.to_lowercase().starts_with(&wanted));
        fits.next().filter(|_| fits.next().is_none())
    };
    exact.or_else(begins).map(|(_, points)| points)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::sample;

    #[test]
    fn units_and_places_are_found() {
        let game = sample::game();
        let part = around("R1", 100.0, &game).unwrap();
        assert!(part.holds(Point::new(420.0, 240.0), 0.0));
        assert!(part.width_mm() < 500.0);
        let patch = &game.scenario().terrain[0];
        let by_name = around(&patch.name.to_uppercase(), 50.0, &game).unwrap();
        for [x, y] in &patch.outline {
            assert!(by_name.holds(Point::new(*x, *y), 1e-6));
        }
        let fault = around("nowhere at all", 50.0, &game).unwrap_err();
        assert!(fault.remedy.contains(&patch.name), "{}", fault.remedy);
    }
}

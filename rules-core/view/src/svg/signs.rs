//! What the signs of a picture mean: a row for each that it has.

use fieldpost_rules::game::{State, Unit};
use fieldpost_rules::geometry::{Point, Vector};

use super::panel::Column;
use super::pen::Trace;
use super::ways::Way;
use super::{Picture, ghosts, palette, units, zones};

/// How far words stand from a column's edge, and their size.
#[derive(Debug, Clone, Copy)]
pub(super) struct Type {
    pub(super) indent: f64,
    pub(super) size: f64,
}

impl Type {
    /// Beside the map's key.
    pub(super) const KEY: Self = Self {
        indent: 36.0,
        size: 10.0,
    };
    /// Beside a verdict.
    pub(super) const VERDICT: Self = Self {
        indent: 40.0,
        size: 11.0,
    };
}

/// The inks of tapes by the ground under them.
pub(super) fn tapes(column: &mut Column, letters: Type) {
    for (ink, dashes, words) in [
        (palette::TAPE, "", "tape on open ground"),
        (palette::TAPE_ON_ROAD, "14 2", "tape on a road"),
        (palette::TAPE_SLOW, "5 2", "tape on slow ground"),
        (palette::TAPE_SLOWEST, "3 2", "tape at more than double"),
    ] {
        stroke(column, letters, (ink, dashes, 4.0), words);
    }
}

/// A stretch of line with what it stands for.
pub(super) fn stroke(
    column: &mut Column,
    letters: Type,
    (ink, dashes, width): (&str, &str, f64),
    words: &str,
) {
    let (from, to) = begin(column);
    let line = column.pen.line(from, to).stroke(ink, width);
    if dashes.is_empty() {
        line.done();
    } else {
        line.dashed(dashes).done();
    }
    say(column, letters, words);
}

/// Moves down a row; both ends of the room for its sign.
fn begin(column: &mut Column) -> (Point, Point) {
    column.y += 16.0;
    (
        Point::new(column.left, column.y - 4.0),
        Point::new(column.left + 28.0, column.y - 4.0),
    )
}

fn say(column: &mut Column, letters: Type, words: &str) {
    column
        .pen
        .text(
            Point::new(column.left + letters.indent, column.y),
            letters.size,
        )
        .fill(palette::INK)
        .say(words);
}

/// A box in the room of a row, as a ring of corners.
fn swatch((from, to): (Point, Point)) -> [Point; 4] {
    [
        Point::new(from.x + 1.0, from.y - 5.0),
        Point::new(to.x - 1.0, to.y - 5.0),
        Point::new(to.x - 1.0, to.y + 5.0),
        Point::new(from.x + 1.0, from.y + 5.0),
    ]
}

/// Every sign that this picture has besides units and ground.
pub(super) fn of(column: &mut Column, picture: &Picture, letters: Type) {
    changes(column, picture, letters);
    edges(column, picture, letters);
    areas(column, picture, letters);
    disorder(column, picture, letters);
}

/// Ghosts, crosses, ways and highlights.
fn changes(column: &mut Column, picture: &Picture, letters: Type) {
    let ghosts = &picture.options.ghosts;
    if ghosts.iter().any(|ghost| ghost.was.is_some()) {
        let side = &picture.sides[0];
        let corners = swatch(begin(column));
        ghosts::swatch(column.pen, &corners, (&side.pale, &side.dark));
        say(column, letters, "where a unit stood before");
    }
    if ghosts.iter().any(|ghost| ghost.tapes().next().is_some()) {
        tapes(column, letters);
    }
    let is_shifted = |way: &Way| matches!(way, Way::Shifted { .. });
    if ghosts.iter().any(|ghost| ghost.ways.iter().any(is_shifted)) {
        let (from, to) = begin(column);
        ghosts::shift(column.pen, from, to, palette::INK);
        say(column, letters, "gave ground, followed up or was set there");
    }
    let stands = |unit| picture.game.unit(unit).is_some_and(Unit::is_on_table);
    if ghosts.iter().any(|ghost| !stands(&ghost.unit)) {
        let corners = swatch(begin(column));
        ghosts::cross(column.pen, &corners);
        say(column, letters, "lost, or left the table");
    }
    if !picture.options.highlights.is_empty() {
        let corners = swatch(begin(column));
        column
            .pen
            .path(&Trace::new().ring(&corners))
            .hollow(palette::GLOW, 4.0)
            .done();
        say(column, letters, "the units in question");
    }
}

/// Arrivals and exits on the table's edge.
fn edges(column: &mut Column, picture: &Picture, letters: Type) {
    if !picture.options.arrivals {
        return;
    }
    let waits = |unit: &Unit| matches!(unit.state, State::Waiting(_));
    for (is_there, arrives, words) in [
        (
            picture.game.units().any(waits),
            true,
            "units arrive over this stretch of the edge",
        ),
        (
            !picture.game.scenario().exit.is_empty(),
            false,
            "an exit: units of its colour may leave",
        ),
    ] {
        if is_there {
            column.y += 8.0;
            let (from, to) = begin(column);
            let side = &picture.sides[0];
            let inks = if arrives {
                (side.body.as_str(), side.dark.as_str())
            } else {
                ("#fbf7ea", side.dark.as_str())
            };
            let (y, inward) = if arrives { (-9.0, 1.0) } else { (9.0, -1.0) };
            zones::edge_sign(
                column.pen,
                (Point::new(from.x, from.y + y), Point::new(to.x, to.y + y)),
                Vector::new(0.0, inward),
                inks,
                arrives,
            );
            say(column, letters, words);
        }
    }
}

/// Objectives, deployment areas and the tints of zones.
fn areas(column: &mut Column, picture: &Picture, letters: Type) {
    let side = &picture.sides[0];
    if !picture.game.scenario().objective.is_empty() {
        column.y += 8.0;
        let (from, _) = begin(column);
        let foot = Point::new(from.x + 9.0, from.y + 7.0);
        zones::flag(column.pen, foot, &side.body, &side.dark);
        say(column, letters, "worth points; pale: nobody holds it");
    }
    if picture.options.deployment && !picture.game.scenario().deployment.is_empty() {
        stroke(
            column,
            letters,
            (&side.dark, "9 4", 1.3),
            "where a side deploys",
        );
    }
    if picture.options.halt_zones {
        let corners = swatch(begin(column));
        column
            .pen
            .path(&Trace::new().ring(&corners))
            .fill(&side.body)
            .opacity(0.2)
            .done();
        say(column, letters, "tint: halt zone, where enemies must stop");
    }
    if picture.options.strike_zones {
        stroke(
            column,
            letters,
            (&side.dark, "2 3", 0.9),
            "strike zone, within which it attacks",
        );
    }
}

/// The sign of disorder, if the map shows a unit that bears it.
pub(super) fn disorder(column: &mut Column, picture: &Picture, letters: Type) {
    let is_seen = |unit: &Unit| {
        unit.footprint()
            .is_some_and(|ground| picture.shows(&ground))
    };
    let mut disordered = picture.game.on_table().filter(|unit| unit.disorder > 0);
    if !disordered.any(is_seen) {
        return;
    }
    let (from, to) = begin(column);
    let rear = |share: f64| Point::new(from.x + (to.x - from.x) * share, from.y - 3.0);
    units::zigzag(column.pen, rear, Vector::new(0.0, 1.0));
    say(column, letters, "disordered");
}

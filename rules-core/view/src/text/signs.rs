//! Characters for ground and units, and what they mean.

use std::collections::BTreeSet;

use crate::compass;
use crate::svg::shape::{Course, Shape};
use crate::svg::{line_drawing, patch_drawing};
use fieldpost_rules::game::{Game, Unit};
use fieldpost_rules::geometry::{Footprint, Point};
use fieldpost_rules::ruleset::{Drawing, LineDrawing};

use super::canvas::Canvas;
use super::lines::filled;

const ROAD: char = '░';

/// Character and word of each kind of patch.
fn patch_sign(drawing: Drawing) -> (char, &'static str) {
    match drawing {
        Drawing::Wood => ('♣', "wood"),
        Drawing::Rough => (':', "rough"),
        Drawing::Village => ('⌂', "village"),
        Drawing::Marsh => (';', "marsh"),
        Drawing::Water => ('≈', "water"),
        Drawing::Field => ('=', "field"),
        Drawing::Hill => ('\'', "hill"),
        Drawing::Crag => ('▲', "crag"),
    }
}

/// Character and word of each kind of line.
fn line_sign(drawing: LineDrawing) -> (char, &'static str) {
    match drawing {
        LineDrawing::Stream => ('~', "stream"),
        LineDrawing::Wall => ('#', "wall"),
        LineDrawing::Hedge => ('"', "hedge"),
        LineDrawing::Slope => ('^', "slope edge"),
    }
}

const CROSSING: (char, &str) = ('╪', "bridge, ford or gap");
const OBJECTIVE: (char, &str) = ('⚑', "worth points");

/// How a side's bodies are filled.
fn body_sign(side: usize) -> char {
    if side == 0 { '▒' } else { '█' }
}

/// Patches, then lines and roads over them.
pub(super) fn draw_ground(canvas: &mut Canvas, game: &Game) {
    let (scenario, ruleset) = (game.scenario(), game.ruleset());
    for patch in &scenario.terrain {
        let Some(kind) = ruleset.terrain.get(&patch.kind) else {
            continue;
        };
        let (sign, _) = patch_sign(patch_drawing(kind));
        let shape = Shape::new(&patch.outline, &patch.holes);
        each_cell(canvas, |canvas, column, row| {
            if shape.holds(canvas.middle(column, row)) {
                canvas.ground(column, row, sign);
            }
        });
    }
    for line in &scenario.line {
        let Some(kind) = ruleset.lines.get(&line.kind) else {
            continue;
        };
        draw_course(
            canvas,
            &Course::new(&line.points),
            line_sign(line_drawing(kind)).0,
        );
    }
    for road in &scenario.road {
        draw_course(canvas, &Course::new(&road.points), ROAD);
    }
    for span in scenario.line.iter().flat_map(|line| &line.span) {
        put(canvas, Point::new(span.at[0], span.at[1]), CROSSING.0);
    }
    for objective in &scenario.objective {
        put(
            canvas,
            Point::new(objective.at[0], objective.at[1]),
            OBJECTIVE.0,
        );
    }
}

fn each_cell(canvas: &mut Canvas, mut act: impl FnMut(&mut Canvas, usize, usize)) {
    for row in 0..canvas.rows() {
        for column in 0..canvas.columns() {
            act(canvas, column, row);
        }
    }
}

fn put(canvas: &mut Canvas, place: Point, sign: char) {
    if canvas.part().holds(place, 0.0) {
        let (column, row) = (canvas.column_of(place.x), canvas.row_of(place.y));
        canvas.ground(column, row, sign);
    }
}

fn draw_course(canvas: &mut Canvas, course: &Course, sign: char) {
    for (_, place, _) in course.walked(canvas.cell_width_mm() / 3.0) {
        put(canvas, place, sign);
    }
}

/// A unit's body, then its mark and an arrow the way it faces. A unit smaller than a cell still
/// shows by its mark.
pub(super) fn draw_unit(
    canvas: &mut Canvas,
    unit: &Unit,
    footprint: &Footprint,
    mark: &str,
    ascii: bool,
) {
    let sign = body_sign(unit.side);
    let mut seen = false;
    each_cell(canvas, |canvas, column, row| {
        let (right, ahead) = footprint.local(canvas.middle(column, row));
        if right.abs() <= footprint.half_frontage && ahead.abs() <= footprint.half_depth {
            canvas.body(column, row, sign);
            seen = true;
        }
    });
    // a block thinner than a cell may miss every cell's middle: its own middle line shows it
    for step in -20..=20 {
        let place = footprint.at(footprint.half_frontage * f64::from(step) / 20.5, 0.0);
        if !seen && canvas.part().holds(place, 0.0) {
            canvas.body(canvas.column_of(place.x), canvas.row_of(place.y), sign);
        }
    }
    if !canvas.part().holds(footprint.centre, 0.0) {
        return;
    }
    let Some(pose) = unit.pose() else { return };
    let text = format!("{mark}{}", facing(pose.bearing_deg(), ascii));
    let (column, row) = (
        canvas.column_of(footprint.centre.x),
        canvas.row_of(footprint.centre.y),
    );
    canvas.letter(column, row, &text);
}

/// An arrow the way a unit faces; in ASCII the point of the compass in small letters, for its slants would look the same
/// both ways.
fn facing(bearing_deg: f64, ascii: bool) -> String {
    if ascii {
        compass::letters(bearing_deg).to_lowercase()
    } else {
        compass::arrow(bearing_deg).to_string()
    }
}

/// Text in which every sign of the map and its rulers is one of ASCII that means nothing else there.
pub(super) fn to_ascii(text: &str) -> String {
    text.chars()
        .map(|sign| match sign {
            '▒' => '%',
            '█' => '@',
            ROAD => '.',
            '♣' => '&',
            '⌂' => 'h',
            '≈' => 'w',
            '▲' => 'a',
            '╪' => 'x',
            '⚑' => '$',
            '┤' | '├' => '+',
            '│' => '|',
            '–' => '-',
            '…' => '.',
            other => other,
        })
        .collect()
}

/// What the characters on this map mean, wrapped to a width.
pub(super) fn key(canvas: &Canvas, game: &Game, width: usize, ascii: bool) -> String {
    let scenario = game.scenario();
    let mut meanings = Vec::new();
    for index in 0..2 {
        let name = fieldpost_rules::sanitize::plain(&scenario.side[index].name);
        let name = super::key::fitted(&name, width - 2);
        meanings.push(format!("{} {name}", body_sign(index)));
    }
    let drawings: BTreeSet<(char, &str)> = scenario
        .terrain
        .iter()
        .filter_map(|patch| game.ruleset().terrain.get(&patch.kind))
        .map(|kind| patch_sign(patch_drawing(kind)))
        .chain(
            scenario
                .line
                .iter()
                .filter_map(|line| game.ruleset().lines.get(&line.kind))
                .map(|kind| line_sign(line_drawing(kind))),
        )
        .chain([(ROAD, "road"), CROSSING, OBJECTIVE])
        .collect();
    for (sign, word) in drawings {
        if canvas.shows(sign) {
            meanings.push(format!("{sign} {word}"));
        }
    }
    meanings.push(format!(
        "{}{} a unit and the way it faces",
        first_mark(game),
        facing(0.0, ascii)
    ));
    filled(&meanings, "   ", width)
}

fn first_mark(game: &Game) -> String {
    let marks = fieldpost_rules::game::marks(game);
    game.on_table()
        .find_map(|unit| marks.get(&unit.id).cloned())
        .unwrap_or_else(|| "A1".to_owned())
}

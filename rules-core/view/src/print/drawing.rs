//! The display list: what is printed, in millimetres of table, under things first.

use crate::svg::shape::{Course, Shape};
use crate::svg::{line_drawing, patch_drawing, patch_tint, side_inks};
use fieldpost_rules::game::marks;
use fieldpost_rules::game::{Game, State, Unit};
use fieldpost_rules::geometry::{Footprint, Point, Vector, larger, smaller};
use fieldpost_rules::ruleset::{Drawing, LineDrawing};
use fieldpost_rules::sanitize::plain;
use fieldpost_rules::scenario::{Edge, LineEntry};
use fieldpost_rules::verdict::rounding::amount;

use super::PrintOptions;

/// A colour of light, each part 0 to 1.
pub(super) type Ink = (f32, f32, f32);

pub(super) const BLACK: Ink = (0.12, 0.11, 0.1);
pub(super) const GREY: Ink = (0.62, 0.6, 0.56);
const WATER: Ink = (0.36, 0.56, 0.65);
const BROWN: Ink = (0.55, 0.42, 0.22);
const GREEN: Ink = (0.32, 0.47, 0.24);
const ROAD: Ink = (0.95, 0.91, 0.8);

/// Something to be printed.
#[derive(Debug, Clone, PartialEq)]
pub(super) enum Mark {
    /// Lines through points; rings are closed, and filled even–odd.
    Path {
        /// Each a run of points.
        runs: Vec<Vec<Point>>,
        /// Whether each run is closed.
        closed: bool,
        /// Ink inside.
        fill: Option<Ink>,
        /// Ink, width and dash (on and off) in millimetres.
        stroke: Option<(Ink, f64, Option<f64>)>,
    },
    /// Words whose middle is at a point.
    Words {
        /// Middle of the line they stand on.
        at: Point,
        /// Type size in millimetres.
        size: f64,
        /// Bold or not.
        bold: bool,
        /// Ink.
        ink: Ink,
        /// What they say.
        text: String,
    },
}

impl Mark {
    fn line(points: Vec<Point>, ink: Ink, width: f64) -> Self {
        Self::Path {
            runs: vec![points],
            closed: false,
            fill: None,
            stroke: Some((ink, width, None)),
        }
    }

    fn ring(
        points: Vec<Point>,
        fill: Option<Ink>,
        stroke: Option<(Ink, f64, Option<f64>)>,
    ) -> Self {
        Self::Path {
            runs: vec![points],
            closed: true,
            fill,
            stroke,
        }
    }

    fn words(at: Point, size: f64, bold: bool, ink: Ink, text: &str) -> Self {
        Self::Words {
            at,
            size,
            bold,
            ink,
            text: plain(text),
        }
    }

    /// South-west and north-east corner of what it covers, generously.
    pub(super) fn bounds(&self) -> (Point, Point) {
        match self {
            Self::Path { runs, stroke, .. } => {
                let grow = stroke.map_or(0.0, |(_, width, _)| width);
                let mut points = runs.iter().flatten();
                let first = points.next().copied().unwrap_or(Point::new(0.0, 0.0));
                let (mut low, mut high) = (first, first);
                for point in points {
                    low = Point::new(smaller(low.x, point.x), smaller(low.y, point.y));
                    high = Point::new(larger(high.x, point.x), larger(high.y, point.y));
                }
                let by = Vector::new(grow, grow);
                (low - by, high + by)
            }
            Self::Words { at, size, text, .. } => {
                let long = f64::from(u32::try_from(text.chars().count()).unwrap_or(999)) * size;
                let by = Vector::new(long / 2.0, *size);
                (*at - by, *at + by)
            }
        }
    }
}

/// The table as marks.
pub(super) fn of(game: &Game, options: &PrintOptions) -> Vec<Mark> {
    let mut marks = Vec::new();
    patches(&mut marks, game, options.tints);
    roads(&mut marks, game, options.tints);
    for entry in &game.scenario().line {
        line(&mut marks, game, entry);
    }
    objectives(&mut marks, game);
    place_names(&mut marks, game);
    if options.units {
        arrivals(&mut marks, game);
        units(&mut marks, game, options.tints);
    }
    edge_of_table(&mut marks, game);
    marks
}

fn edge_of_table(marks: &mut Vec<Mark>, game: &Game) {
    let table = &game.scenario().table;
    let corners = [
        (0.0, 0.0),
        (table.width_mm, 0.0),
        (table.width_mm, table.depth_mm),
        (0.0, table.depth_mm),
    ];
    marks.push(Mark::ring(
        corners.map(|(x, y)| Point::new(x, y)).to_vec(),
        None,
        Some((BLACK, 1.0, None)),
    ));
}

/// `#rrggbb` as light.
pub(super) fn light(colour: &str) -> Ink {
    let part = |at: usize| {
        let digits = colour.get(at..at + 2).unwrap_or("80");
        f32::from(u8::from_str_radix(digits, 16).unwrap_or(128)) / 255.0
    };
    (part(1), part(3), part(5))
}

fn patches(marks: &mut Vec<Mark>, game: &Game, tints: bool) {
    for patch in &game.scenario().terrain {
        let Some(kind) = game.ruleset().terrain.get(&patch.kind) else {
            continue;
        };
        let drawing = patch_drawing(kind);
        let (fill, edge) = patch_tint(drawing);
        let dash = match drawing {
            Drawing::Rough | Drawing::Marsh => Some(4.0),
            _ => None,
        };
        marks.push(Mark::Path {
            runs: Shape::new(&patch.outline, &patch.holes).rings().to_vec(),
            closed: true,
            fill: tints.then(|| light(fill)),
            stroke: Some((light(edge), 0.8, dash)),
        });
    }
}

fn roads(marks: &mut Vec<Mark>, game: &Game, tints: bool) {
    for road in &game.scenario().road {
        let points = Course::new(&road.points).points().to_vec();
        // the edge shows as the rim of a wider stroke under a lighter one
        marks.push(Mark::line(points.clone(), BROWN, road.width_mm));
        let bed = if tints { ROAD } else { (1.0, 1.0, 1.0) };
        marks.push(Mark::line(points, bed, larger(road.width_mm - 1.2, 0.1)));
    }
}

fn line(marks: &mut Vec<Mark>, game: &Game, entry: &LineEntry) {
    let Some(kind) = game.ruleset().lines.get(&entry.kind) else {
        return;
    };
    let course = Course::new(&entry.points);
    let (ink, width) = match line_drawing(kind) {
        LineDrawing::Stream => (WATER, 3.0),
        LineDrawing::Wall => (BLACK, 1.6),
        LineDrawing::Hedge => (GREEN, 2.4),
        LineDrawing::Slope => (BROWN, 0.8),
    };
    let cuts: Vec<(f64, f64)> = entry
        .span
        .iter()
        .map(|span| {
            let (along, _, _) = course.nearest(Point::new(span.at[0], span.at[1]));
            (along - span.width_mm / 2.0, along + span.width_mm / 2.0)
        })
        .collect();
    for piece in course.without(&cuts) {
        marks.push(Mark::line(piece, ink, width));
    }
    if line_drawing(kind) == LineDrawing::Slope {
        // teeth point downhill: the high side is on the left of the direction of drawing
        for (_, foot, way) in course.walked(12.0) {
            marks.push(Mark::line(
                vec![foot, foot + way.quarter_right() * 7.0],
                ink,
                0.5,
            ));
        }
    }
    for (span, (from, to)) in entry.span.iter().zip(&cuts) {
        for end in [course.at(*from), course.at(*to)] {
            let (_, foot, way) = course.nearest(end);
            let across = way.quarter_right() * 8.0;
            marks.push(Mark::line(vec![foot - across, foot + across], BLACK, 1.2));
        }
        if is_objective(game, &span.name) {
            continue;
        }
        let (_, middle, _) = course.nearest(Point::new(span.at[0], span.at[1]));
        marks.push(Mark::words(
            middle + Vector::new(0.0, -14.0),
            5.0,
            false,
            BLACK,
            &span.name,
        ));
    }
}

/// Whether an objective has this name, which is then printed there.
fn is_objective(game: &Game, name: &str) -> bool {
    let objectives = &game.scenario().objective;
    objectives.iter().any(|objective| objective.name == name)
}

fn objectives(marks: &mut Vec<Mark>, game: &Game) {
    for objective in &game.scenario().objective {
        let at = Point::new(objective.at[0], objective.at[1]);
        let around: Vec<Point> = (0..72)
            .map(|step| {
                let way = Vector::along_bearing(f64::from(step) / 72.0 * std::f64::consts::TAU);
                at + way * objective.radius_mm
            })
            .collect();
        marks.push(Mark::ring(around, None, Some((GREY, 0.4, Some(2.0)))));
        for arm in [Vector::new(5.0, 0.0), Vector::new(0.0, 5.0)] {
            marks.push(Mark::line(vec![at - arm, at + arm], BLACK, 0.8));
        }
        marks.push(Mark::words(
            at + Vector::new(0.0, 8.0),
            5.0,
            true,
            BLACK,
            &format!("{} ({})", objective.name, amount(objective.points)),
        ));
    }
}

fn place_names(marks: &mut Vec<Mark>, game: &Game) {
    let scenario = game.scenario();
    for patch in &scenario.terrain {
        if is_objective(game, &patch.name) {
            continue;
        }
        let shape = Shape::new(&patch.outline, &patch.holes);
        marks.push(Mark::words(inmost(&shape), 7.0, false, BLACK, &patch.name));
    }
    for entry in &scenario.line {
        beside(marks, &Course::new(&entry.points), 5.0, &entry.name);
    }
    for road in &scenario.road {
        beside(
            marks,
            &Course::new(&road.points),
            road.width_mm / 2.0,
            &road.name,
        );
    }
}

/// A name beside the middle of a course.
fn beside(marks: &mut Vec<Mark>, course: &Course, off_mm: f64, name: &str) {
    let places = course.walked(40.0);
    if let Some((_, at, way)) = places.get(places.len() / 2) {
        let across = way.quarter_right();
        let long = f64::from(u32::try_from(name.chars().count()).unwrap_or(60)) * 5.0 * 0.3;
        let off = off_mm + 3.0 + long * across.x.abs();
        marks.push(Mark::words(*at + across * off, 5.0, false, BROWN, name));
    }
}

/// Of a grid of places inside a shape, the one farthest from its edge.
fn inmost(shape: &Shape) -> Point {
    let (low, high) = shape.bounds();
    let mut best = low.towards(high, 0.5);
    let mut deepest = -1.0;
    for row in 1..24 {
        for column in 1..24 {
            let place = Point::new(
                low.x + (high.x - low.x) * f64::from(column) / 24.0,
                low.y + (high.y - low.y) * f64::from(row) / 24.0,
            );
            let depth = if shape.holds(place) {
                shape.to_edge_mm(place)
            } else {
                -1.0
            };
            if depth > deepest {
                (best, deepest) = (place, depth);
            }
        }
    }
    best
}

/// Bars along the edge where units still to come arrive.
fn arrivals(marks: &mut Vec<Mark>, game: &Game) {
    let table = &game.scenario().table;
    let names = marks_of(game);
    for unit in game.units() {
        let State::Waiting(arrival) = &unit.state else {
            continue;
        };
        let at = |along: f64, deep: f64| match arrival.edge {
            Edge::North => Point::new(along, table.depth_mm - deep),
            Edge::South => Point::new(along, deep),
            Edge::West => Point::new(deep, along),
            Edge::East => Point::new(table.width_mm - deep, along),
        };
        let (from, to) = (arrival.from_mm, arrival.to_mm);
        let (_, dark, _) = side_inks(game, unit.side);
        marks.push(Mark::ring(
            vec![at(from, 0.0), at(to, 0.0), at(to, 5.0), at(from, 5.0)],
            None,
            Some((light(&dark), 0.8, None)),
        ));
        let text = format!("{} from turn {}", names(unit), arrival.game_turn);
        marks.push(Mark::words(
            at(f64::midpoint(from, to), 18.0),
            5.0,
            false,
            light(&dark),
            &text,
        ));
    }
}

fn marks_of(game: &Game) -> impl Fn(&Unit) -> String {
    let marks = marks(game);
    move |unit| {
        marks
            .get(&unit.id)
            .cloned()
            .unwrap_or_else(|| unit.id.0.clone())
    }
}

fn units(marks: &mut Vec<Mark>, game: &Game, tints: bool) {
    let names = marks_of(game);
    for unit in game.on_table() {
        let Some(footprint) = unit.footprint() else {
            continue;
        };
        let (pale, dark, _) = side_inks(game, unit.side);
        let dark = light(&dark);
        let fill = if tints { light(&pale) } else { (1.0, 1.0, 1.0) };
        marks.push(Mark::ring(
            footprint.corners().to_vec(),
            Some(fill),
            Some((dark, 0.6, None)),
        ));
        bases(marks, unit, &footprint, dark);
        let (left, right) = (footprint.front_left(), footprint.front_right());
        marks.push(Mark::line(vec![left, right], dark, 1.6));
        let (anchor, ahead, across) = (footprint.anchor(), footprint.ahead, footprint.right());
        marks.push(Mark::ring(
            vec![
                anchor - across * 5.0,
                anchor + ahead * 7.0,
                anchor + across * 5.0,
            ],
            Some(if unit.side == 0 {
                dark
            } else {
                (1.0, 1.0, 1.0)
            }),
            Some((dark, 0.6, None)),
        ));
        let size = smaller(footprint.half_depth * 0.7, 12.0);
        marks.push(Mark::words(
            footprint.centre,
            size,
            true,
            dark,
            &names(unit),
        ));
        // the name stands behind the unit, where it is read from the player's own side
        let behind = footprint.at(0.0, -footprint.half_depth - 4.0);
        marks.push(Mark::words(behind, 4.0, false, dark, &unit.name));
    }
}

/// Lines between the bases.
fn bases(marks: &mut Vec<Mark>, unit: &Unit, footprint: &Footprint, ink: Ink) {
    let (wide, deep) = unit.base_mm;
    let (across, back) = (footprint.half_frontage, footprint.half_depth);
    for file in 1..unit.files {
        let x = f64::from(file) * wide - across;
        marks.push(Mark::line(
            vec![footprint.at(x, back), footprint.at(x, -back)],
            ink,
            0.25,
        ));
    }
    for rank in 1..unit.ranks() {
        let y = back - f64::from(rank) * deep;
        marks.push(Mark::line(
            vec![footprint.at(-across, y), footprint.at(across, y)],
            ink,
            0.25,
        ));
    }
}

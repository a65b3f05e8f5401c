//! What is named on the map, and where each name may stand.

use fieldpost_rules::geometry::{Footprint, Point, Vector, larger, smaller};
use fieldpost_rules::ruleset::{Drawing, LineDrawing};

use super::frame::points_of;
use super::labels::{Board, Spot, Style, Whose, box_of, line_box, round_a_unit, touch};
use super::shape::{Course, Shape};
use super::{Names, Picture, ghosts, lines, palette, terrain, units, zones};
use crate::words::points;
use fieldpost_rules::game::{State, Unit};
use fieldpost_rules::verdict::rounding::amount;

/// A board on which nothing is in the way yet.
pub(super) fn empty_board(picture: &Picture) -> Board {
    let frame = &picture.frame;
    let far = Point::new(
        frame.corner.x + frame.width(),
        frame.corner.y + frame.height(),
    );
    let mut board = Board::new(
        Point::new(frame.corner.x + 3.0, frame.corner.y + 3.0),
        Point::new(far.x - 3.0, far.y - 3.0),
    );
    board.draw_lines(drawn_lines(picture));
    board
}

/// A board on which every unit shown is in the way.
pub(super) fn board(picture: &Picture) -> Board {
    let mut board = empty_board(picture);
    for (unit, footprint) in standing(picture) {
        board.block_unit(with_arrow(picture, unit, &footprint));
    }
    ghosts::block(&mut board, picture);
    if picture.options.arrivals {
        for bar in zones::edge_bars(picture) {
            board.block_labels(bar);
        }
    }
    board
}

/// So many pixels of a unit must be in view for it to be named.
const IN_VIEW: f64 = 3.0;

fn standing<'a>(picture: &Picture<'a>) -> Vec<(&'a Unit, Footprint)> {
    let deep_mm = IN_VIEW / picture.frame.scale;
    picture
        .game
        .on_table()
        .filter_map(|unit| Some((unit, unit.footprint()?)))
        .filter(|(_, footprint)| picture.shows_round(footprint, -deep_mm))
        .map(|(unit, footprint)| (unit, on_picture(picture, &footprint)))
        .collect()
}

/// Places every name of the picture, units first; how many of units and of ground found no place.
pub(super) fn letter(board: &mut Board, picture: &Picture) -> (usize, usize) {
    let before = board.left_out();
    let units_unnamed = letter_units(board, picture);
    letter_ground(board, picture);
    (units_unnamed, board.left_out() - before - units_unnamed)
}

/// Places the names of what does not move.
pub(super) fn letter_ground(board: &mut Board, picture: &Picture) {
    name_objectives(board, picture);
    name_patches(board, picture);
    name_lines(board, picture);
}

/// Places the names of what moves or comes; how many units found no place.
pub(super) fn letter_units(board: &mut Board, picture: &Picture) -> usize {
    let before = board.left_out();
    name_units(board, picture, &standing(picture));
    let units_unnamed = board.left_out() - before;
    name_edges(board, picture);
    units_unnamed
}

/// A footprint of the table in pixels.
pub(super) fn on_picture(picture: &Picture, footprint: &Footprint) -> Footprint {
    let frame = &picture.frame;
    Footprint {
        centre: frame.at(footprint.centre),
        ahead: frame.way(footprint.ahead),
        half_frontage: frame.long(footprint.half_frontage),
        half_depth: frame.long(footprint.half_depth),
    }
}

/// The unit's box grown by its outline, and forward over its arrow.
fn with_arrow(picture: &Picture, unit: &Unit, footprint: &Footprint) -> Footprint {
    let arrow = unit
        .footprint()
        .map_or(0.0, |own| units::arrow_px(&picture.frame, &own))
        + 2.0;
    // the broken line of disorder stands behind the rear edge
    let behind = if unit.disorder > 0 { 7.0 } else { 0.0 };
    Footprint {
        centre: footprint.centre + footprint.ahead * ((arrow - behind) / 2.0),
        half_frontage: footprint.half_frontage + 1.0,
        half_depth: footprint.half_depth + (arrow + behind) / 2.0 + 1.0,
        ..*footprint
    }
}

fn unit_style(picture: &Picture, unit: &Unit) -> Style {
    Style {
        size: picture.options.letters_px,
        bold: true,
        of_place: false,
        ink: picture.side(unit).dark.clone(),
    }
}

fn name_units(board: &mut Board, picture: &Picture, standing: &[(&Unit, Footprint)]) {
    let crowd = |place: Point| {
        standing
            .iter()
            .filter(|(_, other)| other.centre.distance_to(place) < 170.0)
            .count()
    };
    let mut order: Vec<(usize, &Unit, &Footprint)> = standing
        .iter()
        .map(|(unit, footprint)| (crowd(footprint.centre), *unit, footprint))
        .collect();
    // the most crowded choose first; ids settle ties
    order.sort_by(|a, b| b.0.cmp(&a.0).then_with(|| a.1.id.cmp(&b.1.id)));
    for (_, unit, footprint) in order {
        let Some(text) = unit_text(picture, unit) else {
            continue;
        };
        let style = unit_style(picture, unit);
        let around = with_arrow(picture, unit, footprint);
        let mark = picture.mark(unit);
        let whose = Whose {
            unit: unit.id.0.clone(),
            ground: around,
            mark: mark.len(),
        };
        let texts = [
            (text.as_str(), round_a_unit(&text, &style, &around)),
            (mark.as_str(), round_a_unit(&mark, &style, &around)),
        ];
        board.place_one_of(&texts, &style, Some(&whose));
    }
}

fn unit_text(picture: &Picture, unit: &Unit) -> Option<String> {
    match picture.options.names {
        Names::Full => Some(format!("{} {}", picture.mark(unit), unit.name)),
        Names::Marks => Some(picture.mark(unit)),
        Names::None => None,
    }
}

fn place_style(ink: &str, size: f64) -> Style {
    Style {
        size,
        bold: false,
        of_place: true,
        ink: ink.to_owned(),
    }
}

/// When and who arrives, along the bars on the edge.
fn name_edges(board: &mut Board, picture: &Picture) {
    if !picture.options.arrivals {
        return;
    }
    let frame = &picture.frame;
    let mut bars: Vec<(String, Style, (Point, Point, Vector))> = Vec::new();
    for unit in picture.game.units() {
        if let State::Waiting(arrival) = &unit.state {
            let text = format!("{} from turn {}", picture.mark(unit), arrival.game_turn);
            let mut style = unit_style(picture, unit);
            style.size -= 1.0;
            style.bold = false;
            bars.push((
                text,
                style,
                zones::stretch(picture, arrival.edge, arrival.from_mm, arrival.to_mm),
            ));
        }
    }
    let drawn = drawn_lines(picture);
    for (text, style, (from, to, inward)) in bars {
        let inward = frame.way(inward);
        let mut spots = Vec::new();
        for share in [0.5, 0.35, 0.65, 0.2, 0.8, 0.05, 0.95] {
            for (number, deep) in [30.0, 44.0, 58.0, 74.0, 90.0].into_iter().enumerate() {
                let foot = frame.at(from.towards(to, share));
                let sideways =
                    inward.x.abs() * super::letters::width(&text, style.size, false) / 2.0;
                let middle = foot + inward * (deep + sideways);
                let cost = (share - 0.5).abs() * 20.0
                    + f64::from(u32::try_from(number).unwrap_or(9)) * 12.0
                    + crowding(board, &drawn, &text, &style, middle);
                spots.push(Spot::upright(middle, cost));
            }
        }
        board.place(&text, &style, spots);
    }
}

/// How unwelcome a place is because a drawn line would strike through the text, or a unit stand close beside it.
fn crowding(board: &Board, drawn: &[Footprint], text: &str, style: &Style, middle: Point) -> f64 {
    let bounds = box_of(text, style, &Spot::upright(middle, 0.0));
    let is_struck = drawn.iter().any(|line| touch(&bounds, line, 1.0));
    let is_close = board.obstacles().any(|unit| touch(&bounds, unit, 7.0));
    (if is_struck { 60.0 } else { 0.0 }) + (if is_close { 30.0 } else { 0.0 })
}

/// The edges of roads, and what runs as one line, in pixels.
pub(super) fn drawn_lines(picture: &Picture) -> Vec<Footprint> {
    let (scenario, frame) = (picture.game.scenario(), &picture.frame);
    let roads = scenario.road.iter().flat_map(|road| {
        let half_px = frame.long(road.width_mm / 2.0);
        [half_px, -half_px].map(|off| (&road.points, off))
    });
    let lines = scenario.line.iter().map(|line| (&line.points, 0.0));
    let mut found = Vec::new();
    for (points, off) in roads.chain(lines) {
        for pair in frame.all(&points_of(points)).windows(2) {
            if let Some(way) = (pair[1] - pair[0]).unit() {
                let aside = way.quarter_right() * off;
                found.extend(line_box(pair[0] + aside, pair[1] + aside));
            }
        }
    }
    found
}

fn name_objectives(board: &mut Board, picture: &Picture) {
    for objective in &picture.game.scenario().objective {
        let foot = Point::new(objective.at[0], objective.at[1]);
        if !picture.frame.part.holds(foot, 0.0) {
            continue;
        }
        let at = picture.frame.at(foot);
        // what stands under a patch's own name need not be named twice
        let is_named =
            (picture.game.scenario().terrain.iter()).any(|patch| patch.name == objective.name);
        let text = if is_named {
            points(objective.points)
        } else {
            format!("{} ({})", objective.name, amount(objective.points))
        };
        let style = Style {
            size: 11.0,
            bold: true,
            of_place: true,
            ink: palette::PLACE.to_owned(),
        };
        let flag = Footprint {
            centre: Point::new(at.x + 5.0, at.y - 9.0),
            ahead: Vector::new(0.0, -1.0),
            half_frontage: 9.0,
            half_depth: 12.0,
        };
        let spots = round_a_unit(&text, &style, &flag);
        board.place(&text, &style, spots);
    }
}

/// Names of patches: inside, far from the edge and near the middle; else beside it.
fn name_patches(board: &mut Board, picture: &Picture) {
    let frame = &picture.frame;
    for patch in &picture.game.scenario().terrain {
        let Some(kind) = picture.game.ruleset().terrain.get(&patch.kind) else {
            continue;
        };
        let shape = Shape::new(&patch.outline, &patch.holes);
        let (low, high) = shape.bounds();
        if !frame
            .part
            .holds(low.towards(high, 0.5), (high - low).length() / 2.0)
        {
            continue;
        }
        let ink = match terrain::drawing_of(kind) {
            Drawing::Water | Drawing::Marsh => palette::WATER_INK,
            _ => palette::PLACE,
        };
        let room = frame.long(smaller(high.x - low.x, (high.y - low.y) * 3.0));
        let size = larger(smaller(room * 0.11, 17.0), 11.0);
        let style = place_style(ink, size);
        board.place(
            &patch.name,
            &style,
            in_patch(picture, &shape, &patch.name, size),
        );
    }
}

fn in_patch(picture: &Picture, shape: &Shape, text: &str, size: f64) -> Vec<Spot> {
    let frame = &picture.frame;
    let (low, high) = shape.bounds();
    let middle = low.towards(high, 0.5);
    let half_mm = super::letters::width(text, size, false) / 2.0 / frame.scale;
    let mut spots = Vec::new();
    let steps = 16;
    for row in 0..=steps {
        for column in 0..=steps {
            let share = |step: i32| f64::from(step) / f64::from(steps);
            let place = Point::new(
                low.x + (high.x - low.x) * share(column),
                low.y + (high.y - low.y) * share(row),
            );
            if !shape.holds(place) {
                continue;
            }
            let ends = [Vector::new(half_mm, 0.0), Vector::new(-half_mm, 0.0)];
            let outside = ends
                .iter()
                .filter(|end| !shape.holds(place + **end))
                .count();
            let spill = f64::from(u32::try_from(outside).unwrap_or(2)) * 30.0;
            let off = frame.long(place.distance_to(middle)) * 0.25;
            let deep = smaller(frame.long(shape.to_edge_mm(place)), 40.0);
            spots.push(Spot::upright(frame.at(place), spill + off - deep));
        }
    }
    let (top, bottom) = (frame.at(high).y - size, frame.at(low).y + size);
    for (y, cost) in [(top, 120.0), (bottom, 121.0)] {
        for share in [0.5, 0.3, 0.7, 0.1, 0.9] {
            let x = frame
                .at(Point::new(low.x + (high.x - low.x) * share, low.y))
                .x;
            spots.push(Spot::upright(
                Point::new(x, y),
                cost + (share - 0.5_f64).abs() * 10.0,
            ));
        }
    }
    spots
}

/// Names of streams, walls and roads run along them, above or below; those of bridges, fords
/// and gaps stand beside.
fn name_lines(board: &mut Board, picture: &Picture) {
    let scenario = picture.game.scenario();
    for line in &scenario.line {
        let Some(kind) = picture.game.ruleset().lines.get(&line.kind) else {
            continue;
        };
        let ink = if lines::drawing_of(kind) == LineDrawing::Stream {
            palette::WATER_INK
        } else {
            palette::PLACE
        };
        let course = Course::new(&line.points);
        for span in &line.span {
            if scenario
                .objective
                .iter()
                .any(|objective| objective.name == span.name)
            {
                continue;
            }
            let (_, middle, _) = course.nearest(Point::new(span.at[0], span.at[1]));
            if picture.frame.part.holds(middle, 0.0) {
                let style = place_style(palette::PLACE, 11.0);
                let spots = beside(picture, middle, span.width_mm / 2.0, &span.name, &style);
                board.place(&span.name, &style, spots);
            }
        }
        along(
            board,
            picture,
            &course,
            &line.name,
            &place_style(ink, 12.0),
            8.0,
        );
    }
    for road in &scenario.road {
        let off = picture.frame.long(road.width_mm / 2.0) + 3.0;
        let course = Course::new(&road.points);
        along(
            board,
            picture,
            &course,
            &road.name,
            &place_style(palette::PLACE, 11.5),
            off,
        );
    }
}

fn beside(picture: &Picture, middle: Point, half_mm: f64, text: &str, style: &Style) -> Vec<Spot> {
    let reach = larger(picture.frame.long(half_mm), 6.0) + 4.0;
    let box_ = Footprint {
        centre: picture.frame.at(middle),
        ahead: Vector::new(0.0, -1.0),
        half_frontage: reach,
        half_depth: smaller(larger(reach * 0.6, 9.0), 14.0),
    };
    round_a_unit(text, style, &box_)
}

/// Names of lines stand better on open ground.
fn in_patches(picture: &Picture, place: Point) -> f64 {
    let hit = picture
        .game
        .scenario()
        .terrain
        .iter()
        .any(|patch| Shape::new(&patch.outline, &patch.holes).holds(place));
    if hit { 25.0 } else { 0.0 }
}

fn along(
    board: &mut Board,
    picture: &Picture,
    course: &Course,
    text: &str,
    style: &Style,
    off: f64,
) {
    let frame = &picture.frame;
    let half_mm = super::letters::width(text, style.size, style.bold) / 2.0 / frame.scale;
    let mut spots = Vec::new();
    let mut seen = false;
    for (walked, place, _) in course.walked(12.0 / frame.scale) {
        if !frame.part.holds(place, -half_mm * 0.5) {
            seen |= frame.part.holds(place, 0.0);
            continue;
        }
        seen = true;
        // the chord under the whole text, so that a bend does not cut through it
        let (start, end) = (course.at(walked - half_mm), course.at(walked + half_mm));
        let Some(chord) = (end - start).unit() else {
            continue;
        };
        let way = frame.way(chord);
        let way = if way.x < -1e-9 || (way.x.abs() <= 1e-9 && way.y > 0.0) {
            -way
        } else {
            way
        };
        let bow =
            frame.long(course.farthest_between_mm(walked - half_mm, walked + half_mm, start, end));
        let middle = frame.at(start.towards(end, 0.5));
        for (side, cost) in [(1.0, 0.0), (-1.0, 2.0)] {
            // quarter right of a way on the picture points up the page
            let up = way.quarter_right() * side;
            let stand = off + style.size * 0.5 + bow;
            spots.push(Spot {
                middle: middle + up * stand,
                along: way,
                cost: cost
                    + bow * 3.0
                    + way.y.abs() * 12.0
                    + in_patches(picture, start.towards(end, 0.5)),
                leader_to: None,
            });
        }
    }
    if seen {
        board.place(text, style, spots);
    }
}

//! Streams, walls, hedges, slope edges and roads, with their bridges, fords and gaps.

use fieldpost_rules::geometry::{Point, Vector, larger};
use fieldpost_rules::ruleset::{LineDrawing, LineKind};
use fieldpost_rules::scenario::LineEntry;

use super::Picture;
use super::palette;
use super::pen::{Pen, Trace};
use super::shape::Course;

/// How a kind is drawn when its author does not say.
pub(crate) fn drawing_of(kind: &LineKind) -> LineDrawing {
    kind.drawn_as.unwrap_or(if kind.slope {
        LineDrawing::Slope
    } else {
        LineDrawing::Wall
    })
}

struct Crossing<'a> {
    name: &'a str,
    from_mm: f64,
    to_mm: f64,
    middle: Point,
    way: Vector,
    half_mm: f64,
}

fn crossings<'a>(entry: &'a LineEntry, course: &Course) -> Vec<Crossing<'a>> {
    entry
        .span
        .iter()
        .map(|span| {
            let (along, middle, way) = course.nearest(Point::new(span.at[0], span.at[1]));
            let half_mm = span.width_mm / 2.0;
            Crossing {
                name: &span.name,
                from_mm: along - half_mm,
                to_mm: along + half_mm,
                middle,
                way,
                half_mm,
            }
        })
        .collect()
}

/// Lines that are drawn in some ways, each a part of its own.
fn each_line(
    pen: &mut Pen,
    picture: &Picture,
    of: &[LineDrawing],
    mut draw: impl FnMut(&mut Pen, LineDrawing, &Course, &[Crossing]),
) {
    for (index, entry) in picture.game.scenario().line.iter().enumerate() {
        let kind = picture.game.ruleset().lines.get(&entry.kind);
        let Some(drawing) = kind.map(drawing_of).filter(|drawing| of.contains(drawing)) else {
            continue;
        };
        let course = Course::new(&entry.points);
        let crossings = crossings(entry, &course);
        let said = [("name", entry.name.as_str()), ("kind", &entry.kind)];
        picture.open_part(pen, "line", &index.to_string(), &said);
        draw(pen, drawing, &course, &crossings);
        picture.close_part(pen);
    }
}

/// What lies flat: streams, then roads over them, then bridges and fords, and slopes.
pub(super) fn draw_ground_lines(pen: &mut Pen, picture: &Picture) {
    each_line(
        pen,
        picture,
        &[LineDrawing::Slope],
        |pen, _, course, crossings| {
            slope(pen, picture, course, crossings);
        },
    );
    each_line(pen, picture, &[LineDrawing::Stream], |pen, _, course, _| {
        stream(pen, picture, course);
    });
    roads(pen, picture);
    for entry in &picture.game.scenario().line {
        let kind = picture.game.ruleset().lines.get(&entry.kind);
        if kind.map(drawing_of) == Some(LineDrawing::Stream) {
            stream_crossings(pen, picture, &crossings(entry, &Course::new(&entry.points)));
        }
    }
}

/// Bridges and fords, which lie over roads.
fn stream_crossings(pen: &mut Pen, picture: &Picture, crossings: &[Crossing]) {
    for crossing in crossings {
        if crossing.name.to_lowercase().contains("ford") {
            ford(pen, picture, crossing);
        } else {
            bridge(pen, picture, crossing);
        }
    }
}

/// What stands up: walls and hedges.
pub(super) fn draw_standing_lines(pen: &mut Pen, picture: &Picture) {
    let standing = [LineDrawing::Wall, LineDrawing::Hedge];
    each_line(
        pen,
        picture,
        &standing,
        |pen, drawing, course, crossings| {
            if drawing == LineDrawing::Wall {
                wall(pen, picture, course, crossings);
            } else {
                hedge(pen, picture, course, crossings);
            }
        },
    );
}

fn stream_width(picture: &Picture) -> f64 {
    larger(picture.base_width_px() * 0.17, 3.0)
}

fn stream(pen: &mut Pen, picture: &Picture, course: &Course) {
    let trace = Trace::new().course(&picture.frame.all(course.points()));
    let width = stream_width(picture);
    pen.path(&trace).hollow(palette::BANK, width).round().done();
    pen.path(&trace)
        .hollow(palette::WATER, width - 1.8)
        .round()
        .done();
}

fn roads(pen: &mut Pen, picture: &Picture) {
    for (colour, wider) in [("#a39072", 2.0), ("#f5ecd2", 0.0)] {
        for road in &picture.game.scenario().road {
            let points = Course::new(&road.points);
            pen.path(&Trace::new().course(&picture.frame.all(points.points())))
                .hollow(colour, picture.frame.long(road.width_mm) + wider)
                .attr("stroke-linejoin", "round")
                .done();
        }
    }
}

fn bridge(pen: &mut Pen, picture: &Picture, crossing: &Crossing) {
    let frame = &picture.frame;
    let across = crossing.way.quarter_right();
    let reach = (stream_width(picture) / 2.0 + 4.0) / frame.scale;
    let at = |along: f64, out: f64| {
        frame.at(crossing.middle
            + crossing.way * (along * crossing.half_mm)
            + across * (out * reach))
    };
    pen.path(&Trace::new().ring(&[at(-1.0, -1.0), at(1.0, -1.0), at(1.0, 1.0), at(-1.0, 1.0)]))
        .fill("#f1e4c0")
        .done();
    let mut parapets = Trace::new();
    for side in [-1.0, 1.0] {
        parapets = parapets
            .to(at(side * 1.22, -1.35))
            .line(at(side, -1.0))
            .line(at(side, 1.0))
            .line(at(side * 1.22, 1.35));
    }
    pen.path(&parapets).hollow("#574a3a", 2.0).round().done();
}

fn ford(pen: &mut Pen, picture: &Picture, crossing: &Crossing) {
    let frame = &picture.frame;
    let across = crossing.way.quarter_right();
    let reach = (stream_width(picture) / 2.0 + 4.0) / frame.scale;
    let at = |along: f64, out: f64| {
        frame.at(crossing.middle
            + crossing.way * (along * crossing.half_mm)
            + across * (out * reach))
    };
    pen.path(&Trace::new().ring(&[at(-1.0, -0.5), at(1.0, -0.5), at(1.0, 0.5), at(-1.0, 0.5)]))
        .fill("#d9e4d6")
        .opacity(0.9)
        .done();
    let mut steps = Trace::new();
    for side in [-1.0, -0.34, 0.34, 1.0] {
        steps = steps.to(at(side, -1.0)).line(at(side, 1.0));
    }
    pen.path(&steps)
        .hollow("#4f6f7d", 1.6)
        .dashed("2 2.4")
        .done();
}

fn cuts(crossings: &[Crossing]) -> Vec<(f64, f64)> {
    crossings.iter().map(|c| (c.from_mm, c.to_mm)).collect()
}

fn wall(pen: &mut Pen, picture: &Picture, course: &Course, crossings: &[Crossing]) {
    let mut trace = Trace::new();
    for piece in course.without(&cuts(crossings)) {
        trace = trace.course(&picture.frame.all(&piece));
    }
    let width = larger(picture.base_width_px() * 0.12, 3.4);
    pen.path(&trace)
        .hollow("#5a5145", width)
        .attr("stroke-linejoin", "round")
        .done();
    pen.path(&trace)
        .hollow("#c8bda6", width - 1.8)
        .dashed("6 1.6")
        .done();
    posts(pen, picture, crossings, "#5a5145");
}

fn hedge(pen: &mut Pen, picture: &Picture, course: &Course, crossings: &[Crossing]) {
    let mut trace = Trace::new();
    for piece in course.without(&cuts(crossings)) {
        trace = trace.course(&picture.frame.all(&piece));
    }
    let width = larger(picture.base_width_px() * 0.15, 4.0);
    pen.path(&trace)
        .hollow("#4f6d3f", width * 0.7)
        .round()
        .done();
    let clear = cuts(crossings);
    let radius_mm = width * 0.55 / picture.frame.scale;
    pen.group().fill("#87a264").stroke("#4f6d3f", 0.8).open();
    for (along, place, _) in course.walked(radius_mm * 1.7) {
        if !clear.iter().any(|(from, to)| along > *from && along < *to) {
            pen.circle(picture.frame.at(place), width * 0.5).done();
        }
    }
    pen.close("g");
    posts(pen, picture, crossings, "#4f4433");
}

/// Both ends of a gap.
fn posts(pen: &mut Pen, picture: &Picture, crossings: &[Crossing], colour: &str) {
    for crossing in crossings {
        for side in [-1.0, 1.0] {
            let post = crossing.middle + crossing.way * (side * crossing.half_mm);
            pen.circle(picture.frame.at(post), 2.6).fill(colour).done();
        }
    }
}

/// The edge, with wedges down the slope: the low side is on the right of its drawing.
fn slope(pen: &mut Pen, picture: &Picture, course: &Course, crossings: &[Crossing]) {
    let frame = &picture.frame;
    let bw = picture.game.ruleset().scale.base_width_mm;
    let clear = cuts(crossings);
    let mut wedges = Trace::new();
    for (index, (along, place, way)) in course.walked(bw * 0.13).into_iter().enumerate() {
        if clear.iter().any(|(from, to)| along > *from && along < *to) {
            continue;
        }
        let down = way.quarter_right();
        let long = bw * if index % 2 == 0 { 0.42 } else { 0.26 };
        let half = way * (bw * 0.03);
        wedges = wedges.ring(&[
            frame.at(place - half),
            frame.at(place + half),
            frame.at(place + down * long),
        ]);
    }
    pen.path(&wedges).fill("#8a6a42").opacity(0.85).done();
    for piece in course.without(&clear) {
        pen.path(&Trace::new().course(&frame.all(&piece)))
            .hollow("#8a6a42", 1.4)
            .round()
            .done();
    }
}

/// A bit of a line, in a swatch 28 by 12 pixels.
pub(super) fn sample(pen: &mut Pen, drawing: LineDrawing, at: Point) {
    let there = |x: f64, y: f64| Point::new(at.x + x, at.y + y);
    let trace = Trace::new().to(there(0.0, 6.0)).line(there(28.0, 6.0));
    match drawing {
        LineDrawing::Stream => {
            pen.path(&trace).hollow(palette::BANK, 5.0).done();
            pen.path(&trace).hollow(palette::WATER, 3.2).done();
        }
        LineDrawing::Wall => {
            pen.path(&trace).hollow("#5a5145", 4.4).done();
            pen.path(&trace)
                .hollow("#c8bda6", 2.6)
                .dashed("6 1.6")
                .done();
        }
        LineDrawing::Hedge => {
            for x in [3.0, 8.5, 14.0, 19.5, 25.0] {
                pen.circle(there(x, 6.0), 3.2)
                    .fill("#87a264")
                    .stroke("#4f6d3f", 0.8)
                    .done();
            }
        }
        LineDrawing::Slope => {
            let mut wedges = Trace::new();
            for x in [2.0, 7.0, 12.0, 17.0, 22.0, 27.0] {
                wedges = wedges.ring(&[there(x - 1.2, 3.0), there(x + 1.2, 3.0), there(x, 11.0)]);
            }
            pen.path(&wedges).fill("#8a6a42").done();
            pen.line(there(0.0, 3.0), there(28.0, 3.0))
                .stroke("#8a6a42", 1.2)
                .done();
        }
    }
}

//! Patches of terrain: tint first, then what grows or stands on them.

use fieldpost_rules::geometry::{Point, Vector, larger};
use fieldpost_rules::ruleset::{Drawing, TerrainKind};
use fieldpost_rules::scenario::Patch;

use super::frame::Frame;
use super::palette;
use super::pen::{Pen, Trace};
use super::shape::{Course, Shape, shaken};
use super::{Picture, lines};

/// How a kind is drawn when its author does not say.
pub(crate) fn drawing_of(kind: &TerrainKind) -> Drawing {
    kind.drawn_as.unwrap_or({
        if kind.impassable {
            Drawing::Crag
        } else if kind.high {
            Drawing::Hill
        } else if kind.blocks_sight {
            Drawing::Wood
        } else if kind.defence > 1.0 && kind.rate <= 1.0 {
            Drawing::Village
        } else if kind.rate > 1.0 {
            Drawing::Rough
        } else {
            Drawing::Field
        }
    })
}

/// Low ground is drawn before what stands on it.
fn layer(drawing: Drawing) -> u8 {
    match drawing {
        Drawing::Hill => 0,
        Drawing::Field => 1,
        Drawing::Rough => 2,
        Drawing::Marsh => 3,
        Drawing::Water => 4,
        Drawing::Village => 5,
        Drawing::Crag => 6,
        Drawing::Wood => 7,
    }
}

/// Tint and edge of each drawing.
pub(crate) fn tint(drawing: Drawing) -> (&'static str, &'static str) {
    match drawing {
        Drawing::Hill => ("#e3d8b4", "#b49a68"),
        Drawing::Field => ("#ece2b4", "#b8a566"),
        Drawing::Rough => ("#dcd3b3", "#a3946a"),
        Drawing::Marsh => ("#d3dfcd", "#86a59a"),
        Drawing::Water => (palette::WATER, palette::BANK),
        Drawing::Village => ("#ddd0bd", "#a08c74"),
        Drawing::Crag => ("#cbc4b8", "#77705f"),
        Drawing::Wood => ("#c3d0a2", "#6f8c57"),
    }
}

struct Drawn<'a> {
    index: usize,
    patch: &'a Patch,
    drawing: Drawing,
    shape: Shape,
}

/// All patches, low ones first, with roads and lines between the tints and what stands up.
pub(super) fn draw(pen: &mut Pen, picture: &Picture) {
    let mut patches: Vec<Drawn> = picture
        .game
        .scenario()
        .terrain
        .iter()
        .enumerate()
        .filter_map(|(index, patch)| {
            let kind = picture.game.ruleset().terrain.get(&patch.kind)?;
            Some(Drawn {
                index,
                patch,
                drawing: drawing_of(kind),
                shape: Shape::new(&patch.outline, &patch.holes),
            })
        })
        .collect();
    patches.sort_by_key(|drawn| (layer(drawn.drawing), drawn.index));
    for drawn in &patches {
        draw_tint(pen, picture, drawn);
    }
    lines::draw_ground_lines(pen, picture);
    for drawn in &patches {
        draw_growth(pen, picture, drawn);
    }
    lines::draw_standing_lines(pen, picture);
}

fn outline(frame: &Frame, shape: &Shape) -> Trace {
    let mut trace = Trace::new();
    for ring in shape.rings() {
        trace = trace.ring(&frame.all(ring));
    }
    trace
}

fn draw_tint(pen: &mut Pen, picture: &Picture, drawn: &Drawn) {
    let Patch { name, kind, .. } = drawn.patch;
    let said = [("name", name.as_str()), ("kind", kind)];
    picture.open_part(pen, "ground", &drawn.index.to_string(), &said);
    draw_tint_of(pen, picture, drawn);
    picture.close_part(pen);
}

fn draw_tint_of(pen: &mut Pen, picture: &Picture, drawn: &Drawn) {
    let (fill, edge) = tint(drawn.drawing);
    let trace = outline(&picture.frame, &drawn.shape);
    pen.path(&trace)
        .fill(fill)
        .attr("fill-rule", "evenodd")
        .done();
    match drawn.drawing {
        Drawing::Hill => rings_inside(pen, picture, drawn, &["#e9dfbe", "#eee5c8"], false),
        Drawing::Water => rings_inside(pen, picture, drawn, &["#a5c7d1", "#b4d0d8"], true),
        _ => {}
    }
    let width = if drawn.drawing == Drawing::Water {
        1.6
    } else {
        1.1
    };
    let edge = pen.path(&trace).hollow(edge, width).round();
    match drawn.drawing {
        Drawing::Rough | Drawing::Marsh => edge.dashed("4 3").done(),
        _ => edge.done(),
    }
}

/// Bands that follow the edge on the inside: heights grow lighter, waters deeper.
fn rings_inside(pen: &mut Pen, picture: &Picture, drawn: &Drawn, tints: &[&str], shore: bool) {
    let id = picture.id(&format!("patch-{}", drawn.index));
    let trace = outline(&picture.frame, &drawn.shape);
    pen.element("clipPath").attr("id", &id).open();
    pen.path(&trace).attr("clip-rule", "evenodd").done();
    pen.close("clipPath");
    let clip = format!("url(#{id})");
    let bw = picture.base_width_px();
    let widths = if shore { [1.3, 0.55] } else { [3.0, 1.5] };
    // the fill is the innermost tint; each stroke, narrower than the one before, covers its edge
    let inner = tints[tints.len() - 1];
    pen.path(&trace)
        .fill(inner)
        .attr("fill-rule", "evenodd")
        .done();
    let (outer, _) = tint(drawn.drawing);
    for (colour, width) in [(tints[0], widths[0]), (outer, widths[1])] {
        pen.path(&trace)
            .hollow(colour, bw * width)
            .attr("stroke-linejoin", "round")
            .attr("clip-path", &clip)
            .done();
    }
}

fn draw_growth(pen: &mut Pen, picture: &Picture, drawn: &Drawn) {
    let bw = picture.game.ruleset().scale.base_width_mm;
    let seed = u64::try_from(drawn.index).unwrap_or(0) + 1;
    let roads = clear_of_roads(picture);
    match drawn.drawing {
        Drawing::Wood => trees(pen, &picture.frame, &drawn.shape, bw, seed, &roads),
        Drawing::Rough => tufts(pen, &picture.frame, &drawn.shape, bw, seed, &roads),
        Drawing::Village => houses(pen, &picture.frame, &drawn.shape, bw, seed, &roads),
        Drawing::Marsh => reeds(pen, &picture.frame, &drawn.shape, bw, seed),
        Drawing::Water => ripples(pen, &picture.frame, &drawn.shape, bw, seed),
        Drawing::Field => furrows(pen, &picture.frame, &drawn.shape, bw),
        Drawing::Crag => rocks(pen, &picture.frame, &drawn.shape, bw, seed),
        Drawing::Hill => {}
    }
    if drawn.patch.holes.is_empty() || drawn.drawing != Drawing::Wood {
        return;
    }
    // a clearing's edge is easily lost among crowns
    for hole in &drawn.shape.rings()[1..] {
        pen.path(&Trace::new().ring(&picture.frame.all(hole)))
            .hollow("#6f8c57", 0.8)
            .dashed("3 2")
            .done();
    }
}

/// Roads with their half widths: nothing grows on them.
fn clear_of_roads(picture: &Picture) -> Vec<(Course, f64)> {
    picture
        .game
        .scenario()
        .road
        .iter()
        .map(|road| (Course::new(&road.points), road.width_mm / 2.0))
        .collect()
}

fn is_on_road(roads: &[(Course, f64)], place: Point, reach_mm: f64) -> bool {
    roads
        .iter()
        .any(|(course, half)| course.to_mm(place) < half + reach_mm)
}

fn trees(pen: &mut Pen, frame: &Frame, shape: &Shape, bw: f64, seed: u64, roads: &[(Course, f64)]) {
    const CROWNS: [&str; 3] = ["#97ae76", "#a3b981", "#8ba46c"];
    pen.group().stroke("#5d7a49", 0.8).open();
    for (place, chance) in shape.scattered(bw * 0.4, bw * 0.14, seed) {
        let radius_mm = bw * (0.15 + 0.09 * chance);
        if is_on_road(roads, place, radius_mm) || !frame.part.holds(place, bw) {
            continue;
        }
        let (centre, radius) = (frame.at(place), frame.long(radius_mm));
        let crown = CROWNS[pick(chance, 3)];
        pen.circle(centre, radius).fill(crown).done();
        let light = Point::new(centre.x - radius * 0.28, centre.y - radius * 0.3);
        pen.circle(light, radius * 0.42)
            .fill("#b9cb97")
            .attr("stroke", "none")
            .done();
    }
    pen.close("g");
}

fn pick(chance: f64, count: usize) -> usize {
    #[expect(
        clippy::cast_possible_truncation,
        clippy::cast_sign_loss,
        clippy::cast_precision_loss,
        reason = "chance is in 0..1 and counts are small"
    )]
    let index = (chance * 7.0 * count as f64) as usize;
    index % count
}

fn tufts(pen: &mut Pen, frame: &Frame, shape: &Shape, bw: f64, seed: u64, roads: &[(Course, f64)]) {
    let mut grass = Trace::new();
    let mut stones = Trace::new();
    for (place, chance) in shape.scattered(bw * 0.36, bw * 0.1, seed) {
        if is_on_road(roads, place, bw * 0.1) || !frame.part.holds(place, bw) {
            continue;
        }
        let at = frame.at(place);
        let size = frame.long(bw * (0.07 + 0.05 * chance));
        let there = |x: f64, y: f64| Point::new(at.x + x * size, at.y + y * size);
        if chance < 0.45 {
            stones = stones.ring(&[
                there(-1.0, 0.3),
                there(-0.4, -0.7),
                there(0.6, -0.6),
                there(1.0, 0.2),
                there(0.3, 0.7),
            ]);
        } else {
            for (foot, tip) in [(-0.5, -1.3), (0.0, 0.0), (0.5, 1.2)] {
                grass = grass.to(there(foot, 0.6)).line(there(tip, -1.0));
            }
        }
    }
    pen.path(&stones)
        .fill("#c2b692")
        .stroke("#8d7f58", 0.8)
        .done();
    pen.path(&grass).hollow("#8c8252", 0.9).round().done();
}

fn houses(
    pen: &mut Pen,
    frame: &Frame,
    shape: &Shape,
    bw: f64,
    seed: u64,
    roads: &[(Course, f64)],
) {
    const ROOFS: [&str; 3] = ["#a5836a", "#93755f", "#b3947a"];
    let grain = shape.grain();
    for (place, chance) in shape.scattered(bw * 0.72, bw * 0.3, seed) {
        if is_on_road(roads, place, bw * 0.27) || !frame.part.holds(place, bw) {
            continue;
        }
        let way = roads
            .iter()
            .map(|(course, _)| (course.to_mm(place), course.nearest(place).2))
            .min_by(|a, b| a.0.total_cmp(&b.0))
            .filter(|(distance, _)| *distance < bw * 3.0)
            .map_or(grain, |(_, way)| way)
            .turned((chance - 0.5) * 0.25);
        let side = way.quarter_right();
        let (long, wide) = (bw * (0.2 + 0.06 * chance), bw * 0.14);
        let corner = |a: f64, b: f64| frame.at(place + way * (long * a) + side * (wide * b));
        let walls = [
            corner(-1.0, -1.0),
            corner(1.0, -1.0),
            corner(1.0, 1.0),
            corner(-1.0, 1.0),
        ];
        pen.path(&Trace::new().ring(&walls))
            .fill(ROOFS[pick(chance, 3)])
            .stroke("#5f4c3d", 0.9)
            .attr("stroke-linejoin", "round")
            .done();
        // the sunny side of the roof, up to its ridge
        let sunny = if side.y > 0.0 { 1.0 } else { -1.0 };
        let slope = [
            corner(-1.0, 0.0),
            corner(1.0, 0.0),
            corner(1.0, sunny),
            corner(-1.0, sunny),
        ];
        pen.path(&Trace::new().ring(&slope))
            .fill("#d3b598")
            .opacity(0.55)
            .done();
    }
}

fn reeds(pen: &mut Pen, frame: &Frame, shape: &Shape, bw: f64, seed: u64) {
    let mut water = Trace::new();
    let mut stems = Trace::new();
    for (place, chance) in shape.scattered(bw * 0.38, bw * 0.16, seed) {
        if !frame.part.holds(place, bw) {
            continue;
        }
        let at = frame.at(place);
        let size = frame.long(bw * (0.1 + 0.05 * chance));
        let there = |x: f64, y: f64| Point::new(at.x + x * size, at.y + y * size);
        water = water.to(there(-1.3, 0.0)).line(there(1.3, 0.0));
        if chance > 0.4 {
            water = water.to(there(-0.6, 0.45)).line(there(0.7, 0.45));
            for (foot, tip) in [(-0.35, -0.7), (0.0, 0.0), (0.35, 0.7)] {
                stems = stems.to(there(foot, -0.05)).line(there(tip, -1.2));
            }
        }
    }
    pen.path(&water).hollow("#6f9fae", 1.1).round().done();
    pen.path(&stems).hollow("#6d8654", 0.9).round().done();
}

fn ripples(pen: &mut Pen, frame: &Frame, shape: &Shape, bw: f64, seed: u64) {
    let mut waves = Trace::new();
    for (place, chance) in shape.scattered(bw * 0.6, bw * 0.3, seed) {
        let at = frame.at(place);
        let size = frame.long(bw * (0.12 + 0.06 * chance));
        let there = |x: f64, y: f64| Point::new(at.x + x * size, at.y + y * size);
        waves = waves
            .to(there(-1.4, 0.0))
            .bend(there(-0.7, -0.7), there(0.0, 0.0))
            .bend(there(0.7, 0.7), there(1.4, 0.0));
    }
    pen.path(&waves).hollow("#7fabbb", 1.0).round().done();
}

fn furrows(pen: &mut Pen, frame: &Frame, shape: &Shape, bw: f64) {
    let mut rows = Trace::new();
    for (from, to) in shape.hatched(shape.grain(), bw * 0.18) {
        rows = rows.to(frame.at(from)).line(frame.at(to));
    }
    pen.path(&rows).hollow("#d0c182", 1.0).done();
}

fn rocks(pen: &mut Pen, frame: &Frame, shape: &Shape, bw: f64, seed: u64) {
    for (index, (place, chance)) in shape
        .scattered(bw * 0.42, bw * 0.16, seed)
        .iter()
        .enumerate()
    {
        let number = u32::try_from(index).unwrap_or(0);
        let radius = bw * (0.14 + 0.1 * chance);
        let corner = |step: u32| {
            let turn = f64::from(step) * std::f64::consts::TAU / 6.0;
            let reach = radius * (0.75 + 0.45 * shaken(seed, number, step, 7));
            frame.at(*place + Vector::new(0.0, reach).turned(turn))
        };
        let corners: Vec<Point> = (0..6).map(corner).collect();
        pen.path(&Trace::new().ring(&corners))
            .fill("#a9a193")
            .stroke("#5f594c", 0.9)
            .attr("stroke-linejoin", "round")
            .done();
        let middle = frame.at(*place);
        pen.path(&Trace::new().ring(&[corners[0], middle, corners[4], corners[5]]))
            .fill("#cfc9bd")
            .opacity(larger(0.3, 0.8 - 0.5 * chance))
            .done();
    }
}

/// A few of what grows on a kind of ground, in a swatch 28 by 12 pixels.
pub(super) fn sample(pen: &mut Pen, drawing: Drawing, at: Point) {
    let there = |x: f64, y: f64| Point::new(at.x + x, at.y + y);
    let strokes = |marks: &[[f64; 4]]| {
        marks.iter().fold(Trace::new(), |trace, [a, b, c, d]| {
            trace.to(there(*a, *b)).line(there(*c, *d))
        })
    };
    match drawing {
        Drawing::Wood => {
            for x in [6.0, 14.0, 21.5] {
                pen.circle(there(x, 6.0), 4.0)
                    .fill("#97ae76")
                    .stroke("#5d7a49", 0.8)
                    .done();
            }
        }
        Drawing::Rough => pen
            .path(&strokes(&[
                [6.0, 9.0, 5.0, 3.0],
                [7.0, 9.0, 9.0, 3.0],
                [19.0, 9.0, 18.0, 3.0],
                [20.0, 9.0, 22.0, 3.0],
            ]))
            .hollow("#8c8252", 0.9)
            .done(),
        Drawing::Village => {
            for x in [4.0, 16.0] {
                pen.rect(there(x, 3.5), 8.0, 5.0)
                    .fill("#a5836a")
                    .stroke("#5f4c3d", 0.9)
                    .done();
            }
        }
        Drawing::Marsh => pen
            .path(&strokes(&[
                [3.0, 8.0, 12.0, 8.0],
                [15.0, 6.0, 25.0, 6.0],
                [7.0, 7.5, 7.0, 3.0],
                [20.0, 5.5, 20.0, 1.5],
            ]))
            .hollow("#6f9fae", 1.1)
            .done(),
        Drawing::Water => pen
            .path(
                &Trace::new()
                    .to(there(5.0, 6.5))
                    .bend(there(9.0, 3.0), there(14.0, 6.0))
                    .bend(there(19.0, 9.0), there(23.0, 5.5)),
            )
            .hollow("#5d8ea3", 1.0)
            .done(),
        Drawing::Field => pen
            .path(&strokes(&[
                [0.0, 3.0, 28.0, 3.0],
                [0.0, 6.0, 28.0, 6.0],
                [0.0, 9.0, 28.0, 9.0],
            ]))
            .hollow("#d0c182", 1.0)
            .done(),
        Drawing::Hill => pen.rect(there(5.0, 3.0), 18.0, 6.0).fill("#eee5c8").done(),
        Drawing::Crag => pen
            .path(
                &Trace::new()
                    .ring(&[there(5.0, 9.5), there(8.0, 2.5), there(13.0, 9.5)])
                    .ring(&[there(14.0, 9.5), there(19.0, 3.0), there(24.0, 9.5)]),
            )
            .fill("#a9a193")
            .stroke("#5f594c", 0.9)
            .done(),
    }
}

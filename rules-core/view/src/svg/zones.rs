//! Halt and strike zones, deployment areas, objectives, exits and arrivals.

use fieldpost_rules::game::{State, Unit};
use fieldpost_rules::geometry::{Footprint, Point, Vector, larger};
use fieldpost_rules::referee::zones::{halt_zone_mm, strike_zone_mm};
use fieldpost_rules::ruleset::ZoneFront;
use fieldpost_rules::scenario::Edge;

use super::Picture;
use super::frame::Frame;
use super::palette;
use super::pen::{Pen, Trace};
use super::shape::Shape;

/// The outline of all points within a distance of a footprint; of those ahead of its front
/// edge's line only, when zones look ahead.
pub(super) fn outline(frame: &Frame, footprint: &Footprint, mm: f64, front: ZoneFront) -> Trace {
    let [fl, fr, rr, rl] = footprint.corners();
    let (right, ahead) = (footprint.right() * mm, footprint.ahead * mm);
    let radius = frame.long(mm);
    let at = |point: Point, by: Vector| frame.at(point + by);
    match front {
        ZoneFront::AllRound => Trace::new()
            .to(at(fl, ahead))
            .line(at(fr, ahead))
            .arc(radius, true, at(fr, right))
            .line(at(rr, right))
            .arc(radius, true, at(rr, -ahead))
            .line(at(rl, -ahead))
            .arc(radius, true, at(rl, -right))
            .line(at(fl, -right))
            .arc(radius, true, at(fl, ahead))
            .shut(),
        ZoneFront::Ahead => Trace::new()
            .to(at(fl, -right))
            .arc(radius, true, at(fl, ahead))
            .line(at(fr, ahead))
            .arc(radius, true, at(fr, right))
            .shut(),
    }
}

/// The zones of every unit that has them, as the options ask.
pub(super) fn draw(pen: &mut Pen, picture: &Picture) {
    let ruleset = picture.game.ruleset();
    let options = picture.options;
    let farthest = larger(halt_zone_mm(ruleset), strike_zone_mm(ruleset));
    for index in 0..2 {
        let side = &picture.sides[index];
        let zoned: Vec<(&Unit, Footprint)> = picture
            .game
            .on_table()
            .filter(|unit| unit.side == index && unit.has_strength())
            .filter_map(|unit| Some((unit, unit.footprint()?)))
            .filter(|(_, footprint)| picture.shows_round(footprint, farthest))
            .collect();
        let key = picture.game.side_id(index).0;
        let said = [("side", key.as_str())];
        if options.strike_zones {
            let reach = strike_zone_mm(ruleset);
            picture.open_hidden(pen, "strike-zones", &key, &said);
            pen.group()
                .hollow(&side.dark, 0.9)
                .dashed("2 3")
                .opacity(0.7)
                .open();
            for (unit, footprint) in &zoned {
                let trace = outline(&picture.frame, footprint, reach, ZoneFront::AllRound);
                draw_zone(pen, picture, "strike-zone", unit, &trace);
            }
            pen.close("g");
            picture.close_part(pen);
        }
        if options.halt_zones {
            let reach = halt_zone_mm(ruleset);
            // one group, one opacity: overlapping zones don't add up to a darker patch
            picture.open_hidden(pen, "halt-zones", &key, &said);
            pen.group().fill(&side.body).opacity(0.2).open();
            for (unit, footprint) in &zoned {
                let trace = outline(&picture.frame, footprint, reach, ruleset.zones.zone_front);
                draw_zone(pen, picture, "halt-zone", unit, &trace);
            }
            pen.close("g");
            picture.close_part(pen);
        }
    }
}

fn draw_zone(pen: &mut Pen, picture: &Picture, class: &str, unit: &Unit, trace: &Trace) {
    let id = &unit.id.0;
    let said = [("unit", id.as_str())];
    picture.part(pen.path(trace), class, id, &said).done();
}

/// Deployment areas.
pub(super) fn draw_deployment(pen: &mut Pen, picture: &Picture) {
    for (place, area) in picture.game.scenario().deployment.iter().enumerate() {
        let Some(index) = picture.side_index(&area.side) else {
            continue;
        };
        let side = &picture.sides[index];
        let said = [("side", area.side.as_str())];
        picture.open_hidden(pen, "deployment", &place.to_string(), &said);
        let shape = Shape::new(&area.outline, &[]);
        let mut strokes = Trace::new();
        let slant = if index == 0 { 1.0 } else { -1.0 };
        let way = Vector::new(0.8, slant * 0.6);
        for (from, to) in shape.hatched(way, 9.0 / picture.frame.scale) {
            strokes = strokes
                .to(picture.frame.at(from))
                .line(picture.frame.at(to));
        }
        pen.path(&strokes)
            .hollow(&side.body, 0.8)
            .opacity(0.3)
            .done();
        for ring in shape.rings() {
            pen.path(&Trace::new().ring(&picture.frame.all(ring)))
                .hollow(&side.dark, 1.3)
                .dashed("9 4")
                .opacity(0.75)
                .done();
        }
        picture.close_part(pen);
    }
}

/// Objectives: a ring as wide as the ground that counts, a flag in its holder's colour.
pub(super) fn draw_objectives(pen: &mut Pen, picture: &Picture) {
    let scenario = picture.game.scenario();
    for (index, objective) in scenario.objective.iter().enumerate() {
        let holder = picture.game.holders().get(index).copied().flatten();
        let middle = picture
            .frame
            .at(Point::new(objective.at[0], objective.at[1]));
        let (cloth, ink) = flag_inks(picture, holder);
        let holder = holder.map_or(String::new(), |side| picture.game.side_id(side).0);
        let said = [("name", objective.name.as_str()), ("holder", &holder)];
        picture.open_part(pen, "objective", &index.to_string(), &said);
        pen.circle(middle, picture.frame.long(objective.radius_mm))
            .hollow(ink, 1.2)
            .dashed("1.5 3.5")
            .round()
            .done();
        flag(pen, middle, cloth, ink);
        picture.close_part(pen);
    }
}

/// Cloth and ink of the flag of whoever holds an objective.
pub(super) fn flag_inks<'a>(picture: &'a Picture, holder: Option<usize>) -> (&'a str, &'a str) {
    holder.map_or(("#fbf7ea", palette::PLACE), |side| {
        let side = &picture.sides[side % 2];
        (side.body.as_str(), side.dark.as_str())
    })
}

/// A small flag whose staff stands on a point.
pub(super) fn flag(pen: &mut Pen, foot: Point, cloth: &str, ink: &str) {
    let there = |x: f64, y: f64| Point::new(foot.x + x, foot.y + y);
    pen.path(&Trace::new().ring(&[there(0.0, -19.0), there(13.0, -15.5), there(0.0, -11.0)]))
        .fill(cloth)
        .stroke(ink, 1.1)
        .attr("stroke-linejoin", "round")
        .done();
    pen.line(there(0.0, 0.0), there(0.0, -20.0))
        .stroke(ink, 1.7)
        .done();
    pen.circle(foot, 2.4).fill(ink).done();
}

/// The stretch of an edge, on the table, and the way inward.
pub(super) fn stretch(
    picture: &Picture,
    edge: Edge,
    from_mm: f64,
    to_mm: f64,
) -> (Point, Point, Vector) {
    let table = &picture.game.scenario().table;
    match edge {
        Edge::North => (
            Point::new(from_mm, table.depth_mm),
            Point::new(to_mm, table.depth_mm),
            Vector::new(0.0, -1.0),
        ),
        Edge::South => (
            Point::new(from_mm, 0.0),
            Point::new(to_mm, 0.0),
            Vector::new(0.0, 1.0),
        ),
        Edge::West => (
            Point::new(0.0, from_mm),
            Point::new(0.0, to_mm),
            Vector::new(1.0, 0.0),
        ),
        Edge::East => (
            Point::new(table.width_mm, from_mm),
            Point::new(table.width_mm, to_mm),
            Vector::new(-1.0, 0.0),
        ),
    }
}

/// The ground on the picture that bars and arrows along the edge take up.
pub(super) fn edge_bars(picture: &Picture) -> Vec<Footprint> {
    let units = picture.game.units();
    let arrivals = units.filter_map(|unit| match &unit.state {
        State::Waiting(arrival) => Some((arrival.edge, arrival.from_mm, arrival.to_mm)),
        _ => None,
    });
    let exits = picture.game.scenario().exit.iter();
    let exits = exits.map(|exit| (exit.edge, exit.from_mm, exit.to_mm));
    let bars = arrivals.chain(exits).filter_map(|(edge, from_mm, to_mm)| {
        let (from, to, inward) = stretch(picture, edge, from_mm, to_mm);
        let (from, to) = (picture.frame.at(from), picture.frame.at(to));
        let inward = picture.frame.way(inward);
        let ahead = (to - from).unit()?;
        Some(Footprint {
            centre: from.towards(to, 0.5) + inward * (EDGE_PX / 2.0),
            ahead,
            half_frontage: EDGE_PX / 2.0,
            half_depth: from.distance_to(to) / 2.0 + 1.0,
        })
    });
    bars.collect()
}

/// How deep bars and arrows along the edge reach into the map, in pixels.
const EDGE_PX: f64 = 21.0;

/// Arrivals still to come, and exits: bars on the table's edge with arrows in or out.
pub(super) fn draw_edges(pen: &mut Pen, picture: &Picture) {
    for unit in picture.game.units() {
        if let State::Waiting(arrival) = &unit.state {
            let bar = stretch(picture, arrival.edge, arrival.from_mm, arrival.to_mm);
            let side = picture.side(unit);
            let said = [("unit", unit.id.0.as_str())];
            picture.open_part(pen, "arrival", &unit.id.0, &said);
            bar_with_arrows(pen, picture, bar, (&side.body, &side.dark), true);
            picture.close_part(pen);
        }
    }
    for (place, exit) in picture.game.scenario().exit.iter().enumerate() {
        let Some(index) = picture.side_index(&exit.side) else {
            continue;
        };
        let said = [("side", exit.side.as_str())];
        picture.open_part(pen, "exit", &place.to_string(), &said);
        let bar = stretch(picture, exit.edge, exit.from_mm, exit.to_mm);
        let side = &picture.sides[index];
        bar_with_arrows(pen, picture, bar, ("#fbf7ea", &side.dark), false);
        picture.close_part(pen);
    }
}

/// A bar along the edge: filled with arrows inward for arrivals, hollow with arrows outward for
/// exits, which stand a little off the edge so that both can share a stretch.
fn bar_with_arrows(
    pen: &mut Pen,
    picture: &Picture,
    (from, to, inward): (Point, Point, Vector),
    inks: (&str, &str),
    arrives: bool,
) {
    let frame = &picture.frame;
    let ends = (frame.at(from), frame.at(to));
    edge_sign(pen, ends, frame.way(inward), inks, arrives);
}

/// The same between two places of the picture.
pub(super) fn edge_sign(
    pen: &mut Pen,
    (start, end): (Point, Point),
    inward: Vector,
    (fill, ink): (&str, &str),
    arrives: bool,
) {
    let Some(along) = (end - start).unit() else {
        return;
    };
    let (near, deep) = if arrives { (0.0, 6.0) } else { (9.0, 12.0) };
    pen.path(&Trace::new().ring(&[
        start + inward * near,
        end + inward * near,
        end + inward * deep,
        start + inward * deep,
    ]))
    .fill(fill)
    .stroke(ink, 1.0)
    .done();
    let length = start.distance_to(end);
    let count = larger((length / 70.0).floor(), 1.0);
    let (foot, way) = if arrives {
        (inward * 8.0, inward)
    } else {
        (inward * 12.0, -inward)
    };
    let mut number = if arrives { 0.5 } else { 0.25 };
    while number < count {
        let foot = start + along * (length * number / count) + foot;
        pen.path(&Trace::new().ring(&[
            foot - along * 7.0,
            foot + way * 11.0,
            foot + along * 7.0,
            foot + way * 3.0,
        ]))
        .fill(fill)
        .stroke(ink, 1.1)
        .attr("stroke-linejoin", "round")
        .done();
        number += 1.0;
    }
}

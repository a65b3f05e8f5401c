//! Ghosts on the picture: where units stood, the tapes along which they went, and who is lost.

use fieldpost_rules::game::Unit;
use fieldpost_rules::geometry::{Footprint, Point, signed_distance_mm};

use super::frame::Frame;
use super::labels::{Board, Style, edge_towards, round_a_unit};
use super::pen::{Pen, Trace};
use super::tape_drawing::{self, Manner};
use super::ways::{Ghost, Way};
use super::{Picture, naming, palette};

/// Ghosts as outlines with the ways by which the units left them; crossed out if the unit is gone.
pub(super) fn draw(pen: &mut Pen, picture: &Picture) {
    for ghost in &picture.options.ghosts {
        outline(pen, picture, ghost);
    }
    for ghost in &picture.options.ghosts {
        let ink = &picture.sides[ghost.side % 2].dark;
        for way in &ghost.ways {
            if let Way::Shifted { from, to } = way {
                shift_between(pen, picture, (from, to), ink);
            }
        }
        if let Some(was) = lost(picture, ghost) {
            cross(pen, &picture.frame.all(&was.corners()));
        }
    }
}

/// Tapes, which lie over the units: each ends at the middle of a front.
pub(super) fn draw_tapes(pen: &mut Pen, picture: &Picture) {
    for ghost in &picture.options.ghosts {
        let manner = Manner {
            width: 3.4,
            head: &picture.sides[ghost.side % 2].dark,
            good_mm: f64::INFINITY,
        };
        for (place, leg) in ghost.tapes().enumerate() {
            let (unit, place) = (&ghost.unit.0, place.to_string());
            let said = [("unit", unit.as_str()), ("leg", &place)];
            picture.open_part(pen, "tape", &format!("{unit}-{place}"), &said);
            tape_drawing::draw(pen, picture, leg, manner);
            picture.close_part(pen);
        }
    }
}

/// From middle to middle, as far as the edge of the ground where it ends, which a unit may cover.
fn shift_between(
    pen: &mut Pen,
    picture: &Picture,
    (from, to): (&Footprint, &Footprint),
    ink: &str,
) {
    let start = picture.frame.at(from.centre);
    let stands = naming::on_picture(picture, to);
    let end = (start - stands.centre)
        .unit()
        .map_or(stands.centre, |way| edge_towards(&stands, way) + way * 2.0);
    // one that moves by less than its own depth ends within where it began
    let is_ahead = (end - start).dot(stands.centre - start) > 0.0;
    shift(pen, start, if is_ahead { end } else { stands.centre }, ink);
}

fn outline(pen: &mut Pen, picture: &Picture, ghost: &Ghost) {
    let side = &picture.sides[ghost.side % 2];
    if let Some(was) = &ghost.was {
        let unit = &ghost.unit.0;
        picture.open_part(pen, "stood", unit, &[("unit", unit.as_str())]);
        swatch(
            pen,
            &picture.frame.all(&was.corners()),
            (&side.pale, &side.dark),
        );
        picture.close_part(pen);
    }
}

/// The ground that a unit covered before.
pub(super) fn swatch(pen: &mut Pen, corners: &[Point], (fill, ink): (&str, &str)) {
    pen.path(&Trace::new().ring(corners))
        .attr("class", "ghost")
        .fill(fill)
        .attr("fill-opacity", "0.35")
        .stroke(ink, 1.1)
        .dashed("4 3")
        .done();
}

/// A way that no tape was charged along: dotted, with an open head.
pub(super) fn shift(pen: &mut Pen, from: Point, to: Point, ink: &str) {
    let Some(way) = (to - from).unit() else {
        return;
    };
    let across = way.quarter_right() * 4.5;
    let neck = to - way * 8.0;
    for (colour, width, dashes) in [("#fffdf4", 5.0, ""), (ink, 2.2, "2 4")] {
        let line = pen
            .line(from, to)
            .attr("class", "shift")
            .stroke(colour, width)
            .attr("stroke-linecap", "round");
        if dashes.is_empty() {
            line.done();
        } else {
            line.dashed(dashes).done();
        }
    }
    pen.path(&Trace::new().to(neck + across).line(to).line(neck - across))
        .hollow(ink, 2.2)
        .round()
        .done();
}

/// The ground of a unit that stands no more.
fn lost(picture: &Picture, ghost: &Ghost) -> Option<Footprint> {
    let stands = picture.game.unit(&ghost.unit).and_then(Unit::footprint);
    let last = match ghost.ways.last() {
        Some(Way::Shifted { to, .. }) => Some(*to),
        Some(Way::Ordered(legs)) => legs.last().map(|leg| leg.end),
        None => ghost.was,
    };
    last.filter(|_| stands.is_none())
}

/// Keeps letters off the ways from where units stood to where they stand.
pub(super) fn block(board: &mut Board, picture: &Picture) {
    for ghost in &picture.options.ghosts {
        for way in &ghost.ways {
            match way {
                Way::Ordered(legs) => {
                    for leg in legs {
                        block_tape(board, picture, leg);
                    }
                }
                Way::Shifted { from, to } => {
                    let (from, to) = (picture.frame.at(from.centre), picture.frame.at(to.centre));
                    block_line(board, from, to);
                }
            }
        }
        if let Some(was) = lost(picture, ghost) {
            board.block_labels(naming::on_picture(picture, &was));
        }
    }
}

fn block_tape(board: &mut Board, picture: &Picture, leg: &super::tape::LegTrack) {
    let Some(path) = &leg.tape else { return };
    let steps = 8;
    let at = |step: u32| {
        picture
            .frame
            .at(path.at(f64::from(step) / f64::from(steps)))
    };
    for step in 0..steps {
        block_line(board, at(step), at(step + 1));
    }
}

fn block_line(board: &mut Board, from: Point, to: Point) {
    if let Some(ahead) = (to - from).unit() {
        board.block_labels(Footprint {
            centre: from.towards(to, 0.5),
            ahead,
            half_frontage: 3.5,
            half_depth: from.distance_to(to) / 2.0,
        });
    }
}

/// Names those who are lost beside their crosses.
pub(super) fn letter(board: &mut Board, picture: &Picture) {
    for ghost in &picture.options.ghosts {
        let Some(was) = lost(picture, ghost) else {
            continue;
        };
        if !picture.shows(&was) {
            continue;
        }
        let name = picture.game.unit(&ghost.unit).map(|unit| {
            let how = crate::fates::fate(unit).unwrap_or("gone");
            format!("{} {} ({how})", picture.mark(unit), unit.name)
        });
        let style = Style {
            size: picture.options.letters_px,
            bold: true,
            of_place: false,
            ink: palette::REFUSED.to_owned(),
        };
        let text = name.unwrap_or_else(|| ghost.unit.0.clone());
        let around = naming::on_picture(picture, &was);
        board.place(&text, &style, round_a_unit(&text, &style, &around));
    }
}

/// The cross over a unit that is gone.
pub(super) fn cross(pen: &mut Pen, corners: &[Point]) {
    for (from, to) in [(0, 2), (1, 3)] {
        pen.line(corners[from], corners[to])
            .attr("class", "lost")
            .stroke(palette::REFUSED, 2.0)
            .attr("stroke-linecap", "round")
            .done();
    }
}

/// Whether the table's frame shows anything of what lies within a distance of a footprint.
pub(super) fn is_shown(frame: &Frame, footprint: &Footprint, within_mm: f64) -> bool {
    signed_distance_mm(footprint, &frame.part.ground()) < within_mm
}

//! A tape on the picture: cut by ground, with a tick where the ground changes and a head where it ends.

use fieldpost_rules::geometry::{Footprint, Path, Point, Vector, larger, smaller};

use super::labels::{Board, Style};
use super::pen::{Pen, Trace};
use super::tape::LegTrack;
use super::{Picture, palette};

/// How a tape is drawn.
#[derive(Debug, Clone, Copy)]
pub(super) struct Manner<'a> {
    /// Width of the tape in pixels.
    pub(super) width: f64,
    /// Ink of its head.
    pub(super) head: &'a str,
    /// Up to so many millimetres the order is good; the rest is drawn as refused.
    pub(super) good_mm: f64,
}

/// Draws the tape of a leg, if it has one.
pub(super) fn draw(pen: &mut Pen, picture: &Picture, track: &LegTrack, manner: Manner<'_>) {
    let Some(path) = &track.tape else { return };
    let length = path.length_mm();
    let good = smaller(manner.good_mm, length);
    let is_cut = good < length - 0.01;
    pen.path(&stretch(picture, path, 0.0, length))
        .hollow("#fffdf4", manner.width + 3.0)
        .opacity(0.9)
        .done();
    for (number, piece) in track.pieces.iter().enumerate() {
        let to = smaller(piece.to_mm, good);
        if to > piece.from_mm {
            let (ink, dashes) = ground_ink(picture, &piece.ground, number);
            let trace = stretch(picture, path, piece.from_mm, to);
            let element = pen
                .path(&trace)
                .attr("class", "tape")
                .hollow(ink, manner.width);
            match dashes {
                Some(dashes) => element.dashed(dashes).done(),
                None => element.done(),
            }
        }
    }
    if track.pieces.is_empty() && good > 0.0 {
        pen.path(&stretch(picture, path, 0.0, good))
            .attr("class", "tape")
            .hollow(palette::TAPE, manner.width)
            .done();
    }
    if is_cut {
        pen.path(&stretch(picture, path, good, length))
            .attr("class", "refused")
            .hollow(palette::REFUSED, manner.width * 0.6)
            .dashed("7 5")
            .done();
    }
    let head = if is_cut {
        palette::REFUSED
    } else {
        manner.head
    };
    ticks(pen, picture, path, track, (manner.width, head));
}

/// A tick wherever the ground changes, and an arrow head at the end.
fn ticks(
    pen: &mut Pen,
    picture: &Picture,
    path: &Path,
    track: &LegTrack,
    (width, ink): (f64, &str),
) {
    let half = width + 1.0;
    for piece in &track.pieces {
        let (at, across) = place_on(picture, path, piece.from_mm);
        pen.line(at - across * half, at + across * half)
            .stroke(palette::INK, 1.4)
            .done();
    }
    let length = path.length_mm();
    let (end, across) = place_on(picture, path, length);
    // across turned right points back along the tape; a short tape has a short head
    let long = smaller(width * 2.2, picture.frame.long(length) * 0.7);
    let back = across.quarter_right() * long;
    pen.path(&Trace::new().ring(&[
        end,
        end + back + across * (long / 2.0),
        end + back - across * (long / 2.0),
    ]))
    .fill(ink)
    .done();
}

/// Figures keep off the tape: it blocks the board in short chords.
pub(super) fn keep_clear(picture: &Picture, track: &LegTrack, board: &mut Board) {
    let Some(path) = &track.tape else { return };
    let pieces: u32 = match path {
        Path::Straight { .. } => 1,
        Path::Arc { .. } => 16,
    };
    let at = |step: u32| {
        let share = f64::from(step) / f64::from(pieces);
        picture.frame.at(path.at(share))
    };
    for step in 0..pieces {
        let (from, to) = (at(step), at(step + 1));
        if let Some(ahead) = (to - from).unit() {
            board.block(Footprint {
                centre: from.towards(to, 0.5),
                ahead,
                half_frontage: 4.0,
                half_depth: from.distance_to(to) / 2.0 + 1.0,
            });
        }
    }
}

/// An upright box about a point, in pixels.
pub(super) fn dot(at: Point, half: f64) -> Footprint {
    Footprint {
        centre: at,
        ahead: Vector::new(0.0, -1.0),
        half_frontage: half,
        half_depth: half,
    }
}

/// How figures of measure are lettered.
pub(super) fn figures_style(ink: &str) -> Style {
    Style {
        size: 12.0,
        bold: true,
        of_place: false,
        ink: ink.to_owned(),
    }
}

/// A stretch of tape on the picture; arcs in forty chords.
pub(super) fn stretch(picture: &Picture, path: &Path, from_mm: f64, to_mm: f64) -> Trace {
    let length = larger(path.length_mm(), 1e-9);
    let pieces: u32 = match path {
        Path::Straight { .. } => 1,
        Path::Arc { .. } => 40,
    };
    let points: Vec<Point> = (0..=pieces)
        .map(|step| {
            let share = f64::from(step) / f64::from(pieces);
            picture
                .frame
                .at(path.at((from_mm + (to_mm - from_mm) * share) / length))
        })
        .collect();
    Trace::new().course(&points)
}

/// A place on the tape in pixels, with the unit vector across it, to its left on the picture.
pub(super) fn place_on(picture: &Picture, path: &Path, along_mm: f64) -> (Point, Vector) {
    let length = larger(path.length_mm(), 1e-9);
    let share = along_mm / length;
    let step = 0.001;
    let (a, b) = if share > 0.5 {
        (path.at(share - step), path.at(share))
    } else {
        (path.at(share), path.at(share + step))
    };
    let way = picture
        .frame
        .way(b - a)
        .unit()
        .unwrap_or(Vector::new(0.0, -1.0));
    (picture.frame.at(path.at(share)), way.quarter_right())
}

/// Ink of a piece by its ground, and dashes that set it apart without colour.
fn ground_ink(
    picture: &Picture,
    ground: &str,
    number: usize,
) -> (&'static str, Option<&'static str>) {
    let slow = if number.is_multiple_of(2) {
        "3 2"
    } else {
        "5 2"
    };
    match ground {
        "open" => (palette::TAPE, None),
        "road" => (palette::TAPE_ON_ROAD, Some("14 2")),
        _ => {
            let kinds = &picture.game.ruleset().terrain;
            let rate = kinds.get(ground).map_or(1.0, |kind| kind.rate);
            let ink = if rate > 2.0 {
                palette::TAPE_SLOWEST
            } else {
                palette::TAPE_SLOW
            };
            (ink, Some(slow))
        }
    }
}

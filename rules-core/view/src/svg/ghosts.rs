//! What changed: where units stood before, and how they came to where they stand.

use fieldpost_rules::game::{Game, Unit};
use fieldpost_rules::geometry::{Footprint, Point, signed_distance_mm};
use fieldpost_rules::orders::UnitId;

use super::frame::Frame;
use super::palette;
use super::pen::{Pen, Trace};
use super::{Picture, labels, naming, units};

/// Where a unit stood before.
#[derive(Debug, Clone, PartialEq)]
pub struct Ghost {
    /// Who.
    pub unit: UnitId,
    /// Index of its side.
    pub side: usize,
    /// The ground it covered.
    pub was: Footprint,
}

/// A ghost for every unit that stood elsewhere, or stands no more.
#[must_use]
pub fn ghosts_between(before: &Game, after: &Game) -> Vec<Ghost> {
    before
        .on_table()
        .filter_map(|unit| {
            let was = unit.footprint()?;
            let is = after.unit(&unit.id).and_then(Unit::footprint);
            (is != Some(was)).then(|| Ghost {
                unit: unit.id.clone(),
                side: unit.side,
                was,
            })
        })
        .collect()
}

/// Ghosts as outlines, with an arrow to where the unit stands now; crossed out if it is gone.
pub(super) fn draw(pen: &mut Pen, picture: &Picture) {
    let frame = &picture.frame;
    for ghost in &picture.options.ghosts {
        let side = &picture.sides[ghost.side % 2];
        let corners = frame.all(&ghost.was.corners());
        pen.path(&Trace::new().ring(&corners))
            .fill(&side.pale)
            .attr("fill-opacity", "0.35")
            .stroke(&side.dark, 1.1)
            .dashed("4 3")
            .done();
        let now = picture.game.unit(&ghost.unit).and_then(Unit::footprint);
        match now {
            Some(now) => {
                let from = frame.at(ghost.was.centre);
                let stands = naming::on_picture(picture, &now);
                // to the near edge of the unit, which is drawn over this
                let to = (from - stands.centre).unit().map_or(stands.centre, |way| {
                    labels::edge_towards(&stands, way) + way * 2.0
                });
                arrow(pen, from, to, &side.dark, units::arrow_px(frame, &now));
            }
            None => cross(pen, &corners),
        }
    }
}

/// Keeps letters off the arrows from where units stood to where they stand.
pub(super) fn block(board: &mut labels::Board, picture: &Picture) {
    for ghost in &picture.options.ghosts {
        let Some(now) = picture.game.unit(&ghost.unit).and_then(Unit::footprint) else {
            continue;
        };
        let (from, to) = (
            picture.frame.at(ghost.was.centre),
            picture.frame.at(now.centre),
        );
        if let Some(ahead) = (to - from).unit() {
            let length = from.distance_to(to);
            // the arrow bows to its right by a twenty-fifth of its length
            board.block_labels(Footprint {
                centre: from.towards(to, 0.5) + ahead.quarter_right() * (length * 0.02),
                ahead,
                half_frontage: length * 0.02 + 3.0,
                half_depth: length / 2.0,
            });
        }
    }
}

fn cross(pen: &mut Pen, corners: &[Point]) {
    for (from, to) in [(0, 2), (1, 3)] {
        pen.line(corners[from], corners[to])
            .stroke(palette::REFUSED, 2.0)
            .attr("stroke-linecap", "round")
            .done();
    }
}

/// A gently bent arrow.
pub(super) fn arrow(pen: &mut Pen, from: Point, to: Point, ink: &str, head: f64) {
    let Some(way) = (to - from).unit() else {
        return;
    };
    let length = from.distance_to(to);
    if length < head * 1.2 {
        return;
    }
    let end = to - way * head;
    let bent = from.towards(to, 0.5) + way.quarter_right() * (length * 0.08);
    pen.path(&Trace::new().to(from).bend(bent, end))
        .hollow(ink, 1.8)
        .round()
        .done();
    let Some(last) = (to - bent).unit() else {
        return;
    };
    let across = last.quarter_right();
    pen.path(&Trace::new().ring(&[
        to,
        to - last * (head * 1.3) + across * (head * 0.6),
        to - last * (head * 1.3) - across * (head * 0.6),
    ]))
    .fill(ink)
    .done();
}

/// Whether the table's frame shows anything of what lies within a distance of a footprint.
pub(super) fn is_shown(frame: &Frame, footprint: &Footprint, within_mm: f64) -> bool {
    signed_distance_mm(footprint, &frame.part.ground()) < within_mm
}

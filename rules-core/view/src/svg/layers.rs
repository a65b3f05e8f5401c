//! Things laid over the table: the ground a unit can reach, a distance between two units.

use fieldpost_rules::game::Game;
use fieldpost_rules::geometry::{Footprint, Point, separation};
use fieldpost_rules::orders::UnitId;
use fieldpost_rules::sanitize::plain;
use fieldpost_rules::verdict::rounding::tenths;
use fieldpost_rules::verdict::{Outline, Reach};

use super::labels::{Board, Style, round_a_unit};
use super::pen::{Pen, Trace};
use super::{Picture, palette};

/// Something laid over the table.
#[derive(Debug, Clone, PartialEq)]
pub enum Layer {
    /// An outline, such as the ground a unit can reach: its rings in millimetres of table.
    Outline {
        /// Outer rings and holes, even–odd.
        rings: Vec<Vec<Point>>,
        /// What it is, in a few words.
        label: String,
    },
    /// A distance, drawn as a dimension line between two points in millimetres of table.
    Measure {
        /// One end.
        from: Point,
        /// The other.
        to: Point,
        /// What stands beside it.
        label: String,
    },
}

/// The ground that a unit's footprint can come to cover, as an outline.
#[must_use]
pub fn reach(reach: &Reach) -> Layer {
    let ring = |outline: &Outline| {
        let corners = outline.points.iter();
        corners
            .map(|spot| Point::new(spot.x_mm, spot.y_mm))
            .collect()
    };
    Layer::Outline {
        rings: reach.footprint.iter().map(ring).collect(),
        label: format!("in reach of {}", plain(&reach.unit.0)),
    }
}

/// The distance between two units that stand on the table, base to base, at their nearest points.
#[must_use]
pub fn measure(game: &Game, first: &UnitId, second: &UnitId) -> Option<Layer> {
    let first = game.unit(first)?.footprint()?;
    let second = game.unit(second)?.footprint()?;
    let between = separation(&first, &second);
    Some(Layer::Measure {
        from: between.on_first,
        to: between.on_second,
        label: format!(
            "{} mm",
            tenths(fieldpost_rules::geometry::larger(between.distance_mm, 0.0))
        ),
    })
}

/// Draws what lies under the units.
pub(super) fn draw_under(pen: &mut Pen, picture: &Picture) {
    for layer in &picture.options.layers {
        if let Layer::Outline { rings, .. } = layer {
            let mut trace = Trace::new();
            for ring in rings {
                trace = trace.ring(&picture.frame.all(ring));
            }
            pen.path(&trace)
                .fill(palette::GLOW)
                .attr("fill-opacity", "0.18")
                .attr("fill-rule", "evenodd")
                .stroke("#9a6a00", 1.8)
                .dashed("8 3 2 3")
                .attr("stroke-linejoin", "round")
                .done();
        }
    }
}

/// Draws dimension lines over the units and letters every layer.
pub(super) fn draw_over(pen: &mut Pen, picture: &Picture, board: &mut Board) {
    for layer in &picture.options.layers {
        match layer {
            Layer::Measure { from, to, label } => {
                let (from, to) = (picture.frame.at(*from), picture.frame.at(*to));
                dimension(pen, from, to);
                if let Some(ahead) = (to - from).unit() {
                    board.block(Footprint {
                        centre: from.towards(to, 0.5),
                        ahead,
                        half_frontage: 3.0,
                        half_depth: from.distance_to(to) / 2.0,
                    });
                }
                letter(board, label, &[from.towards(to, 0.5)], palette::REFUSED);
            }
            Layer::Outline { rings, label } => {
                let points: Vec<Point> = rings.iter().flatten().copied().collect();
                let every = points.len() / 24 + 1;
                let places: Vec<Point> = points
                    .iter()
                    .step_by(every)
                    .map(|point| picture.frame.at(*point))
                    .collect();
                letter(board, label, &places, "#7a5300");
            }
        }
    }
}

fn dimension(pen: &mut Pen, from: Point, to: Point) {
    pen.line(from, to).stroke("#fffdf4", 5.0).done();
    pen.line(from, to).stroke(palette::REFUSED, 2.0).done();
    if let Some(way) = (to - from).unit() {
        let across = way.quarter_right() * 7.0;
        for end in [from, to] {
            pen.line(end - across, end + across)
                .stroke(palette::REFUSED, 2.0)
                .done();
        }
    } else {
        pen.circle(from, 4.0).fill(palette::REFUSED).done();
    }
}

/// Letters a layer beside one of some places, the first that has room.
fn letter(board: &mut Board, text: &str, places: &[Point], ink: &str) {
    let style = Style {
        size: 13.0,
        bold: true,
        of_place: false,
        ink: ink.to_owned(),
    };
    let spots = places
        .iter()
        .flat_map(|at| {
            let spot = Footprint {
                centre: *at,
                ahead: fieldpost_rules::geometry::Vector::new(0.0, -1.0),
                half_frontage: 8.0,
                half_depth: 8.0,
            };
            round_a_unit(text, &style, &spot)
        })
        .collect();
    board.place(text, &style, spots);
}

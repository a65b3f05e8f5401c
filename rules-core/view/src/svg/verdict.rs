//! Verdicts on moves drawn on the table: where each began, its tape with every piece and what it cost, lines
//! charged, the zone that stopped it, the furthest legal place and the refused rest.

use fieldpost_rules::game::{Game, Unit};
use fieldpost_rules::geometry::{Block, Footprint, Point, smaller};
use fieldpost_rules::orders::UnitId;
use fieldpost_rules::referee::zones::halt_zone_mm;
use fieldpost_rules::ruleset::ZoneFront;
use fieldpost_rules::verdict::ledger_figures::{self, LegFigures};
use fieldpost_rules::verdict::rounding::tenths;
use fieldpost_rules::verdict::{Code, MoveVerdict, Ruling};

use super::frame::Part;
use super::labels::{Board, Spot, line_box, round_a_unit};
use super::pen::{Pen, Trace};
use super::tape::{LegTrack, tracks};
use super::tape_drawing::{self, Manner, dot, figures_style, place_on};
use super::{Picture, SvgOptions, caption, palette, zones};

/// The verdict on a move, drawn on the table it was measured on: on the part round it, unless the options name a
/// part, with its figures beside the map. A unit that has no place there has nothing to draw: the table is shown
/// as it is.
#[must_use]
pub fn verdict(table: &Game, verdict: &MoveVerdict, options: &SvgOptions) -> String {
    moves(table, &[verdict], options)
}

/// The verdicts on units that move together, likewise; the figures are those of the first that is refused, else of
/// the first.
pub(super) fn moves(table: &Game, verdicts: &[&MoveVerdict], options: &SvgOptions) -> String {
    let drawings: Vec<Drawing> = verdicts
        .iter()
        .filter_map(|verdict| Drawing::new(table, verdict))
        .collect();
    let options = SvgOptions {
        part: options.part.or_else(|| part(table, &drawings)),
        ..options.clone()
    };
    let picture = Picture::new(table, &options);
    let refused = |verdict: &&&MoveVerdict| verdict.verdict == Ruling::Refused;
    let headline = verdicts.iter().find(refused).or(verdicts.first());
    super::whole(
        &picture,
        |pen, picture, left, top| match headline {
            Some(headline) => caption::draw(pen, picture, headline, left, top),
            None => top,
        },
        &Overlay {
            drawings: &drawings,
            picture: &picture,
        },
    )
}

/// The part that holds every move, with one and a half base widths round it.
fn part(table: &Game, drawings: &[Drawing]) -> Option<Part> {
    let points: Vec<Point> = drawings.iter().flat_map(Drawing::points).collect();
    if points.is_empty() {
        return None;
    }
    let bw = table.ruleset().scale.base_width_mm;
    let size = &table.scenario().table;
    Some(Part::around(&points, bw * 1.5, bw * 7.0, size).widened(1.25, size))
}

struct Overlay<'a> {
    drawings: &'a [Drawing<'a>],
    picture: &'a Picture<'a>,
}

impl super::Overlay for Overlay<'_> {
    fn under(&self, pen: &mut Pen) {
        for drawing in self.drawings {
            drawing.draw_zones(pen, self.picture);
        }
    }

    fn over(&self, pen: &mut Pen, board: &mut Board) {
        for drawing in self.drawings {
            drawing.draw(pen, self.picture, board);
        }
    }
}

/// What has to be drawn, worked out before anything is.
struct Drawing<'a> {
    game: &'a Game,
    verdict: &'a MoveVerdict,
    unit: &'a Unit,
    start: Footprint,
    tracks: Vec<LegTrack>,
    /// Leg and millimetres of its tape at which the first refused limit was reached.
    limit: Option<(usize, f64)>,
    furthest: Option<Footprint>,
}

impl<'a> Drawing<'a> {
    fn new(game: &'a Game, verdict: &'a MoveVerdict) -> Option<Self> {
        let unit = game.unit(&verdict.unit)?;
        let start_place = verdict.start?;
        let start = Footprint::new(&start_place.placement(), unit.block());
        let limit = verdict
            .reasons
            .iter()
            .filter(|reason| reason.ruling() == Ruling::Refused)
            .filter_map(|reason| reason.place_on_path())
            .map(|at| (at.leg, at.along_mm))
            .min_by(|a, b| a.0.cmp(&b.0).then(a.1.total_cmp(&b.1)));
        let furthest = verdict
            .furthest
            .map(|place| Footprint::new(&place.placement(), block_at_end(unit, verdict)));
        Some(Self {
            tracks: tracks(unit, &start_place, verdict),
            game,
            verdict,
            unit,
            start,
            limit,
            furthest,
        })
    }

    /// Everything that a part of the table must hold to show it.
    fn points(&self) -> Vec<Point> {
        let mut points: Vec<Point> = self.start.corners().to_vec();
        for track in &self.tracks {
            points.extend(track.end.corners());
        }
        for other in self.others() {
            points.extend(other.corners());
        }
        points
    }

    /// Units that are among the reasons.
    fn others(&self) -> Vec<Footprint> {
        let reasons = self.verdict.reasons.iter();
        reasons
            .filter_map(|reason| self.game.unit(&UnitId::from(reason.other()?))?.footprint())
            .collect()
    }

    /// Enemies whose zones are among the reasons.
    fn stoppers(&self) -> Vec<Footprint> {
        self.verdict
            .reasons
            .iter()
            .filter(|reason| {
                matches!(
                    reason.code(),
                    Code::EnemyZone | Code::OutOfCommand | Code::Locked | Code::EnemyContact
                )
            })
            .filter_map(|reason| self.game.unit(&UnitId::from(reason.other()?))?.footprint())
            .collect()
    }

    fn draw(&self, pen: &mut Pen, picture: &Picture, board: &mut Board) {
        for track in &self.tracks {
            tape_drawing::keep_clear(picture, track, board);
        }
        let ends = self.tracks.last().map(|track| track.end);
        for outline in ends.iter().chain(&self.furthest) {
            board.draw_lines(edges_of(picture, outline));
        }
        self.draw_footprints(pen, picture);
        for (index, track) in self.tracks.iter().enumerate() {
            self.draw_tape(pen, picture, index, track);
        }
        self.draw_lines(pen, picture, board);
        self.draw_limit(pen, picture, board);
        let figures = ledger_figures::of(self.verdict);
        for (track, shown) in self.tracks.iter().zip(&figures.legs) {
            letter_pieces(picture, track, shown, board);
        }
    }

    fn draw_zones(&self, pen: &mut Pen, picture: &Picture) {
        let reach = halt_zone_mm(self.game.ruleset());
        let front: ZoneFront = self.game.ruleset().zones.zone_front;
        for enemy in self.stoppers() {
            let trace = zones::outline(&picture.frame, &enemy, reach, front);
            pen.path(&trace).fill(palette::REFUSED).opacity(0.13).done();
            pen.path(&trace)
                .hollow(palette::REFUSED, 1.6)
                .dashed("6 3")
                .done();
        }
    }

    fn draw_footprints(&self, pen: &mut Pen, picture: &Picture) {
        let side = picture.side(self.unit);
        let outlined =
            |footprint: &Footprint| Trace::new().ring(&picture.frame.all(&footprint.corners()));
        if !self.unit.is_on_table() {
            // who arrives is not drawn as one that stands
            pen.path(&outlined(&self.start))
                .fill(&side.pale)
                .attr("fill-opacity", "0.6")
                .stroke(&side.dark, 1.2)
                .done();
        }
        for track in &self.tracks {
            pen.path(&outlined(&track.end))
                .hollow(&side.dark, 0.9)
                .dashed("2 3")
                .opacity(0.7)
                .done();
        }
        let refused = self.verdict.verdict == Ruling::Refused;
        if let (true, Some(last)) = (refused, self.tracks.last()) {
            pen.path(&outlined(&last.end))
                .attr("class", "refused")
                .fill(palette::REFUSED)
                .attr("fill-opacity", "0.07")
                .stroke(palette::REFUSED, 1.4)
                .dashed("5 4")
                .done();
        }
        if let Some(furthest) = &self.furthest {
            pen.path(&outlined(furthest))
                .attr("class", "furthest")
                .fill(palette::ALLOWED)
                .attr("fill-opacity", "0.16")
                .stroke(palette::ALLOWED, 2.0)
                .attr("stroke-linejoin", "round")
                .done();
            let (left, right) = (furthest.front_left(), furthest.front_right());
            pen.line(picture.frame.at(left), picture.frame.at(right))
                .stroke(palette::ALLOWED, 3.6)
                .done();
        }
    }

    /// How far along a leg's tape the order is still good.
    fn good_until(&self, leg: usize, length: f64) -> f64 {
        match self.limit {
            Some((at, along)) if at == leg => smaller(along, length),
            Some((at, _)) if at < leg => 0.0,
            _ => length,
        }
    }

    fn draw_tape(&self, pen: &mut Pen, picture: &Picture, index: usize, track: &LegTrack) {
        let length = track.tape.as_ref().map_or(0.0, |path| path.length_mm());
        let manner = Manner {
            width: 5.0,
            head: palette::ALLOWED,
            good_mm: self.good_until(index, length),
        };
        tape_drawing::draw(pen, picture, track, manner);
    }

    /// Diamonds where lines were reached.
    fn draw_lines(&self, pen: &mut Pen, picture: &Picture, board: &mut Board) {
        let figures = ledger_figures::of(self.verdict);
        for (track, shown) in self.tracks.iter().zip(&figures.legs) {
            let Some(path) = &track.tape else { continue };
            for (line, charge) in track.lines.iter().zip(&shown.lines) {
                let (at, across) = place_on(picture, path, line.at_mm);
                let along = across.quarter_right();
                let ring = [
                    at + across * 6.5,
                    at + along * 6.5,
                    at - across * 6.5,
                    at - along * 6.5,
                ];
                pen.path(&Trace::new().ring(&ring))
                    .fill("#fffdf4")
                    .stroke(palette::WATER_INK, 2.0)
                    .done();
                let text = match &line.free {
                    Some(why) => format!("{} free: {why}", line.line),
                    None => format!("{} + {charge}", line.line),
                };
                board.block(dot(at, 7.0));
                let style = figures_style(palette::WATER_INK);
                board.place(&text, &style, round_a_unit(&text, &style, &dot(at, 8.0)));
            }
        }
    }

    /// A bar where the first refused limit was.
    fn draw_limit(&self, pen: &mut Pen, picture: &Picture, board: &mut Board) {
        if let Some((leg, along)) = self.limit
            && let Some(path) = self.tracks.get(leg).and_then(|track| track.tape.as_ref())
        {
            let (at, across) = place_on(picture, path, along);
            pen.line(at - across * 13.0, at + across * 13.0)
                .stroke(palette::REFUSED, 3.4)
                .attr("stroke-linecap", "round")
                .done();
            board.block(dot(at, 8.0));
            let text = format!("limit at {} mm", tenths(along));
            let style = figures_style(palette::REFUSED);
            board.place(&text, &style, round_a_unit(&text, &style, &dot(at, 14.0)));
        }
    }
}

/// The edges of a footprint, which would strike letters through.
fn edges_of(picture: &Picture, outline: &Footprint) -> Vec<Footprint> {
    let [a, b, c, d] = outline.corners().map(|corner| picture.frame.at(corner));
    let edges = [(a, b), (b, c), (c, d), (d, a)];
    edges
        .iter()
        .filter_map(|(from, to)| line_box(*from, *to))
        .collect()
}

fn block_at_end(unit: &Unit, verdict: &MoveVerdict) -> Block {
    let mut unit = unit.clone();
    unit.files = verdict.files;
    unit.block()
}

/// Length × rate = charge beside every piece.
fn letter_pieces(picture: &Picture, track: &LegTrack, shown: &LegFigures, board: &mut Board) {
    let Some(path) = &track.tape else { return };
    for (piece, figures) in track.pieces.iter().zip(&shown.pieces) {
        if figures.is_nought {
            continue;
        }
        let length = piece.to_mm - piece.from_mm;
        let text = format!("{} {} = {}", piece.ground, figures.product, figures.charge);
        let style = figures_style(palette::INK);
        let mut spots: Vec<Spot> = Vec::new();
        for share in [0.5, 0.35, 0.65, 0.2, 0.8] {
            let along = piece.from_mm + length * share;
            let (at, _) = place_on(picture, path, along);
            for mut spot in round_a_unit(&text, &style, &dot(at, 7.0)) {
                spot.cost += (share - 0.5_f64).abs() * 20.0;
                spots.push(spot);
            }
        }
        board.place(&text, &style, spots);
    }
}

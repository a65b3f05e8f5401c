//! A move's verdict drawn on the table: where it began, its tape with every piece and what it
//! cost, lines charged, the zone that stopped it, the furthest legal place and the refused rest.

use fieldpost_rules::game::{Game, Unit};
use fieldpost_rules::geometry::{Block, Footprint, Path, Point, larger};
use fieldpost_rules::orders::UnitId;
use fieldpost_rules::referee::zones::halt_zone_mm;
use fieldpost_rules::ruleset::ZoneFront;
use fieldpost_rules::verdict::{Code, MoveVerdict, Ruling, SheetVerdict};

use super::frame::Part;
use super::labels::{Board, Spot, Style};
use super::pen::{Pen, Trace};
use super::tape::{LegTrack, tracks};
use super::{Picture, SvgOptions, caption, palette, zones};
use crate::words::product;
use fieldpost_rules::verdict::rounding::tenths;

/// The verdict on a move, drawn on the part of the table round it (unless the options name a
/// part), with its figures beside the map. A unit that is not on the table has nothing to draw:
/// the table is shown as it is.
#[must_use]
pub fn verdict(game: &Game, verdict: &MoveVerdict, options: &SvgOptions) -> String {
    let drawing = Drawing::new(game, verdict);
    let options = SvgOptions {
        part: options.part.or_else(|| drawing.as_ref().map(Drawing::part)),
        ..options.clone()
    };
    let picture = Picture::new(game, &options);
    super::sheet(
        &picture,
        |pen, picture, left, top| caption::draw(pen, picture, verdict, left, top),
        &Overlay {
            drawing: drawing.as_ref(),
            picture: &picture,
        },
    )
}

/// The verdict on one of a sheet's orders, counted from 0, drawn on the table: a move with its tape, a
/// battle as the table with everybody in it marked. `None` when the order has nothing to draw.
#[must_use]
pub fn order(
    game: &Game,
    sheet: &SheetVerdict,
    order: usize,
    options: &SvgOptions,
) -> Option<String> {
    if let Some(moved) = sheet.moves.iter().find(|moved| moved.order == order) {
        return Some(verdict(game, moved, options));
    }
    let battle = sheet.battles.iter().find(|battle| battle.order == order)?;
    let parties = [&battle.attackers, &battle.defenders, &battle.guns];
    let options = SvgOptions {
        highlights: parties.into_iter().flatten().cloned().collect(),
        ..options.clone()
    };
    Some(super::table(game, &options))
}

struct Overlay<'a> {
    drawing: Option<&'a Drawing<'a>>,
    picture: &'a Picture<'a>,
}

impl super::Overlay for Overlay<'_> {
    fn under(&self, pen: &mut Pen) {
        if let Some(drawing) = self.drawing {
            drawing.draw_zones(pen, self.picture);
        }
    }

    fn over(&self, pen: &mut Pen, board: &mut Board) {
        if let Some(drawing) = self.drawing {
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

    /// The part that holds the whole move, with one and a half base widths round it.
    fn part(&self) -> Part {
        let mut points: Vec<Point> = self.start.corners().to_vec();
        for track in &self.tracks {
            points.extend(track.end.corners());
        }
        for enemy in self.stoppers() {
            points.extend(enemy.corners());
        }
        let bw = self.game.ruleset().scale.base_width_mm;
        let table = &self.game.scenario().table;
        Part::around(&points, bw * 1.5, bw * 7.0, table).widened(1.25, table)
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
            keep_clear(picture, track, board);
        }
        self.draw_footprints(pen, picture);
        for (index, track) in self.tracks.iter().enumerate() {
            self.draw_tape(pen, picture, index, track);
        }
        self.draw_lines_and_stops(pen, picture, board);
        for track in &self.tracks {
            letter_pieces(picture, track, board);
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
                .fill(palette::REFUSED)
                .attr("fill-opacity", "0.07")
                .stroke(palette::REFUSED, 1.4)
                .dashed("5 4")
                .done();
        }
        if let Some(furthest) = &self.furthest {
            pen.path(&outlined(furthest))
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
            Some((at, along)) if at == leg => fieldpost_rules::geometry::smaller(along, length),
            Some((at, _)) if at < leg => 0.0,
            _ => length,
        }
    }

    fn draw_tape(&self, pen: &mut Pen, picture: &Picture, index: usize, track: &LegTrack) {
        let Some(path) = &track.tape else { return };
        let length = path.length_mm();
        let good = self.good_until(index, length);
        let whole = stretch(picture, path, 0.0, length);
        pen.path(&whole).hollow("#fffdf4", 8.0).opacity(0.9).done();
        for (number, piece) in track.pieces.iter().enumerate() {
            let to = fieldpost_rules::geometry::smaller(piece.to_mm, good);
            if to > piece.from_mm {
                let trace = stretch(picture, path, piece.from_mm, to);
                let (ink, dashes) = ground_ink(picture, &piece.ground, number);
                let element = pen.path(&trace).hollow(ink, 5.0);
                match dashes {
                    Some(dashes) => element.dashed(dashes).done(),
                    None => element.done(),
                }
            }
        }
        if track.pieces.is_empty() && good > 0.0 {
            pen.path(&stretch(picture, path, 0.0, good))
                .hollow(palette::TAPE, 5.0)
                .done();
        }
        if good < length - 0.01 {
            pen.path(&stretch(picture, path, good, length))
                .hollow(palette::REFUSED, 3.0)
                .dashed("7 5")
                .done();
        }
        self.ticks(pen, picture, path, track, good < length - 0.01);
    }

    /// A tick wherever the ground changes, and an arrow head at the end.
    fn ticks(
        &self,
        pen: &mut Pen,
        picture: &Picture,
        path: &Path,
        track: &LegTrack,
        refused: bool,
    ) {
        let length = path.length_mm();
        for piece in &track.pieces {
            let (at, across) = place_on(picture, path, piece.from_mm);
            pen.line(at - across * 6.0, at + across * 6.0)
                .stroke(palette::INK, 1.4)
                .done();
        }
        let (end, across) = place_on(picture, path, length);
        let back = across.quarter_right();
        // across turned right points back along the tape
        let ink = if refused {
            palette::REFUSED
        } else {
            palette::ALLOWED
        };
        pen.path(&Trace::new().ring(&[
            end,
            end + back * 11.0 + across * 5.5,
            end + back * 11.0 - across * 5.5,
        ]))
        .fill(ink)
        .done();
    }

    /// Diamonds where lines were reached, and a bar where the first refused limit was.
    fn draw_lines_and_stops(&self, pen: &mut Pen, picture: &Picture, board: &mut Board) {
        for track in &self.tracks {
            let Some(path) = &track.tape else { continue };
            for line in &track.lines {
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
                    None => format!("{} + {}", line.line, tenths(line.charge_mm)),
                };
                board.block(dot(at, 7.0));
                let style = figures_style(palette::WATER_INK);
                board.place(
                    &text,
                    &style,
                    super::labels::round_a_unit(&text, &style, &dot(at, 8.0)),
                );
            }
        }
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
            board.place(
                &text,
                &style,
                super::labels::round_a_unit(&text, &style, &dot(at, 14.0)),
            );
        }
    }
}

fn block_at_end(unit: &Unit, verdict: &MoveVerdict) -> Block {
    let mut unit = unit.clone();
    unit.files = verdict.files;
    unit.block()
}

/// Figures keep off the tape: it blocks the board in short chords.
fn keep_clear(picture: &Picture, track: &LegTrack, board: &mut Board) {
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

fn dot(at: Point, half: f64) -> Footprint {
    Footprint {
        centre: at,
        ahead: fieldpost_rules::geometry::Vector::new(0.0, -1.0),
        half_frontage: half,
        half_depth: half,
    }
}

fn figures_style(ink: &str) -> Style {
    Style {
        size: 12.0,
        bold: true,
        of_place: false,
        ink: ink.to_owned(),
    }
}

/// A stretch of tape on the picture; arcs as short chords of at most 3°.
fn stretch(picture: &Picture, path: &Path, from_mm: f64, to_mm: f64) -> Trace {
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
fn place_on(
    picture: &Picture,
    path: &Path,
    along_mm: f64,
) -> (Point, fieldpost_rules::geometry::Vector) {
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
        .unwrap_or(fieldpost_rules::geometry::Vector::new(0.0, -1.0));
    (picture.frame.at(path.at(share)), way.quarter_right())
}

/// Ink of a piece by its ground, and dashes that set it apart without colour.
fn ground_ink(
    picture: &Picture,
    ground: &str,
    number: usize,
) -> (&'static str, Option<&'static str>) {
    match ground {
        "open" => (palette::TAPE, None),
        "road" => (palette::TAPE_ON_ROAD, Some("14 2")),
        _ => {
            let rate = picture
                .game
                .ruleset()
                .terrain
                .get(ground)
                .map_or(1.0, |kind| kind.rate);
            let ink = if rate > 2.0 {
                palette::TAPE_SLOWEST
            } else {
                palette::TAPE_SLOW
            };
            (
                ink,
                Some(if number.is_multiple_of(2) {
                    "3 2"
                } else {
                    "5 2"
                }),
            )
        }
    }
}

/// Length × rate = charge beside every piece.
fn letter_pieces(picture: &Picture, track: &LegTrack, board: &mut Board) {
    let Some(path) = &track.tape else { return };
    for piece in &track.pieces {
        let length = piece.to_mm - piece.from_mm;
        let text = format!(
            "{} {} = {}",
            piece.ground,
            product(length, piece),
            tenths(piece.charge_mm)
        );
        let style = figures_style(palette::INK);
        let mut spots: Vec<Spot> = Vec::new();
        for share in [0.5, 0.35, 0.65, 0.2, 0.8] {
            let along = piece.from_mm + length * share;
            let (at, _) = place_on(picture, path, along);
            for mut spot in super::labels::round_a_unit(&text, &style, &dot(at, 7.0)) {
                spot.cost += (share - 0.5_f64).abs() * 20.0;
                spots.push(spot);
            }
        }
        board.place(&text, &style, spots);
    }
}

//! Units: every base a cell, the front edge heavy with an arrow ahead of it, the arm's symbol
//! on a plate in the middle.

use fieldpost_rules::game::Unit;
use fieldpost_rules::geometry::{Footprint, Point, Vector, larger, smaller};
use fieldpost_rules::ruleset::Arm;
use fieldpost_rules::scenario::Command;
use fieldpost_rules::verdict::rounding::hundredths_text;

use super::Picture;
use super::frame::Frame;
use super::palette::{self, Side};
use super::pen::{Pen, Trace};

/// The rectangle of one base within its unit's footprint, as files and ranks are counted from
/// the front left. Only bases that are left have one; the last rank stands behind the middle.
pub(super) fn bases(unit: &Unit, footprint: &Footprint) -> Vec<[Point; 4]> {
    let places = (0..usize::from(unit.bases)).map(|base| place_of(unit, base, unit.bases));
    places.map(|place| cell(unit, footprint, place)).collect()
}

/// The rectangles of bases lost from the last rank that stands. A place that never had a base, because the unit
/// began with fewer than its block has room for, is none of them.
pub(super) fn losses(unit: &Unit, footprint: &Footprint) -> Vec<[Point; 4]> {
    let (files, ranks) = (unit.files.max(1), unit.ranks());
    let room = files.saturating_mul(ranks);
    let began = unit.bases_at_start.min(room);
    let front = usize::from(files) * usize::from(ranks.saturating_sub(1));
    let left: Vec<(usize, usize)> = (front..usize::from(unit.bases))
        .map(|base| place_of(unit, base, unit.bases))
        .collect();
    (front..usize::from(began))
        .map(|base| place_of(unit, base, began))
        .filter(|place| !left.contains(place))
        .map(|place| cell(unit, footprint, place))
        .collect()
}

/// Rank and file of one base of so many.
fn place_of(unit: &Unit, base: usize, of: u16) -> (usize, usize) {
    let files = usize::from(unit.files.max(1));
    let (rank, place) = (base / files, base % files);
    let in_rank = smaller_count(files, usize::from(of) - rank * files);
    (rank, place + (files - in_rank) / 2)
}

fn cell(unit: &Unit, footprint: &Footprint, (rank, file): (usize, usize)) -> [Point; 4] {
    let (wide, deep) = unit.base_mm;
    let left = -footprint.half_frontage + number(file) * wide;
    let front = footprint.half_depth - number(rank) * deep;
    [
        footprint.at(left, front),
        footprint.at(left + wide, front),
        footprint.at(left + wide, front - deep),
        footprint.at(left, front - deep),
    ]
}

fn smaller_count(a: usize, b: usize) -> usize {
    if a < b { a } else { b }
}

fn number(count: usize) -> f64 {
    f64::from(u32::try_from(count).unwrap_or(u32::MAX))
}

/// All units on the table.
pub(super) fn draw(pen: &mut Pen, picture: &Picture) {
    for unit in picture.game.on_table() {
        let Some(footprint) = unit.footprint() else {
            continue;
        };
        if !picture.shows(&footprint) {
            continue;
        }
        draw_one(pen, picture, unit, &footprint);
    }
}

fn draw_one(pen: &mut Pen, picture: &Picture, unit: &Unit, footprint: &Footprint) {
    let frame = &picture.frame;
    let side = picture.side(unit);
    let whole = frame.all(&footprint.corners());
    let mut group = pen
        .group()
        .attr("class", "unit")
        .attr("data-unit", &unit.id.0);
    if let Some(way) = way(picture, unit) {
        group = group.attr("data-way", &way);
    }
    picture.tell_unit(group, unit, footprint).open();
    pen.element("title").say(&spoken(unit));
    let lit = picture.options.highlights.contains(&unit.id);
    if lit {
        pen.path(&Trace::new().ring(&whole))
            .hollow(palette::GLOW, 9.0)
            .attr("stroke-linejoin", "round")
            .done();
    }
    let (left, lost) = (bases(unit, footprint), losses(unit, footprint));
    pen.path(&shade(frame, left.iter().chain(&lost)))
        .fill("#3a3120")
        .opacity(0.28)
        .done();
    if !lost.is_empty() {
        pen.path(&rings(frame, &lost))
            .fill("#f4efe0")
            .stroke(&side.dark, 0.8)
            .dashed("2.5 2")
            .done();
    }
    pen.path(&rings(frame, &left))
        .fill(&side.body)
        .stroke(&side.dark, 1.0)
        .attr("stroke-linejoin", "round")
        .done();
    front(pen, frame, footprint, side);
    if unit.disorder > 0 {
        disorder(pen, frame, footprint);
    }
    plate(pen, frame, unit, footprint, side);
    pen.close("g");
}

/// Where it stood one after another until it came here: pixels east and down, bearing in degrees and millimetres of
/// tape since the station before, a station after each semicolon.
fn way(picture: &Picture, unit: &Unit) -> Option<String> {
    let mut ghosts = picture.options.ghosts.iter();
    let ghost = ghosts.find(|ghost| ghost.unit == unit.id)?;
    let stations = ghost.stations();
    let texts = stations.iter().map(|(placement, mm)| {
        let at = picture.frame.at(placement.anchor);
        [at.x, at.y, placement.bearing_deg(), *mm]
            .map(hundredths_text)
            .join(" ")
    });
    (stations.len() > 1).then(|| texts.collect::<Vec<_>>().join(";"))
}

fn rings(frame: &Frame, cells: &[[Point; 4]]) -> Trace {
    cells
        .iter()
        .fold(Trace::new(), |trace, cell| trace.ring(&frame.all(cell)))
}

/// The shadow of some cells.
fn shade<'a>(frame: &Frame, cells: impl Iterator<Item = &'a [Point; 4]>) -> Trace {
    cells.fold(Trace::new(), |trace, cell| {
        let shifted = cell.map(|corner| {
            let at = frame.at(corner);
            Point::new(at.x + 1.4, at.y + 2.0)
        });
        trace.ring(&shifted)
    })
}

/// What a pointer held over the unit tells.
fn spoken(unit: &Unit) -> String {
    format!(
        "{} ({}): {} of {} bases",
        unit.name, unit.id, unit.bases, unit.bases_at_start
    )
}

/// How far ahead of the front edge its arrow reaches, in pixels.
pub(super) fn arrow_px(frame: &Frame, footprint: &Footprint) -> f64 {
    let wide = frame.long(footprint.half_frontage * 2.0);
    smaller(larger(wide * 0.11, 5.0), 11.0)
}

fn front(pen: &mut Pen, frame: &Frame, footprint: &Footprint, side: &Side) {
    let (left, right) = (
        frame.at(footprint.front_left()),
        frame.at(footprint.front_right()),
    );
    pen.line(left, right)
        .stroke(&side.dark, 3.4)
        .attr("stroke-linecap", "round")
        .done();
    let ahead = frame.way(footprint.ahead);
    let across = frame.way(footprint.right());
    let reach = arrow_px(frame, footprint);
    let foot = frame.at(footprint.anchor()) + ahead * 1.6;
    let corners = [
        foot - across * (reach * 0.95),
        foot + ahead * reach,
        foot + across * (reach * 0.95),
    ];
    let fill = if side.filled {
        side.dark.as_str()
    } else {
        "#fffdf6"
    };
    pen.path(&Trace::new().ring(&corners))
        .fill(fill)
        .stroke(&side.dark, 1.5)
        .attr("stroke-linejoin", "round")
        .done();
}

/// The sign of disorder along the rear edge.
fn disorder(pen: &mut Pen, frame: &Frame, footprint: &Footprint) {
    let rear = |share: f64| {
        let across = (share * 2.0 - 1.0) * footprint.half_frontage;
        frame.at(footprint.at(across, -footprint.half_depth))
    };
    zigzag(pen, rear, -frame.way(footprint.ahead));
}

/// A broken line beside another one, whose points are told by their share of its length.
pub(super) fn zigzag(pen: &mut Pen, along: impl Fn(f64) -> Point, outward: Vector) {
    let teeth = 9;
    let mut trace = Trace::new();
    for tooth in 0..=teeth {
        let out = if tooth % 2 == 0 { 1.5 } else { 6.5 };
        let at = along(f64::from(tooth) / f64::from(teeth)) + outward * out;
        trace = if tooth == 0 {
            trace.to(at)
        } else {
            trace.line(at)
        };
    }
    pen.path(&trace)
        .hollow(palette::REFUSED, 1.6)
        .round()
        .done();
}

/// Size of the symbol plate in pixels: half its width and half its height.
fn plate_size(frame: &Frame, footprint: &Footprint) -> (f64, f64) {
    let wide = frame.long(footprint.half_frontage * 2.0);
    let deep = frame.long(footprint.half_depth * 2.0);
    let high = smaller(
        smaller(deep * 0.62, wide * 0.5),
        larger(frame.height() * 0.034, 24.0),
    );
    (high * 0.75, high * 0.5)
}

fn plate(pen: &mut Pen, frame: &Frame, unit: &Unit, footprint: &Footprint, side: &Side) {
    let (wide, high) = plate_size(frame, footprint);
    let middle = frame.at(footprint.centre);
    let badge = Badge {
        middle,
        right: frame.way(footprint.right()),
        ahead: frame.way(footprint.ahead),
        wide,
        high,
    };
    badge.draw(pen, unit.arm, unit.command, side);
}

/// A symbol plate anywhere on the picture.
pub(super) struct Badge {
    /// Its middle.
    pub(super) middle: Point,
    /// Unit vector to its right.
    pub(super) right: Vector,
    /// Unit vector to its top.
    pub(super) ahead: Vector,
    /// Half its width.
    pub(super) wide: f64,
    /// Half its height.
    pub(super) high: f64,
}

impl Badge {
    /// An upright one.
    pub(super) fn upright(middle: Point, high: f64) -> Self {
        Self {
            middle,
            right: Vector::new(1.0, 0.0),
            ahead: Vector::new(0.0, -1.0),
            wide: high * 1.5,
            high,
        }
    }

    fn at(&self, right: f64, ahead: f64) -> Point {
        self.middle + self.right * (right * self.wide) + self.ahead * (ahead * self.high)
    }

    /// Plate and symbol: foot crossed corner to corner, horse one diagonal, guns a dot (the
    /// basic shapes of the open military map-symbol standard); a chief a star, a subordinate
    /// commander a pennant (our own).
    pub(super) fn draw(&self, pen: &mut Pen, arm: Arm, command: Option<Command>, side: &Side) {
        let corners = [
            self.at(-1.0, 1.0),
            self.at(1.0, 1.0),
            self.at(1.0, -1.0),
            self.at(-1.0, -1.0),
        ];
        pen.path(&Trace::new().ring(&corners))
            .fill(&side.plate)
            .stroke(&side.dark, 1.1)
            .attr("stroke-linejoin", "round")
            .done();
        let ink = side.symbol.as_str();
        let thick = larger(self.high * 0.2, 1.2);
        match (arm, command) {
            (Arm::Foot, _) => {
                pen.line(corners[0], corners[2]).stroke(ink, thick).done();
                pen.line(corners[3], corners[1]).stroke(ink, thick).done();
            }
            (Arm::Horse, _) => pen.line(corners[3], corners[1]).stroke(ink, thick).done(),
            (Arm::Guns, _) => pen.circle(self.middle, self.high * 0.46).fill(ink).done(),
            (Arm::Commander, Some(Command::Subordinate)) => self.pennant(pen, ink, thick),
            (Arm::Commander, _) => self.star(pen, ink),
        }
    }

    fn star(&self, pen: &mut Pen, ink: &str) {
        let corner = |step: u32| {
            let reach = self.high * if step.is_multiple_of(2) { 0.86 } else { 0.36 };
            let turn = f64::from(step) * std::f64::consts::TAU / 10.0;
            let (sine, cosine) = (libm::sin(turn), libm::cos(turn));
            self.middle + self.right * (reach * sine) + self.ahead * (reach * cosine)
        };
        let corners: Vec<Point> = (0..10).map(corner).collect();
        pen.path(&Trace::new().ring(&corners)).fill(ink).done();
    }

    fn pennant(&self, pen: &mut Pen, ink: &str, thick: f64) {
        let there = |right: f64, ahead: f64| {
            self.middle + self.right * (right * self.high) + self.ahead * (ahead * self.high)
        };
        pen.line(there(-0.6, -0.8), there(-0.6, 0.8))
            .stroke(ink, thick * 0.8)
            .done();
        let flag = [
            there(-0.6, 0.8),
            there(0.9, 0.62),
            there(0.35, 0.32),
            there(0.9, 0.02),
            there(-0.6, -0.1),
        ];
        pen.path(&Trace::new().ring(&flag)).fill(ink).done();
    }
}

//! Lettering that never collides: every label looks for a place clear of units and of the
//! labels already placed; one that must stand off its unit gets a leader line.
//!
//! Everything here is in pixels. Boxes are footprints, so that slanted ones are measured exactly.

use fieldpost_rules::geometry::{Footprint, Point, Vector, larger, signed_distance_mm, smaller};
use fieldpost_rules::verdict::rounding::hundredths_text;

use super::letters;
use super::palette;
use super::pen::{Element, Pen, SERIF};

/// How a text looks.
#[derive(Debug, Clone)]
pub(super) struct Style {
    /// Type size.
    pub(super) size: f64,
    /// Bold or not.
    pub(super) bold: bool,
    /// In the serif face, slanted.
    pub(super) of_place: bool,
    /// Ink.
    pub(super) ink: String,
}

/// A text that has found its place.
#[derive(Debug, Clone)]
pub(super) struct Label {
    text: String,
    style: Style,
    /// The unit that it names.
    pub(super) whose: Option<Whose>,
    /// The ground it covers.
    pub(super) bounds: Footprint,
    /// From the label to what it names, when it stands off.
    pub(super) leader: Option<(Point, Point)>,
}

/// The unit that a label names.
#[derive(Debug, Clone)]
pub(super) struct Whose {
    /// Its id.
    pub(super) unit: String,
    /// The ground it takes up on the picture, with its arrow.
    pub(super) ground: Footprint,
    /// How many bytes of the text are its mark; the rest may be left away where there is little room.
    pub(super) mark: usize,
}

/// A place that a label might take.
#[derive(Debug, Clone, Copy)]
pub(super) struct Spot {
    /// Middle of the text.
    pub(super) middle: Point,
    /// Unit vector along the text.
    pub(super) along: Vector,
    /// How unwelcome; the least is tried first.
    pub(super) cost: f64,
    /// The end of a leader line at the thing named, if this place needs one.
    pub(super) leader_to: Option<Point>,
}

impl Spot {
    /// An upright place without a leader.
    pub(super) fn upright(middle: Point, cost: f64) -> Self {
        Self {
            middle,
            along: Vector::new(1.0, 0.0),
            cost,
            leader_to: None,
        }
    }
}

/// Gap kept between a label and anything else.
const GAP: f64 = 1.5;
/// Gap kept between a unit's name and every other unit.
const BESIDE: f64 = 6.0;

/// The placer: what is in the way, and what has found its place.
pub(super) struct Board {
    low: Point,
    high: Point,
    /// Units with the arrows ahead of them: neither labels nor leaders cross them.
    obstacles: Vec<Footprint>,
    /// What labels keep off and leaders may cross.
    lesser: Vec<Footprint>,
    /// Lines of the ground that would strike letters through.
    lines: Vec<Footprint>,
    /// The ground of every unit with its arrow: a name stands beside its own and no other.
    units: Vec<Footprint>,
    placed: Vec<Label>,
    left_out: usize,
}

impl Board {
    /// A board whose labels stay within two corners of the picture.
    pub(super) fn new(low: Point, high: Point) -> Self {
        Self {
            low,
            high,
            obstacles: Vec::new(),
            lesser: Vec::new(),
            lines: Vec::new(),
            units: Vec::new(),
            placed: Vec::new(),
            left_out: 0,
        }
    }

    /// Puts something in the way.
    pub(super) fn block(&mut self, bounds: Footprint) {
        self.obstacles.push(bounds);
    }

    /// Puts a unit in the way.
    pub(super) fn block_unit(&mut self, ground: Footprint) {
        self.obstacles.push(ground);
        self.units.push(ground);
    }

    /// Says where lines of the ground run.
    pub(super) fn draw_lines(&mut self, lines: Vec<Footprint>) {
        self.lines.extend(lines);
    }

    /// Puts something in the way of labels that leaders may cross.
    pub(super) fn block_labels(&mut self, bounds: Footprint) {
        self.lesser.push(bounds);
    }

    /// Keeps labels off those of another board.
    pub(super) fn keep_clear_of(&mut self, other: &Self) {
        self.lesser
            .extend(other.placed.iter().map(|label| label.bounds));
    }

    /// Labels placed so far.
    pub(super) fn labels(&self) -> &[Label] {
        &self.placed
    }

    /// What stands in the way of labels.
    pub(super) fn obstacles(&self) -> impl Iterator<Item = &Footprint> {
        self.obstacles.iter().chain(&self.lesser)
    }

    /// How many found no place.
    pub(super) fn left_out(&self) -> usize {
        self.left_out
    }

    /// Places a text at its best free spot, on no line if that can be; whether there was one.
    pub(super) fn place(&mut self, text: &str, style: &Style, spots: Vec<Spot>) -> bool {
        self.place_one_of(&[(text, spots)], style, None)
    }

    /// Places the first of some texts that has room: first where no line strikes it through, else on one. A unit's
    /// name never stands where it could be taken for another's.
    pub(super) fn place_one_of(
        &mut self,
        texts: &[(&str, Vec<Spot>)],
        style: &Style,
        whose: Option<&Whose>,
    ) -> bool {
        let ways = [false, true];
        let found = ways.into_iter().find_map(|may_be_struck| {
            texts.iter().find_map(|(text, spots)| {
                let mut order: Vec<&Spot> = spots.iter().collect();
                order.sort_by(|a, b| a.cost.total_cmp(&b.cost));
                order
                    .into_iter()
                    .find_map(|spot| self.tried(text, style, whose, spot, may_be_struck))
            })
        });
        let found = found.or_else(|| self.on_own_ground(texts.last()?.0, style, whose?));
        let is_placed = found.is_some();
        self.placed.extend(found);
        self.left_out += usize::from(!is_placed);
        is_placed
    }

    /// The last resort of a unit hemmed in on all sides: its mark on its own ground, beside the symbol if that can be.
    fn on_own_ground(&self, text: &str, style: &Style, whose: &Whose) -> Option<Label> {
        let ground = &whose.ground;
        let spots = [0.58, -0.58, 0.0].map(|share| {
            let aside = ground.right() * (ground.half_frontage * share);
            Spot::upright(ground.centre + aside, 0.0)
        });
        let mut places = spots.iter().map(|spot| box_of(text, style, spot));
        let bounds = places.find(|bounds| {
            let mut others = self.obstacles().filter(|other| *other != ground);
            self.is_inside(bounds)
                && !others.any(|other| touch(bounds, other, 0.0))
                && !self
                    .placed
                    .iter()
                    .any(|label| touch(bounds, &label.bounds, GAP))
        })?;
        Some(Label {
            text: text.to_owned(),
            style: style.clone(),
            whose: Some(whose.clone()),
            bounds,
            leader: None,
        })
    }

    fn tried(
        &self,
        text: &str,
        style: &Style,
        whose: Option<&Whose>,
        spot: &Spot,
        may_be_struck: bool,
    ) -> Option<Label> {
        let bounds = box_of(text, style, spot);
        let leader = spot.leader_to.map(|end| (nearest_on(&bounds, end), end));
        let line = leader.and_then(|(from, to)| line_box(from, to));
        let is_free = self.is_inside(&bounds)
            && !self.obstacles().any(|other| touch(&bounds, other, GAP))
            && (may_be_struck || !self.is_struck(&bounds))
            && !self.placed.iter().any(|label| {
                touch(&bounds, &label.bounds, GAP)
                    || label
                        .leader_box()
                        .is_some_and(|other| touch(&bounds, &other, GAP))
                    || line.is_some_and(|line| touch(&line, &label.bounds, GAP))
            })
            && line.is_none_or(|line| self.is_open(&line))
            && whose.is_none_or(|whose| !self.is_beside_another(&bounds, leader.is_some(), whose));
        is_free.then(|| Label {
            text: text.to_owned(),
            style: style.clone(),
            whose: whose.cloned(),
            bounds,
            leader,
        })
    }

    /// Whether a line of the ground runs through a text.
    fn is_struck(&self, bounds: &Footprint) -> bool {
        self.lines.iter().any(|line| touch(bounds, line, 0.0))
    }

    /// Whether a name could be taken for that of another unit: it stands close beside that, or nearer to it than to
    /// its own without a leader.
    fn is_beside_another(&self, bounds: &Footprint, has_leader: bool, whose: &Whose) -> bool {
        let own = if has_leader {
            0.0
        } else {
            larger(signed_distance_mm(bounds, &whose.ground), 0.0)
        };
        let mut others = self.units.iter().filter(|other| **other != whose.ground);
        others.any(|other| touch(bounds, other, larger(own + 3.0, BESIDE)))
    }

    /// Whether a leader line crosses no unit and no other leader; its last pixels touch its own unit.
    fn is_open(&self, line: &Footprint) -> bool {
        !self.obstacles.iter().any(|other| touch(line, other, -1.5))
            && !self
                .placed
                .iter()
                .filter_map(Label::leader_box)
                .any(|other| touch(line, &other, GAP))
    }

    fn is_inside(&self, bounds: &Footprint) -> bool {
        bounds.corners().iter().all(|corner| {
            corner.x >= self.low.x
                && corner.y >= self.low.y
                && corner.x <= self.high.x
                && corner.y <= self.high.y
        })
    }

    /// Draws everything placed.
    pub(super) fn draw(&self, pen: &mut Pen) {
        for label in &self.placed {
            label.draw_leader(pen);
        }
        for label in &self.placed {
            label.draw(pen);
        }
    }
}

impl Label {
    /// Whether these letters are among its own.
    #[cfg(test)]
    pub(super) fn says(&self, letters: &str) -> bool {
        self.text.contains(letters)
    }

    /// The thin box of its leader line.
    pub(super) fn leader_box(&self) -> Option<Footprint> {
        self.leader.and_then(|(from, to)| line_box(from, to))
    }

    fn draw_leader(&self, pen: &mut Pen) {
        let Some((from, to)) = self.leader else {
            return;
        };
        let unit = self.whose.as_ref().map_or("", |whose| whose.unit.as_str());
        pen.group()
            .attr("class", "leader")
            .attr("data-unit", unit)
            .open();
        pen.line(from, to)
            .stroke(palette::OPEN, 2.4)
            .opacity(0.8)
            .done();
        pen.line(from, to).stroke(&self.style.ink, 0.8).done();
        pen.close("g");
    }

    /// The letters over a pale copy of themselves that parts them from the ground. (One text that paints its outline
    /// below its filling is not understood by every viewer: some paint it over the letters.) A unit's name stands in
    /// a group that tells where the middles of the name and of its unit are, and half the unit's extent.
    fn draw(&self, pen: &mut Pen) {
        let (first, rest) = match &self.whose {
            Some(whose) => {
                let (own, at) = (self.bounds.centre, whose.ground.centre);
                let (wide, high) = upright_halves(&whose.ground);
                let numbers = [own.x, own.y, at.x, at.y, wide, high].map(hundredths_text);
                pen.group()
                    .attr("class", "name")
                    .attr("data-unit", &whose.unit)
                    .attr("data-at", &numbers.join(" "))
                    .open();
                self.text
                    .split_at_checked(whose.mark)
                    .unwrap_or((&self.text, ""))
            }
            None => {
                let class = if self.style.of_place {
                    "place"
                } else {
                    "figure"
                };
                pen.group().attr("class", class).open();
                (self.text.as_str(), "")
            }
        };
        self.text(pen)
            .hollow(palette::HALO, 2.6)
            .attr("stroke-opacity", "0.85")
            .attr("stroke-linejoin", "round")
            .attr("aria-hidden", "true")
            .say_in_two(first, rest);
        self.text(pen).fill(&self.style.ink).say_in_two(first, rest);
        pen.close("g");
    }

    fn text<'p>(&self, pen: &'p mut Pen) -> Element<'p> {
        let along = self.bounds.ahead.quarter_right();
        let middle = self.bounds.centre;
        let baseline = Point::new(middle.x, middle.y + self.style.size * 0.34);
        let mut element = pen
            .text(baseline, self.style.size)
            .attr("text-anchor", "middle");
        if self.style.bold {
            element = element.attr("font-weight", "bold");
        }
        if self.style.of_place {
            element = element
                .attr("font-family", SERIF)
                .attr("font-style", "italic");
        }
        let degrees = libm::atan2(along.y, along.x).to_degrees();
        if degrees.abs() > 0.05 {
            element = element.turned(degrees, middle);
        }
        element
    }
}

/// Half the width and half the height of the upright box round a slanted one.
fn upright_halves(ground: &Footprint) -> (f64, f64) {
    let (right, ahead) = (ground.right(), ground.ahead);
    (
        right.x.abs() * ground.half_frontage + ahead.x.abs() * ground.half_depth,
        right.y.abs() * ground.half_frontage + ahead.y.abs() * ground.half_depth,
    )
}

/// The ground that a text covers at a place.
pub(super) fn box_of(text: &str, style: &Style, spot: &Spot) -> Footprint {
    Footprint {
        centre: spot.middle,
        // quarter right of this is the way the text runs
        ahead: -spot.along.quarter_right(),
        half_frontage: letters::width(text, style.size, style.bold) / 2.0 + 1.0,
        half_depth: style.size * 0.56,
    }
}

/// A straight line as a thin box; none when it has no length.
pub(super) fn line_box(from: Point, to: Point) -> Option<Footprint> {
    let way = (to - from).unit()?;
    Some(Footprint {
        centre: from.towards(to, 0.5),
        ahead: way,
        half_frontage: 0.5,
        half_depth: from.distance_to(to) / 2.0,
    })
}

/// Whether two boxes come nearer than a gap.
pub(super) fn touch(first: &Footprint, second: &Footprint, gap: f64) -> bool {
    first.centre.distance_to(second.centre) < first.reach() + second.reach() + gap
        && signed_distance_mm(first, second) < gap
}

/// The point of a box nearest to a place.
fn nearest_on(bounds: &Footprint, place: Point) -> Point {
    let (right, ahead) = bounds.local(place);
    let kept = |value: f64, half: f64| larger(smaller(value, half), -half);
    bounds.at(
        kept(right, bounds.half_frontage),
        kept(ahead, bounds.half_depth),
    )
}

/// Places round a unit: sixteen ways at growing distances, behind it first, ahead of it last.
pub(super) fn round_a_unit(text: &str, style: &Style, unit: &Footprint) -> Vec<Spot> {
    let half_wide = letters::width(text, style.size, style.bold) / 2.0 + 1.0;
    let half_high = style.size * 0.56;
    let mut spots = Vec::new();
    for ring in [2.5, 9.0, 18.0, 30.0, 46.0, 66.0, 92.0, 124.0, 160.0, 205.0] {
        for sixteenth in 0..16 {
            let turn = f64::from(sixteenth) * std::f64::consts::TAU / 16.0;
            let way = Vector::along_bearing(turn);
            let reach = clear_of(unit, way, half_wide, half_high) + ring;
            let middle = unit.centre + way * reach;
            let ahead = way.dot(unit.ahead);
            let level = way.y.abs();
            let cost = ring * 1.5 + 9.0 * (ahead + 1.0) + 5.0 * (1.0 - level);
            let leader_to = (ring > 9.0).then(|| edge_towards(unit, way));
            spots.push(Spot {
                middle,
                along: Vector::new(1.0, 0.0),
                cost,
                leader_to,
            });
        }
    }
    spots
}

/// How far the middle of an upright box must go along a way to be clear of a unit: the least
/// over the separating axes of both.
fn clear_of(unit: &Footprint, way: Vector, half_wide: f64, half_high: f64) -> f64 {
    let axes = [
        Vector::new(1.0, 0.0),
        Vector::new(0.0, 1.0),
        unit.right(),
        unit.ahead,
    ];
    let mut least = f64::INFINITY;
    for axis in axes {
        let run = way.dot(axis).abs();
        if run > 1e-6 {
            let unit_half = unit.half_frontage * unit.right().dot(axis).abs()
                + unit.half_depth * unit.ahead.dot(axis).abs();
            let text_half = half_wide * axis.x.abs() + half_high * axis.y.abs();
            least = smaller(least, (unit_half + text_half) / run);
        }
    }
    least
}

/// Where a ray from a unit's middle leaves it, a little outside.
pub(super) fn edge_towards(unit: &Footprint, way: Vector) -> Point {
    let right = way.dot(unit.right()).abs();
    let ahead = way.dot(unit.ahead).abs();
    let across = if right > 1e-9 {
        unit.half_frontage / right
    } else {
        f64::INFINITY
    };
    let along = if ahead > 1e-9 {
        unit.half_depth / ahead
    } else {
        f64::INFINITY
    };
    unit.centre + way * (smaller(across, along) + 1.0)
}

/// What a picture's lettering measures up to; all zero is what it should be.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Clashes {
    /// Pairs of labels that overlap.
    pub labels_on_labels: usize,
    /// Labels that overlap a unit.
    pub labels_on_units: usize,
    /// Units that should have a label and have none.
    pub units_unnamed: usize,
    /// Names of ground that found no free place and were left off.
    pub places_unnamed: usize,
    /// Labels that a line of the ground runs through.
    pub labels_struck: usize,
    /// Names of units that stand beside another unit, or nearer to one than to their own without a leader.
    pub names_beside_others: usize,
}

/// Measures labels afresh, without asking the placer: overlaps with labels and with units, lines through them, and
/// names beside units that are not theirs.
pub(super) fn measured(board: &Board) -> Clashes {
    let mut found = Clashes::default();
    for (index, label) in board.labels().iter().enumerate() {
        let distance = |other: &Footprint| signed_distance_mm(&label.bounds, other);
        let rest = board.labels()[index + 1..].iter();
        found.labels_on_labels += rest.filter(|other| distance(&other.bounds) < 0.0).count();
        let is_own =
            |unit: &Footprint| (label.whose.as_ref()).is_some_and(|whose| whose.ground == *unit);
        let units = board.obstacles().filter(|unit| !is_own(unit));
        found.labels_on_units += units.filter(|unit| distance(unit) < 0.0).count();
        found.labels_struck += usize::from(board.lines.iter().any(|line| distance(line) < 0.0));
        let Some(whose) = &label.whose else { continue };
        let own = distance(&whose.ground);
        // a mark on its own ground is nobody else's
        if own < 0.0 {
            continue;
        }
        let others = board.units.iter().filter(|other| **other != whose.ground);
        let nearest = others.fold(f64::INFINITY, |least, other| {
            smaller(least, distance(other))
        });
        let is_mistaken = nearest < BESIDE || label.leader.is_none() && nearest <= own;
        found.names_beside_others += usize::from(is_mistaken);
    }
    found
}

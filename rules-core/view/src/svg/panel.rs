//! The key beside the map: both orders of battle, what is still to come, signs and ground.

use std::collections::BTreeMap;

use crate::fates::fate;
use crate::words;
use fieldpost_rules::game::{State, Unit};
use fieldpost_rules::geometry::{Point, larger};
use fieldpost_rules::ruleset::{Arm, Drawing, LineDrawing, Ruleset};
use fieldpost_rules::scenario::Command;
use fieldpost_rules::verdict::rounding::amount;

use super::pen::{Pen, SERIF, Trace};
use super::signs::{self, Type};
use super::units::Badge;
use super::{Picture, letters, lines, palette, terrain, zones};

/// Width of the key in pixels.
pub(super) const WIDTH: f64 = 292.0;

/// Where marks begin, and where the tallies of bases do.
const MARKS_AT: f64 = 27.0;
const TALLIES_AT: f64 = 212.0;

/// A column of text that grows downward.
pub(super) struct Column<'a> {
    pub(super) pen: &'a mut Pen,
    pub(super) left: f64,
    pub(super) y: f64,
}

impl Column<'_> {
    /// A heading with a rule under it.
    pub(super) fn heading(&mut self, text: &str, ink: &str) {
        self.y += 27.0;
        let fitted = letters::fitted(text, 14.0, true, WIDTH);
        self.pen
            .text(Point::new(self.left, self.y), 14.0)
            .fill(ink)
            .attr("font-family", SERIF)
            .attr("font-weight", "bold")
            .say(&fitted);
        self.y += 5.0;
        self.pen
            .line(
                Point::new(self.left, self.y),
                Point::new(self.left + WIDTH, self.y),
            )
            .stroke(ink, 0.8)
            .done();
        self.y += 4.0;
    }

    /// A line of text at an indent.
    pub(super) fn say(&mut self, text: &str, size: f64, ink: &str) {
        for line in letters::wrapped(text, size, false, WIDTH) {
            self.y += size * 1.35;
            self.pen
                .text(Point::new(self.left, self.y), size)
                .fill(ink)
                .say(&line);
        }
    }
}

/// The whole key from a point downwards; returns where it ends.
pub(super) fn draw(pen: &mut Pen, picture: &Picture, left: f64, top: f64) -> f64 {
    let mut column = Column { pen, left, y: top };
    for index in 0..2 {
        roster(&mut column, picture, index);
    }
    points(&mut column, picture);
    signs(&mut column, picture);
    ground(&mut column, picture);
    column.y
}

fn roster(column: &mut Column, picture: &Picture, index: usize) {
    let side = &picture.sides[index];
    let names_at = names_at(picture);
    column.heading(&picture.game.scenario().side[index].name, &side.dark);
    for unit in picture.game.units().filter(|unit| unit.side == index) {
        column.y += 16.0;
        let line = column.y;
        let badge = Badge::upright(Point::new(column.left + 11.0, line - 4.0), 6.0);
        badge.draw(column.pen, unit.arm, unit.command, side);
        let gone = matches!(unit.state, State::Gone(_));
        let ink = if gone { palette::FAINT } else { palette::INK };
        let mut text = |x: f64, bold: bool, room: f64, what: &str| {
            let mut element = column
                .pen
                .text(Point::new(column.left + x, line), 11.0)
                .fill(ink);
            if bold {
                element = element.attr("font-weight", "bold");
            }
            element.say(&letters::fitted(what, 11.0, bold, room));
        };
        // never cut: the beginning of one mark may be the whole of another
        text(MARKS_AT, true, f64::INFINITY, &picture.mark(unit));
        text(names_at, false, TALLIES_AT - 6.0 - names_at, &unit.name);
        strength(column, unit, picture, line);
    }
}

/// Where names begin: clear of the longest mark of both sides.
fn names_at(picture: &Picture) -> f64 {
    let longest = picture.game.units().fold(0.0, |most, unit| {
        larger(most, letters::width(&picture.mark(unit), 11.0, true))
    });
    larger(MARKS_AT + longest + 5.0, 64.0)
}

/// Bases left and lost, or where the unit is instead.
fn strength(column: &mut Column, unit: &Unit, picture: &Picture, line: f64) {
    let words = match &unit.state {
        State::Waiting(arrival) => format!("turn {}", arrival.game_turn),
        State::Gone(_) => fate(unit).unwrap_or("gone").to_owned(),
        State::Standing(_) if unit.is_commander() => String::new(),
        State::Standing(_) => format!("{}/{}", unit.bases, unit.bases_at_start),
    };
    column
        .pen
        .text(Point::new(column.left + WIDTH, line), 10.5)
        .fill(palette::INK)
        .attr("text-anchor", "end")
        .say(&words);
    if !unit.is_on_table() || unit.is_commander() || unit.bases_at_start > 20 {
        return;
    }
    // a tally of bases: filled are left, hollow are lost
    let side = picture.side(unit);
    let (mut left, mut lost) = (Trace::new(), Trace::new());
    for base in 0..unit.bases_at_start {
        let x = column.left + TALLIES_AT + f64::from(base % 10) * 4.4;
        let y = line - 8.5 + f64::from(base / 10) * 5.0;
        let corners = [(0.0, 0.0), (3.4, 0.0), (3.4, 3.8), (0.0, 3.8)]
            .map(|(dx, dy)| Point::new(x + dx, y + dy));
        if base < unit.bases {
            left = left.ring(&corners);
        } else {
            lost = lost.ring(&corners);
        }
    }
    column.pen.path(&left).fill(&side.body).done();
    column.pen.path(&lost).hollow(&side.dark, 0.5).done();
}

/// The score, what is worth points, and who must attack whom.
fn points(column: &mut Column, picture: &Picture) {
    let scenario = picture.game.scenario();
    column.heading("Points", palette::INK);
    column.say(&words::score(picture.game), 11.0, palette::INK);
    let of_losses = words::worth_of_losses(&scenario.victory);
    if let Some(of_losses) = of_losses.filter(|_| picture.game.ending().is_none()) {
        column.say(&of_losses, 11.0, palette::INK);
    }
    for (index, objective) in scenario.objective.iter().enumerate() {
        let holder = picture.game.holders().get(index).copied().flatten();
        let who = holder.map_or("nobody", |side| scenario.side[side % 2].name.as_str());
        let text = format!(
            "{}: {}, held by {who}",
            objective.name,
            amount(objective.points)
        );
        let (cloth, ink) = zones::flag_inks(picture, holder);
        column.y += 9.0;
        let foot = Point::new(column.left + 5.0, column.y + 16.0);
        zones::flag(column.pen, foot, cloth, ink);
        for line in letters::wrapped(&text, 11.0, false, WIDTH - 24.0) {
            column.y += 15.0;
            column
                .pen
                .text(Point::new(column.left + 24.0, column.y), 11.0)
                .fill(palette::INK)
                .say(&line);
        }
    }
    for exit in &scenario.exit {
        let who = picture
            .side_index(&exit.side)
            .map_or(exit.side.as_str(), |side| scenario.side[side].name.as_str());
        let text = format!(
            "{} edge, {}–{} cm: {} for each strength point of {who} that leaves",
            edge_word(exit.edge),
            amount(exit.from_mm / 10.0),
            amount(exit.to_mm / 10.0),
            amount(exit.points_per_strength)
        );
        column.say(&text, 11.0, palette::INK);
    }
    if let Some(due) = words::attacks_due(picture.game) {
        column.say(&due, 11.0, palette::INK);
    }
}

/// The name of an edge at the start of a sentence.
fn edge_word(edge: fieldpost_rules::scenario::Edge) -> &'static str {
    use fieldpost_rules::scenario::Edge;
    match edge {
        Edge::North => "North",
        Edge::East => "East",
        Edge::South => "South",
        Edge::West => "West",
    }
}

fn signs(column: &mut Column, picture: &Picture) {
    column.heading("Signs", palette::INK);
    let signs = [
        (Arm::Foot, None, "foot"),
        (Arm::Horse, None, "horse"),
        (Arm::Guns, None, "guns"),
        (Arm::Commander, Some(Command::Chief), "chief"),
        (Arm::Commander, Some(Command::Subordinate), "commander"),
    ];
    column.y += 17.0;
    let mut x = column.left;
    for (arm, command, word) in signs {
        let wide = 22.0 + letters::width(word, 10.0, false) + 9.0;
        if x + wide > column.left + WIDTH {
            x = column.left;
            column.y += 17.0;
        }
        Badge::upright(Point::new(x + 9.0, column.y - 4.0), 6.0).draw(
            column.pen,
            arm,
            command,
            &picture.sides[0],
        );
        column
            .pen
            .text(Point::new(x + 22.0, column.y), 10.0)
            .fill(palette::INK)
            .say(word);
        x += wide;
    }
    column.y += 2.0;
    column.say(
        "Each cell is a base; broken outlines show bases lost from the last rank. The heavy edge with the arrow is the front.",
        10.0,
        palette::INK,
    );
    signs::of(column, picture, Type::KEY);
}

/// Swatches of the kinds of ground that the map has, with what they charge.
fn ground(column: &mut Column, picture: &Picture) {
    let (scenario, ruleset) = (picture.game.scenario(), picture.game.ruleset());
    let mut rows: BTreeMap<String, (Swatch, String)> = BTreeMap::new();
    for patch in &scenario.terrain {
        if let Some(kind) = ruleset.terrain.get(&patch.kind) {
            let mut words = if kind.impassable {
                vec!["impassable".to_owned()]
            } else {
                vec![format!("× {}", amount(kind.rate))]
            };
            if kind.defence != 1.0 {
                words.push(format!("defence × {}", amount(kind.defence)));
            }
            if kind.shift != 0 {
                words.push(format!("shift {:+}", kind.shift));
            }
            words.extend(sight_words(ruleset, kind.blocks_sight, kind.high));
            let swatch = Swatch::Patch(terrain::drawing_of(kind));
            rows.insert(patch.kind.clone(), (swatch, words.join(", ")));
        }
    }
    for line in &scenario.line {
        if let Some(kind) = ruleset.lines.get(&line.kind) {
            let charge = kind.charge.mm(&ruleset.scale) / ruleset.scale.movement_point_mm();
            let up = if kind.slope { " uphill" } else { "" };
            let mut words = vec![format!("{} MP{up}", amount(charge))];
            if kind.defence != 1.0 {
                words.push(format!("defence × {}", amount(kind.defence)));
            }
            if kind.shift != 0 {
                words.push(format!("shift {:+}", kind.shift));
            }
            words.extend(sight_words(ruleset, kind.blocks_sight, false));
            let swatch = Swatch::Line(lines::drawing_of(kind));
            rows.insert(line.kind.clone(), (swatch, words.join(", ")));
        }
    }
    if rows.is_empty() {
        return;
    }
    column.heading("Ground", palette::INK);
    for (name, (swatch, words)) in rows {
        column.y += 17.0;
        draw_swatch(column, &swatch);
        let text = format!("{name}: {words}");
        let lines = letters::wrapped(&text, 11.0, false, WIDTH - 36.0);
        for (number, line) in lines.iter().enumerate() {
            if number > 0 {
                column.y += 14.0;
            }
            column
                .pen
                .text(Point::new(column.left + 36.0, column.y), 11.0)
                .fill(palette::INK)
                .say(line);
        }
    }
}

/// What a kind of ground does to sight, which counts only where the ruleset has that law.
fn sight_words(ruleset: &Ruleset, blocks_sight: bool, high: bool) -> impl Iterator<Item = String> {
    let has_law = ruleset.sight.is_some();
    [(blocks_sight, "blocks sight"), (high, "high")]
        .into_iter()
        .filter(move |(holds, _)| has_law && *holds)
        .map(|(_, word)| word.to_owned())
}

enum Swatch {
    Patch(Drawing),
    Line(LineDrawing),
}

fn draw_swatch(column: &mut Column, swatch: &Swatch) {
    let at = Point::new(column.left, column.y - 10.0);
    match swatch {
        Swatch::Patch(drawing) => {
            let (fill, edge) = terrain::tint(*drawing);
            column
                .pen
                .rect(at, 28.0, 12.0)
                .fill(fill)
                .stroke(edge, 1.0)
                .done();
            terrain::sample(column.pen, *drawing, at);
        }
        Swatch::Line(drawing) => lines::sample(column.pen, *drawing, at),
    }
}

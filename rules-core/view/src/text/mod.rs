//! The table as text, for a terminal of 40 columns and more, legible without colour.

mod canvas;
mod key;
mod lines;
mod signs;

use fieldpost_rules::game::Game;
use fieldpost_rules::geometry::{larger, smaller};
use fieldpost_rules::verdict::rounding::amount;

use super::svg::Part;
use super::words::{situation, turn_line};
use canvas::Canvas;
use fieldpost_rules::game::marks;
use fieldpost_rules::sanitize::plain;

/// What a text table shows.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct TextOptions {
    /// Columns of the terminal; at least 40 are used.
    pub columns: usize,
    /// The part of the table to show; absent: all of it.
    pub part: Option<Part>,
    /// Whether the units are listed below the map.
    pub key: bool,
    /// Whether the map is drawn in letters and signs of ASCII alone, for terminals and readers aloud that have no
    /// others; names stay as they are.
    pub ascii: bool,
}

impl Default for TextOptions {
    fn default() -> Self {
        Self {
            columns: 80,
            part: None,
            key: true,
            ascii: false,
        }
    }
}

/// Columns of ruler to the left of the map, in centimetres.
const RULER: usize = 6;
/// Columns of ruler to its right, in inches.
const RULER_RIGHT: usize = 5;
/// A character cell is about twice as high as wide.
const CELL_SHAPE: f64 = 2.0;

/// The table at one moment: rulers from the west and south edges, in centimetres above and on the
/// left, in inches below and on the right; ground in characters, units as blocks with their marks and an arrow the way they face, and a key.
#[must_use]
pub fn table(game: &Game, options: &TextOptions) -> String {
    let size = &game.scenario().table;
    let part = options
        .part
        .map_or(Part::whole(size), |part| part.kept_on(size));
    let width = options.columns.clamp(40, 400);
    let canvas = drawn(game, &part, width - RULER - RULER_RIGHT, options.ascii);
    let mut out = String::new();
    out.push_str(&key::fitted(&plain(&game.scenario().name), width));
    out.push('\n');
    let turn = turn_line(game);
    // a narrow terminal gets whose turn it is on a line of its own
    match turn.chars().count() > width {
        true => out.push_str(&turn.replacen(", ", ",\n", 1)),
        false => out.push_str(&turn),
    }
    out.push_str("\n\n");
    out.push_str(&ruler_across(&canvas, &CENTIMETRES));
    for row in 0..canvas.rows() {
        let left = ruler_down(&canvas, row, &CENTIMETRES);
        match left {
            Some(number) => out.push_str(&format!("{number:>4} ┤")),
            None => out.push_str("     │"),
        }
        out.push_str(&canvas.line(row));
        match ruler_down(&canvas, row, &INCHES) {
            Some(number) => out.push_str(&format!("├ {number}")),
            None => out.push('│'),
        }
        out.push('\n');
    }
    out.push_str(&ruler_across(&canvas, &INCHES));
    out.push_str(&signs::key(&canvas, game, width, options.ascii));
    if options.key {
        out.push('\n');
        for sentence in situation(game) {
            out.push_str(&lines::filled(sentence.split(' '), " ", width));
        }
        out.push('\n');
        out.push_str(&key::units(game, width));
    }
    if options.ascii {
        signs::to_ascii(&out)
    } else {
        out
    }
}

fn drawn(game: &Game, part: &Part, columns: usize, ascii: bool) -> Canvas {
    let mut canvas = Canvas::new(*part, columns, CELL_SHAPE);
    signs::draw_ground(&mut canvas, game);
    let marks = marks(game);
    for unit in game.on_table() {
        if let (Some(footprint), Some(mark)) = (unit.footprint(), marks.get(&unit.id)) {
            signs::draw_unit(&mut canvas, unit, &footprint, mark, ascii);
        }
    }
    canvas
}

/// What a ruler counts.
struct Ruler {
    name: &'static str,
    mm: f64,
    /// Steps between numbers, the least given first.
    steps: [f64; 7],
    /// The least step down the side, where every row could carry a number.
    least_down: f64,
}

const CENTIMETRES: Ruler = Ruler {
    name: "cm",
    mm: 10.0,
    steps: [1.0, 2.0, 5.0, 10.0, 20.0, 50.0, 100.0],
    least_down: 5.0,
};

const INCHES: Ruler = Ruler {
    name: "in",
    mm: 25.4,
    steps: [1.0, 2.0, 3.0, 6.0, 12.0, 24.0, 36.0],
    least_down: 2.0,
};

impl Ruler {
    /// Units between numbers so that they don't run together.
    fn step(&self, mm_per_cell: f64, least_cells: f64) -> f64 {
        self.steps
            .into_iter()
            .find(|step| step * self.mm / mm_per_cell >= least_cells)
            .unwrap_or(200.0)
    }
}

fn ruler_across(canvas: &Canvas, ruler: &Ruler) -> String {
    let part = canvas.part();
    let step = ruler.step(canvas.cell_width_mm(), 6.0) * ruler.mm;
    let mut cells = vec![' '; RULER + canvas.columns() + RULER_RIGHT];
    let mut number = (part.west_mm / step - 1e-9).ceil();
    while number * step <= part.east_mm + 1e-6 {
        let along = number * step;
        let column = canvas.column_of(smaller(along, part.east_mm - 1e-6));
        let text: Vec<char> = amount(along / ruler.mm).chars().collect();
        let start = (RULER + column + 1).saturating_sub(text.len());
        for (index, letter) in text.into_iter().enumerate() {
            if let Some(cell) = cells.get_mut(start + index) {
                *cell = letter;
            }
        }
        number += 1.0;
    }
    let line: String = cells.into_iter().skip(3).collect();
    format!(" {}{}\n", ruler.name, line.trim_end())
}

/// The number that stands beside a row: of the marks within it, the northernmost.
fn ruler_down(canvas: &Canvas, row: usize, ruler: &Ruler) -> Option<String> {
    let part = canvas.part();
    let step = larger(ruler.step(canvas.cell_height_mm(), 1.0), ruler.least_down) * ruler.mm;
    let (top, bottom) = canvas.row_span_mm(row);
    let along = (bottom / step - 1e-9).ceil() * step;
    let is_here =
        along < top - 1e-9 || (row == 0 && along <= part.north_mm + 1e-6 && along <= top + 1e-6);
    is_here.then(|| amount(along / ruler.mm))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::sample;

    #[test]
    fn a_table_for_eighty_columns() {
        let text = table(&sample::game(), &TextOptions::default());
        for line in text.lines() {
            assert!(
                line.chars().count() <= 80,
                "{} columns: {line}",
                line.chars().count()
            );
        }
        insta::assert_snapshot!(text);
    }

    /// On a narrow terminal the map shrinks and a unit takes two lines, so that no line is cut or wrapped.
    #[test]
    fn a_table_for_forty_columns() {
        let options = TextOptions {
            columns: 40,
            ..TextOptions::default()
        };
        let text = table(&sample::game(), &options);
        let longest = text.lines().map(|line| line.chars().count()).max();
        assert!(longest <= Some(40), "{text}");
        insta::assert_snapshot!(text);
    }

    #[test]
    fn a_table_in_ascii_keeps_its_signs_apart() {
        let options = TextOptions {
            ascii: true,
            ..TextOptions::default()
        };
        let text = table(&sample::game(), &options);
        assert!(text.is_ascii(), "{text}");
        insta::assert_snapshot!(text);
    }

    #[test]
    fn a_part_enlarged() {
        let options = TextOptions {
            columns: 100,
            part: Some(Part {
                west_mm: 500.0,
                south_mm: 200.0,
                east_mm: 900.0,
                north_mm: 600.0,
            }),
            key: false,
            ascii: false,
        };
        insta::assert_snapshot!(table(&sample::game(), &options));
    }
}

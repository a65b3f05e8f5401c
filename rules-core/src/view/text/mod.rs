//! The table as text, for a terminal of 80 columns and more, legible without colour.

mod canvas;
mod key;
mod signs;

use crate::game::Game;
use crate::geometry::{larger, smaller};
use crate::verdict::rounding::amount;

use super::marks::marks;
use super::plain::plain;
use super::svg::Part;
use super::words::turn_line;
use canvas::Canvas;
pub(super) use key::edge;

/// What a text table shows.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct TextOptions {
    /// Columns of the terminal; at least 60 are used.
    pub columns: usize,
    /// The part of the table to show; absent: all of it.
    pub part: Option<Part>,
    /// Whether the units are listed below the map.
    pub key: bool,
}

impl Default for TextOptions {
    fn default() -> Self {
        Self {
            columns: 80,
            part: None,
            key: true,
        }
    }
}

/// Columns of ruler to the left of the map.
const RULER: usize = 6;
/// A character cell is about twice as high as wide.
const CELL_SHAPE: f64 = 2.0;

/// The table at one moment: rulers in centimetres from the west and south edges, ground in
/// characters, units as blocks with their marks and an arrow the way they face, and a key.
#[must_use]
pub fn table(game: &Game, options: &TextOptions) -> String {
    let size = &game.scenario().table;
    let part = options
        .part
        .map_or(Part::whole(size), |part| part.kept_on(size));
    let width = options.columns.clamp(60, 400);
    let canvas = drawn(game, &part, width - RULER - 1);
    let mut out = String::new();
    out.push_str(&plain(&game.scenario().name));
    out.push('\n');
    out.push_str(&turn_line(game));
    out.push_str("\n\n");
    let ruler = ruler_across(&canvas);
    out.push_str(&ruler);
    for row in 0..canvas.rows() {
        out.push_str(&ruler_down(&canvas, row));
        out.push_str(canvas.line(row).trim_end());
        out.push('\n');
    }
    out.push_str(&ruler);
    out.push_str(&signs::key(&canvas, game, width));
    if options.key {
        out.push('\n');
        out.push_str(&key::units(game, width));
    }
    out
}

fn drawn(game: &Game, part: &Part, columns: usize) -> Canvas {
    let mut canvas = Canvas::new(*part, columns, CELL_SHAPE);
    signs::draw_ground(&mut canvas, game);
    let marks = marks(game);
    for unit in game.on_table() {
        if let (Some(footprint), Some(mark)) = (unit.footprint(), marks.get(&unit.id)) {
            signs::draw_unit(&mut canvas, unit, &footprint, mark);
        }
    }
    canvas
}

/// Centimetres between numbers so that they don't run together.
fn number_step_mm(mm_per_cell: f64, least_cells: f64) -> f64 {
    for step in [10.0, 20.0, 50.0, 100.0, 200.0, 500.0, 1000.0] {
        if step / mm_per_cell >= least_cells {
            return step;
        }
    }
    2000.0
}

fn ruler_across(canvas: &Canvas) -> String {
    let part = canvas.part();
    let step = number_step_mm(canvas.cell_width_mm(), 6.0);
    let mut cells = vec![' '; RULER + canvas.columns() + 1];
    let mut number = (part.west_mm / step - 1e-9).ceil();
    while number * step <= part.east_mm + 1e-6 {
        let along = number * step;
        let column = canvas.column_of(smaller(along, part.east_mm - 1e-6));
        let text: Vec<char> = amount(along / 10.0).chars().collect();
        let start = (RULER + column + 1).saturating_sub(text.len());
        for (index, letter) in text.into_iter().enumerate() {
            if let Some(cell) = cells.get_mut(start + index) {
                *cell = letter;
            }
        }
        number += 1.0;
    }
    let mut line: String = cells.into_iter().collect();
    let label = " cm";
    line.replace_range(0..label.len(), label);
    format!("{}\n", line.trim_end())
}

fn ruler_down(canvas: &Canvas, row: usize) -> String {
    let part = canvas.part();
    let step = number_step_mm(canvas.cell_height_mm(), 1.0);
    let step = larger(step, 50.0);
    let (top, bottom) = canvas.row_span_mm(row);
    let number = (bottom / step - 1e-9).ceil();
    let along = number * step;
    if along < top - 1e-9 || (row == 0 && along <= part.north_mm + 1e-6 && along <= top + 1e-6) {
        format!("{:>4} ┤", amount(along / 10.0))
    } else {
        "     │".to_owned()
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::view::sample;

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
        };
        insta::assert_snapshot!(table(&sample::game(), &options));
    }
}

//! A grid of characters over a part of the table.

use crate::svg::Part;
use fieldpost_rules::geometry::Point;

/// A grid of characters over a part of the table.
pub(super) struct Canvas {
    part: Part,
    columns: usize,
    rows: usize,
    cells: Vec<char>,
    /// Cells taken by a unit.
    taken: Vec<bool>,
    /// Cells taken by a unit's mark.
    lettered: Vec<bool>,
}

impl Canvas {
    /// A blank one, so many columns wide; cells are `shape` times as high as wide.
    pub(super) fn new(part: Part, columns: usize, shape: f64) -> Self {
        let cell_mm = part.width_mm() / float(columns);
        let rows = whole((part.depth_mm() / (cell_mm * shape)).round()).clamp(4, 400);
        let count = columns * rows;
        Self {
            part,
            columns,
            rows,
            cells: vec![' '; count],
            taken: vec![false; count],
            lettered: vec![false; count],
        }
    }

    /// The part shown.
    pub(super) fn part(&self) -> &Part {
        &self.part
    }

    /// Columns of the map.
    pub(super) fn columns(&self) -> usize {
        self.columns
    }

    /// Rows of the map.
    pub(super) fn rows(&self) -> usize {
        self.rows
    }

    /// Width of a cell in millimetres of table.
    pub(super) fn cell_width_mm(&self) -> f64 {
        self.part.width_mm() / float(self.columns)
    }

    /// Height of a cell in millimetres of table.
    pub(super) fn cell_height_mm(&self) -> f64 {
        self.part.depth_mm() / float(self.rows)
    }

    /// The column over a place, in millimetres from the table's west edge.
    pub(super) fn column_of(&self, x_mm: f64) -> usize {
        whole(((x_mm - self.part.west_mm) / self.cell_width_mm()).floor()).min(self.columns - 1)
    }

    /// The row over a place, in millimetres from the table's south edge.
    pub(super) fn row_of(&self, y_mm: f64) -> usize {
        whole(((self.part.north_mm - y_mm) / self.cell_height_mm()).floor()).min(self.rows - 1)
    }

    /// Northern and southern edge of a row, in millimetres from the table's south edge.
    pub(super) fn row_span_mm(&self, row: usize) -> (f64, f64) {
        let high = self.cell_height_mm();
        let top = self.part.north_mm - float(row) * high;
        (top, top - high)
    }

    /// Middle of a cell on the table.
    pub(super) fn middle(&self, column: usize, row: usize) -> Point {
        Point::new(
            self.part.west_mm + (float(column) + 0.5) * self.cell_width_mm(),
            self.part.north_mm - (float(row) + 0.5) * self.cell_height_mm(),
        )
    }

    /// Sets a cell of ground.
    pub(super) fn ground(&mut self, column: usize, row: usize, sign: char) {
        self.cells[row * self.columns + column] = sign;
    }

    /// Sets a cell of a unit, unless another's mark stands there.
    pub(super) fn body(&mut self, column: usize, row: usize, sign: char) {
        let index = row * self.columns + column;
        if !self.lettered[index] {
            self.cells[index] = sign;
        }
        self.taken[index] = true;
    }

    /// Writes a mark whose middle is near a cell, in the nearest row that has room for it.
    pub(super) fn letter(&mut self, column: usize, row: usize, mark: &str) {
        let letters: Vec<char> = mark.chars().collect();
        let start = column
            .saturating_sub(letters.len() / 2)
            .min(self.columns.saturating_sub(letters.len()));
        for shift in [0_isize, -1, 1, -2, 2, -3, 3] {
            let Some(row) = row.checked_add_signed(shift).filter(|r| *r < self.rows) else {
                continue;
            };
            let from = row * self.columns + start;
            let Some(room) = self.lettered.get_mut(from..from + letters.len()) else {
                continue;
            };
            if room.iter().any(|taken| *taken) {
                continue;
            }
            room.fill(true);
            self.cells[from..from + letters.len()].copy_from_slice(&letters);
            return;
        }
    }

    /// A row as text.
    pub(super) fn line(&self, row: usize) -> String {
        self.cells[row * self.columns..(row + 1) * self.columns]
            .iter()
            .collect()
    }

    /// Whether a sign stands anywhere.
    pub(super) fn shows(&self, sign: char) -> bool {
        self.cells
            .iter()
            .zip(&self.taken)
            .any(|(cell, taken)| *cell == sign && !taken)
    }
}

fn float(count: usize) -> f64 {
    f64::from(u32::try_from(count).unwrap_or(u32::MAX))
}

/// A whole number that is no less than 0; 0 for anything else.
fn whole(value: f64) -> usize {
    if value > 0.0 && value < 1e6 {
        #[expect(
            clippy::cast_possible_truncation,
            clippy::cast_sign_loss,
            reason = "range checked"
        )]
        let value = value as usize;
        value
    } else {
        0
    }
}

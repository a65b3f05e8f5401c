//! A fine grid of ground, filled by convex pieces: their union without the pitfalls of joining outlines.

use crate::geometry::{Bounds, Point, larger, smaller};

/// A grid cell is this wide unless the ground is too large for it, in millimetres.
const CELL_MM: f64 = 1.0;
/// The most cells along one side.
const MOST_CELLS: f64 = 4000.0;

/// Cells of ground; a cell is filled when its centre is.
pub(super) struct Raster {
    low: Point,
    cell_mm: f64,
    columns: usize,
    rows: usize,
    words: usize,
    bits: Vec<u64>,
    /// West and east end of the piece being filled, row by row.
    ends: Vec<(f64, f64)>,
}

impl Raster {
    /// An empty grid that holds these bounds with a rim of empty cells.
    pub(super) fn over(bounds: &Bounds) -> Self {
        let wide = larger(bounds.high.x - bounds.low.x, bounds.high.y - bounds.low.y);
        let cell_mm = larger(CELL_MM, wide / MOST_CELLS);
        let low = Point::new(bounds.low.x - 2.0 * cell_mm, bounds.low.y - 2.0 * cell_mm);
        let columns = count((bounds.high.x - low.x) / cell_mm) + 3;
        let rows = count((bounds.high.y - low.y) / cell_mm) + 3;
        let words = columns.div_ceil(64);
        Self {
            low,
            cell_mm,
            columns,
            rows,
            words,
            bits: vec![0; words * rows],
            ends: vec![NOTHING; rows],
        }
    }

    pub(super) fn columns(&self) -> usize {
        self.columns
    }

    pub(super) fn rows(&self) -> usize {
        self.rows
    }

    pub(super) fn cell_mm(&self) -> f64 {
        self.cell_mm
    }

    /// Whether a cell is filled; cells off the grid are not.
    pub(super) fn is_filled(&self, column: usize, row: usize) -> bool {
        column < self.columns
            && row < self.rows
            && self.bits[row * self.words + column / 64] >> (column % 64) & 1 == 1
    }

    /// The words of a row, 64 cells each, the westernmost in the lowest bit.
    pub(super) fn row(&self, row: usize) -> &[u64] {
        &self.bits[row * self.words..(row + 1) * self.words]
    }

    /// The place of a corner of cells, counted in half cells from the south-west corner.
    pub(super) fn place(&self, half_column: usize, half_row: usize) -> Point {
        let half_mm = self.cell_mm / 2.0;
        Point::new(
            self.low.x + half_mm * half_column as f64,
            self.low.y + half_mm * half_row as f64,
        )
    }

    /// Fills a convex piece given by its corners in order.
    pub(super) fn fill(&mut self, corners: &[Point]) {
        let Some(last) = corners.last() else {
            return;
        };
        let (mut south, mut north) = (usize::MAX, 0);
        let mut from = *last;
        for &to in corners {
            let (first, beyond) = self.trace(from, to);
            if first < beyond {
                south = south.min(first);
                north = north.max(beyond);
            }
            from = to;
        }
        for row in south..north {
            let (west, east) = std::mem::replace(&mut self.ends[row], NOTHING);
            let first = count_up((west - self.low.x) / self.cell_mm - 0.5);
            let beyond = count((east - self.low.x) / self.cell_mm - 0.5 + 1.0);
            self.fill_row(row, first, beyond);
        }
    }

    /// Notes where an edge crosses the middle of each row; the rows from and to which it does.
    fn trace(&mut self, from: Point, to: Point) -> (usize, usize) {
        let (low, high) = if from.y < to.y {
            (from, to)
        } else {
            (to, from)
        };
        let first = count_up((low.y - self.low.y) / self.cell_mm - 0.5);
        let beyond = count((high.y - self.low.y) / self.cell_mm - 0.5 + 1.0).min(self.rows);
        if first >= beyond {
            return (first, beyond);
        }
        let slope = if high.y > low.y {
            (high.x - low.x) / (high.y - low.y)
        } else {
            0.0
        };
        let mut x = low.x + slope * (self.low.y + (first as f64 + 0.5) * self.cell_mm - low.y);
        let step = slope * self.cell_mm;
        for (west, east) in &mut self.ends[first..beyond] {
            *west = smaller(*west, x);
            *east = larger(*east, x);
            x += step;
        }
        (first, beyond)
    }

    fn fill_row(&mut self, row: usize, first: usize, beyond: usize) {
        let beyond = beyond.min(self.columns);
        if first >= beyond {
            return;
        }
        let bits = &mut self.bits[row * self.words..(row + 1) * self.words];
        let (start, end) = (first / 64, (beyond - 1) / 64);
        let from = u64::MAX << (first % 64);
        let to = u64::MAX >> (63 - (beyond - 1) % 64);
        if start == end {
            bits[start] |= from & to;
            return;
        }
        bits[start] |= from;
        bits[start + 1..end].fill(u64::MAX);
        bits[end] |= to;
    }

    /// Fills every cell that a straight line runs through, so that ground without width shows.
    pub(super) fn draw(&mut self, from: Point, to: Point) {
        let steps = count(from.distance_to(to) / self.cell_mm * 2.0) + 1;
        for step in 0..=steps {
            let at = from.towards(to, step as f64 / steps as f64);
            let column = count((at.x - self.low.x) / self.cell_mm);
            let row = count((at.y - self.low.y) / self.cell_mm);
            if row < self.rows {
                self.fill_row(row, column, column + 1);
            }
        }
    }
}

/// A row that no edge has crossed.
const NOTHING: (f64, f64) = (f64::INFINITY, f64::NEG_INFINITY);

/// Whole number downward, nothing below 0.
#[expect(
    clippy::cast_possible_truncation,
    clippy::cast_sign_loss,
    reason = "a cast of a float saturates; below 0 is 0"
)]
fn count(value: f64) -> usize {
    value as usize
}

/// Whole number upward, nothing below 0.
fn count_up(value: f64) -> usize {
    let down = count(value);
    down.saturating_add(usize::from((down as f64) < value))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn filled(raster: &Raster) -> usize {
        (0..raster.rows())
            .flat_map(|row| raster.row(row))
            .map(|word| word.count_ones() as usize)
            .sum()
    }

    #[test]
    fn a_square_fills_its_area() {
        let bounds = Bounds::about(&[Point::new(0.0, 0.0), Point::new(300.0, 200.0)]);
        let mut raster = Raster::over(&bounds);
        let corner = |x: f64, y: f64| Point::new(x, y);
        raster.fill(&[
            corner(10.0, 10.0),
            corner(210.0, 10.0),
            corner(210.0, 110.0),
            corner(10.0, 110.0),
        ]);
        assert_eq!(filled(&raster), 200 * 100);
        // a triangle on top: 100 wide, 50 high
        raster.fill(&[
            corner(10.0, 110.0),
            corner(110.0, 110.0),
            corner(60.0, 160.0),
        ]);
        let area = filled(&raster) - 200 * 100;
        assert!((2450..=2550).contains(&area), "{area}");
        // filling again changes nothing, and off the grid nothing happens
        let before = filled(&raster);
        raster.fill(&[corner(20.0, 20.0), corner(50.0, 20.0), corner(50.0, 50.0)]);
        raster.fill(&[
            corner(-900.0, -900.0),
            corner(-800.0, -900.0),
            corner(-800.0, -800.0),
        ]);
        assert_eq!(filled(&raster), before);
    }

    #[test]
    fn a_line_shows() {
        let bounds = Bounds::about(&[Point::new(0.0, 0.0), Point::new(100.0, 100.0)]);
        let mut raster = Raster::over(&bounds);
        raster.draw(Point::new(5.5, 5.5), Point::new(5.5, 95.5));
        assert_eq!(filled(&raster), 91);
        raster.draw(Point::new(50.2, 50.2), Point::new(50.2, 50.2));
        assert_eq!(filled(&raster), 92);
    }
}

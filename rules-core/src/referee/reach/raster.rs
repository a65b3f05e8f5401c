//! A fine grid of ground, filled by convex pieces: their union without the pitfalls of joining outlines.

mod ring;

use crate::geometry::{Bounds, Point, Vector, larger};

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
    cells: Rows,
    /// For every [`BAND`] rows, the columns in which all their cells are known to be filled.
    full: Rows,
}

/// Rows that are skipped together when nothing in them is left to fill: most pieces lie over others.
const BAND: usize = 16;

impl Raster {
    /// An empty grid that holds these bounds with a rim of empty cells.
    pub(super) fn over(bounds: &Bounds) -> Self {
        let wide = larger(bounds.high.x - bounds.low.x, bounds.high.y - bounds.low.y);
        let cell_mm = larger(CELL_MM, wide / MOST_CELLS);
        let low = Point::new(bounds.low.x - 2.0 * cell_mm, bounds.low.y - 2.0 * cell_mm);
        let columns = count((bounds.high.x - low.x) / cell_mm) + 3;
        let rows = count((bounds.high.y - low.y) / cell_mm) + 3;
        Self {
            low,
            cell_mm,
            columns,
            rows,
            cells: Rows::empty(columns, rows),
            full: Rows::empty(columns, rows.div_ceil(BAND)),
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
            && self.cells.row(row)[column / 64] >> (column % 64) & 1 == 1
    }

    /// The words of a row, 64 cells each, the westernmost in the lowest bit.
    pub(super) fn row(&self, row: usize) -> &[u64] {
        self.cells.row(row)
    }

    /// The place of a corner of cells, counted in half cells from the south-west corner.
    pub(super) fn place(&self, half_column: usize, half_row: usize) -> Point {
        let half_mm = self.cell_mm / 2.0;
        Point::new(
            self.low.x + half_mm * half_column as f64,
            self.low.y + half_mm * half_row as f64,
        )
    }

    /// Fills a convex piece given by its corners in order, either way round: from its southernmost corner
    /// its two sides are followed north, row by row.
    pub(super) fn fill(&mut self, corners: &[Point]) {
        let Some(south) = (0..corners.len()).min_by(|a, b| corners[*a].y.total_cmp(&corners[*b].y))
        else {
            return;
        };
        let mut one = Side::from(self, corners, south, 1);
        let mut other = Side::from(self, corners, south, corners.len() - 1);
        let mut row = one.row;
        loop {
            let beyond = one.beyond.min(other.beyond);
            while row < beyond {
                row = if row.is_multiple_of(BAND) && row + BAND <= beyond {
                    self.fill_band(row, &mut one, &mut other)
                } else {
                    self.fill_rows(row, row + 1, &mut one, &mut other)
                };
            }
            let goes_on = (row < one.beyond || one.turn(self, corners))
                && (row < other.beyond || other.turn(self, corners));
            if !goes_on {
                return;
            }
        }
    }

    /// Fills the rows of a band between two sides, unless nothing in it is left to fill; the row after it.
    fn fill_band(&mut self, row: usize, one: &mut Side, other: &mut Side) -> usize {
        let band = row / BAND;
        let (near, far) = (one.within(BAND), other.within(BAND));
        let (near, far) = if near.0 < far.0 {
            (near, far)
        } else {
            (far, near)
        };
        let (west, east) = (column_of(near.0), column_of(near.1.max(far.1)));
        if self.full.holds(band, west, east.min(self.columns)) {
            one.skip(BAND);
            other.skip(BAND);
            return row + BAND;
        }
        let beyond = self.fill_rows(row, row + BAND, one, other);
        // what lies between both sides in every row
        let inside = (column_of(near.1), column_of(far.0));
        self.full.fill(band, inside.0, inside.1.min(self.columns));
        beyond
    }

    fn fill_rows(&mut self, from: usize, beyond: usize, one: &mut Side, other: &mut Side) -> usize {
        for row in from..beyond {
            let (west, east) = (one.at.min(other.at), one.at.max(other.at));
            let east = column_of(east).min(self.columns);
            self.cells.fill(row, column_of(west), east);
            one.skip(1);
            other.skip(1);
        }
        beyond
    }

    /// Where an edge crosses the middle of a row, and what is added from row to row: in columns and half a
    /// column, with so many bits of fraction.
    fn side(&self, from: Point, to: Point, row: usize) -> (i64, i64) {
        let slope = (to.x - from.x) / (to.y - from.y);
        let middle = self.low.y + (row as f64 + 0.5) * self.cell_mm;
        let x = from.x + slope * (middle - from.y);
        (fixed((x - self.low.x) / self.cell_mm + 0.5), fixed(slope))
    }

    /// The first row whose middle does not lie south of a place.
    fn first_row(&self, y: f64) -> usize {
        count_up((y - self.low.y) / self.cell_mm - 0.5)
    }

    /// Fills a straight line one cell wide, so that ground without width shows.
    pub(super) fn draw(&mut self, from: Point, to: Point) {
        let half_mm = self.cell_mm / 2.0;
        let ahead = (to - from).unit().unwrap_or(Vector::new(0.0, 1.0)) * half_mm;
        let right = ahead.quarter_right();
        self.fill(&[
            from - ahead - right,
            from - ahead + right,
            to + ahead + right,
            to + ahead - right,
        ]);
    }
}

/// Rows of bits.
struct Rows {
    words: usize,
    bits: Vec<u64>,
}

impl Rows {
    fn empty(columns: usize, rows: usize) -> Self {
        let words = columns.div_ceil(64);
        Self {
            words,
            bits: vec![0; words * rows],
        }
    }

    fn row(&self, row: usize) -> &[u64] {
        &self.bits[row * self.words..(row + 1) * self.words]
    }

    /// Sets the bits of a row from one column to before another.
    fn fill(&mut self, row: usize, first: usize, beyond: usize) {
        let Some(run) = Run::of(first, beyond) else {
            return;
        };
        let bits = &mut self.bits[row * self.words..(row + 1) * self.words];
        if run.start == run.end {
            bits[run.start] |= run.from & run.to;
            return;
        }
        bits[run.start] |= run.from;
        bits[run.start + 1..run.end].fill(u64::MAX);
        bits[run.end] |= run.to;
    }

    /// Whether all those bits are set.
    fn holds(&self, row: usize, first: usize, beyond: usize) -> bool {
        let Some(run) = Run::of(first, beyond) else {
            return true;
        };
        let bits = self.row(row);
        let holds = |word: usize, mask: u64| bits[word] & mask == mask;
        if run.start == run.end {
            return holds(run.start, run.from & run.to);
        }
        holds(run.start, run.from)
            && holds(run.end, run.to)
            && bits[run.start + 1..run.end]
                .iter()
                .all(|word| *word == u64::MAX)
    }
}

/// The words that a run of columns lies in, with the bits of it in the first and the last.
struct Run {
    start: usize,
    end: usize,
    from: u64,
    to: u64,
}

impl Run {
    fn of(first: usize, beyond: usize) -> Option<Self> {
        (first < beyond).then(|| Self {
            start: first / 64,
            end: (beyond - 1) / 64,
            from: u64::MAX << (first % 64),
            to: u64::MAX >> (63 - (beyond - 1) % 64),
        })
    }
}

/// One side of a convex piece, followed from its southernmost corner to its northernmost.
struct Side {
    /// The corner that the present edge leads to.
    to: usize,
    /// From one corner to the next along this side.
    onward: usize,
    /// Corners not yet come to.
    left: usize,
    /// The next row whose middle the side crosses, and the row before which its edge ends.
    row: usize,
    beyond: usize,
    /// Where it crosses the middle of that row, in columns and half a column, with so many bits of fraction.
    at: i64,
    /// What is added from row to row.
    step: i64,
}

const FRACTION_BITS: u32 = 32;

impl Side {
    fn from(raster: &Raster, corners: &[Point], south: usize, onward: usize) -> Self {
        let row = raster.first_row(corners[south].y);
        let mut side = Self {
            to: south,
            onward,
            left: corners.len(),
            row,
            beyond: row,
            at: 0,
            step: 0,
        };
        side.turn(raster, corners);
        side
    }

    /// Its westernmost and easternmost place in so many rows from here.
    fn within(&self, rows: usize) -> (i64, i64) {
        let last = self.at + self.step * (rows as i64 - 1);
        (self.at.min(last), self.at.max(last))
    }

    /// Goes on by so many rows. An edge that hardly rises crosses one row and would leap off the grid at the next.
    fn skip(&mut self, rows: usize) {
        let leap = self.step.saturating_mul(rows as i64);
        self.at = self.at.saturating_add(leap);
    }

    /// Goes on to the next edge that crosses the middle of a row; whether there is one.
    fn turn(&mut self, raster: &Raster, corners: &[Point]) -> bool {
        let row = self.beyond;
        while self.left > 0 {
            let from = corners[self.to];
            self.to = (self.to + self.onward) % corners.len();
            self.left -= 1;
            let to = corners[self.to];
            let beyond = raster.first_row(to.y).min(raster.rows);
            // a piece may be the least bit hollow: what leads back south is passed over
            if beyond > row {
                (self.at, self.step) = raster.side(from, to, row);
                self.beyond = beyond;
                return true;
            }
        }
        false
    }
}

/// A number with [`FRACTION_BITS`] of fraction.
#[expect(
    clippy::cast_possible_truncation,
    reason = "a cast of a float saturates; a grid has at most some thousand columns"
)]
fn fixed(value: f64) -> i64 {
    (value * (1_u64 << FRACTION_BITS) as f64) as i64
}

/// The column that such a number lies in, counted from the first; the first when it lies before it.
fn column_of(at: i64) -> usize {
    usize::try_from(at >> FRACTION_BITS).unwrap_or(0)
}

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

    pub(super) fn filled(raster: &Raster) -> usize {
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
    fn a_corner_the_least_bit_hollow_takes_nothing_away() {
        let bounds = Bounds::about(&[Point::new(0.0, 0.0), Point::new(200.0, 50.0)]);
        let filled_with = |hollow: Point| {
            let mut raster = Raster::over(&bounds);
            raster.fill(&[
                Point::new(10.0, 10.02),
                Point::new(130.0, 27.0),
                Point::new(133.0, 10.0),
                hollow,
            ]);
            filled(&raster)
        };
        let straight = filled_with(Point::new(11.2, 10.01));
        let hollow = filled_with(Point::new(11.2, 10.05));
        assert!(
            straight > 900 && straight.abs_diff(hollow) < 3,
            "{straight} {hollow}"
        );
    }

    #[test]
    fn an_edge_that_hardly_rises_leaps_nowhere() {
        let bounds = Bounds::about(&[Point::new(0.0, 0.0), Point::new(200.0, 50.0)]);
        for rise in [1e-13, -1e-13] {
            let mut raster = Raster::over(&bounds);
            raster.fill(&[
                Point::new(10.0, 10.5 - rise),
                Point::new(110.0, 10.5 + rise),
                Point::new(110.0, 20.0),
                Point::new(10.0, 20.0),
            ]);
            assert!(
                (900..=1000).contains(&filled(&raster)),
                "{}",
                filled(&raster)
            );
        }
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

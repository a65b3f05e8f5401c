//! Filling what a closed line of any shape goes round.

use super::{Raster, column_of};
use crate::geometry::Point;

/// Where an edge of a ring crosses the middle of a row.
#[derive(Clone, Default)]
struct Crossing {
    at: i64,
    /// 1 northward, -1 southward.
    round: i32,
}

/// An edge of a ring that crosses the middles of rows.
struct Edge {
    from: Point,
    to: Point,
    rows: std::ops::Range<usize>,
    round: i32,
}

impl Raster {
    /// Fills what a closed line goes round at least once, whichever way and however often.
    pub(in super::super) fn fill_ring(&mut self, ring: &[Point]) {
        let edges = self.edges(ring);
        let first = edges.iter().map(|edge| edge.rows.start).min().unwrap_or(0);
        let beyond = edges.iter().map(|edge| edge.rows.end).max().unwrap_or(0);
        // how many edges cross each row, then where its crossings begin among all
        let mut starts = vec![0_usize; beyond - first + 1];
        for edge in &edges {
            for count in &mut starts[edge.rows.start + 1 - first..=edge.rows.end - first] {
                *count += 1;
            }
        }
        for index in 1..starts.len() {
            starts[index] += starts[index - 1];
        }
        let mut crossings = vec![Crossing::default(); starts[starts.len() - 1]];
        let mut free = starts.clone();
        for edge in &edges {
            let (mut at, step) = self.side(edge.from, edge.to, edge.rows.start);
            let round = edge.round;
            for free in &mut free[edge.rows.start - first..edge.rows.end - first] {
                crossings[*free] = Crossing { at, round };
                *free += 1;
                at = at.saturating_add(step);
            }
        }
        for (row, span) in starts.windows(2).enumerate() {
            self.fill_rounds(first + row, &mut crossings[span[0]..span[1]]);
        }
    }

    fn edges(&self, ring: &[Point]) -> Vec<Edge> {
        let row_of = |at: &Point| self.first_row(at.y).min(self.rows);
        let Some(mut from) = ring.last().map(|last| (last, row_of(last))) else {
            return Vec::new();
        };
        let mut edges = Vec::with_capacity(ring.len());
        for at in ring {
            let to = (at, row_of(at));
            if from.1 != to.1 {
                edges.push(Edge {
                    from: *from.0,
                    to: *to.0,
                    rows: from.1.min(to.1)..from.1.max(to.1),
                    round: if from.1 < to.1 { 1 } else { -1 },
                });
            }
            from = to;
        }
        edges
    }

    /// Fills the cells of a row between crossings of a ring.
    fn fill_rounds(&mut self, row: usize, crossings: &mut [Crossing]) {
        crossings.sort_unstable_by_key(|crossing| crossing.at);
        let mut round = 0;
        let mut west = 0;
        for crossing in crossings {
            if round == 0 {
                west = column_of(crossing.at);
            }
            round += crossing.round;
            if round == 0 {
                let east = column_of(crossing.at).min(self.columns);
                self.cells.fill(row, west, east);
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::geometry::Bounds;
    use crate::referee::reach::raster::tests::filled;

    #[test]
    fn a_ring_fills_what_it_goes_round_whichever_way_and_however_often() {
        let corner = |x: f64, y: f64| Point::new(x, y);
        let bounds = Bounds::about(&[corner(0.0, 0.0), corner(200.0, 200.0)]);
        // an angle 20 wide: hollow, which no convex piece is
        let angle = [
            corner(10.0, 10.0),
            corner(110.0, 10.0),
            corner(110.0, 30.0),
            corner(30.0, 30.0),
            corner(30.0, 90.0),
            corner(10.0, 90.0),
        ];
        let mut backward = angle;
        backward.reverse();
        let twice = [angle, angle].concat();
        for ring in [&angle[..], &backward, &twice] {
            let mut raster = Raster::over(&bounds);
            raster.fill_ring(ring);
            assert_eq!(filled(&raster), 100 * 20 + 20 * 60);
            // beyond the grid nothing happens
            let away: Vec<Point> = ring.iter().map(|at| corner(at.x, at.y - 500.0)).collect();
            raster.fill_ring(&away);
            assert_eq!(filled(&raster), 100 * 20 + 20 * 60);
        }
        let mut raster = Raster::over(&bounds);
        raster.fill_ring(&[]);
        raster.fill_ring(&angle[..1]);
        raster.fill_ring(&angle[..2]);
        assert_eq!(filled(&raster), 0);
    }

    #[test]
    fn a_convex_ring_fills_as_a_piece() {
        let bounds = Bounds::about(&[Point::new(0.0, 0.0), Point::new(200.0, 200.0)]);
        let piece = [
            Point::new(20.3, 11.7),
            Point::new(170.1, 40.9),
            Point::new(150.6, 160.2),
            Point::new(31.4, 90.8),
        ];
        let (mut one, mut other) = (Raster::over(&bounds), Raster::over(&bounds));
        one.fill(&piece);
        other.fill_ring(&piece);
        assert!((0..one.rows()).all(|row| one.row(row) == other.row(row)));
        assert!(filled(&one) > 10_000);
    }
}

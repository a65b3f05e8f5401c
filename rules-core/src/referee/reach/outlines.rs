//! The lines about filled ground: the cracks between filled and empty cells, followed and simplified.

use crate::geometry::{Point, distance_point_stretch_mm};
use crate::verdict::{Outline, Spot};

use super::raster::Raster;

/// A corner is left out when the line without it stays this near, in cells: a little more than the
/// half cell by which a stair of cells swings about a slanting line.
const NEAR_CELLS: f64 = 0.55;

/// Every outline and hole of the filled ground. A line runs through the middles of the cracks, with
/// the ground on its left.
pub(super) fn outlines(raster: &Raster) -> Vec<Outline> {
    let mut seen = vec![0_u64; raster.rows() * raster.columns().div_ceil(64)];
    let words = raster.columns().div_ceil(64);
    let mut found = Vec::new();
    for row in 0..raster.rows() {
        let mut carry = 0;
        for (word, &cells) in raster.row(row).iter().enumerate() {
            // filled cells whose western neighbour is empty
            let mut starts = cells & !(cells << 1 | carry) & !seen[row * words + word];
            carry = cells >> 63;
            while starts != 0 {
                let bit = starts.trailing_zeros() as usize;
                let line = follow(raster, word * 64 + bit, row, &mut seen);
                found.push(outline(&line, raster.cell_mm() * NEAR_CELLS));
                starts &= starts - 1;
                starts &= !seen[row * words + word];
            }
        }
    }
    found
}

/// The way a crack is followed.
#[derive(Debug, Clone, Copy, PartialEq)]
enum Way {
    East,
    North,
    West,
    South,
}

impl Way {
    fn left(self) -> Self {
        match self {
            Self::East => Self::North,
            Self::North => Self::West,
            Self::West => Self::South,
            Self::South => Self::East,
        }
    }

    fn right(self) -> Self {
        self.left().left().left()
    }
}

/// Follows the cracks from the west side of a cell, southward first, until they close.
fn follow(raster: &Raster, column: usize, row: usize, seen: &mut [u64]) -> Vec<Point> {
    let words = raster.columns().div_ceil(64);
    let start = (column, row + 1, Way::South);
    // the south-west corner of the cell that the way comes from
    let (mut east, mut north, mut way) = start;
    let mut line = Vec::new();
    loop {
        if way == Way::South {
            // the cell on its left lies east of the crack
            seen[(north - 1) * words + east / 64] |= 1 << (east % 64);
        }
        let (half_east, half_north) = (2 * east, 2 * north);
        let (middle, next) = match way {
            Way::East => ((half_east + 1, half_north), (east + 1, north)),
            Way::North => ((half_east, half_north + 1), (east, north + 1)),
            Way::West => ((half_east - 1, half_north), (east - 1, north)),
            Way::South => ((half_east, half_north - 1), (east, north - 1)),
        };
        line.push(raster.place(middle.0, middle.1));
        (east, north) = next;
        let (left, right) = ahead(east, north, way);
        way = if !raster.is_filled(left.0, left.1) {
            way.left()
        } else if raster.is_filled(right.0, right.1) {
            way.right()
        } else {
            way
        };
        if (east, north, way) == start {
            return line;
        }
    }
}

/// The cells ahead of a corner, on the left and on the right of the way.
fn ahead(east: usize, north: usize, way: Way) -> ((usize, usize), (usize, usize)) {
    // cells about the corner; the rim of the grid is empty, so none lies below 0
    let (west, south) = (east.wrapping_sub(1), north.wrapping_sub(1));
    match way {
        Way::East => ((east, north), (east, south)),
        Way::North => ((west, north), (east, north)),
        Way::West => ((west, south), (west, north)),
        Way::South => ((east, south), (west, south)),
    }
}

fn outline(line: &[Point], near_mm: f64) -> Outline {
    let mut doubled = 0.0;
    let mut from = line[line.len() - 1];
    for &to in line {
        doubled += from.x * to.y - to.x * from.y;
        from = to;
    }
    Outline {
        hole: doubled < 0.0,
        points: simplified(line, near_mm)
            .into_iter()
            .map(Spot::from)
            .collect(),
    }
}

/// The closed line with corners left out that lie near the line without them (the method of Douglas
/// and Peucker, from memory).
fn simplified(line: &[Point], near_mm: f64) -> Vec<Point> {
    let count = line.len();
    let farthest = (0..count)
        .max_by(|a, b| {
            let away = |index: &usize| line[0].distance_to(line[*index]);
            away(a).total_cmp(&away(b))
        })
        .unwrap_or(0);
    let mut keep = vec![false; count + 1];
    keep[0] = true;
    keep[farthest] = true;
    let at = |index: usize| line[index % count];
    let mut stack = vec![(0, farthest), (farthest, count)];
    while let Some((from, to)) = stack.pop() {
        let mut worst = (near_mm, None);
        for index in from + 1..to {
            let off_mm = distance_point_stretch_mm(at(index), at(from), at(to));
            if off_mm > worst.0 {
                worst = (off_mm, Some(index));
            }
        }
        if let Some(index) = worst.1 {
            keep[index] = true;
            stack.push((from, index));
            stack.push((index, to));
        }
    }
    let kept: Vec<Point> = (0..count).filter(|index| keep[*index]).map(at).collect();
    if kept.len() < 3 { line.to_vec() } else { kept }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::geometry::Bounds;

    fn corner(x: f64, y: f64) -> Point {
        Point::new(x, y)
    }

    fn square(low: f64, high: f64) -> [Point; 4] {
        [
            corner(low, low),
            corner(high, low),
            corner(high, high),
            corner(low, high),
        ]
    }

    #[test]
    fn a_frame_has_an_outline_and_a_hole() {
        let bounds = Bounds::about(&square(0.0, 200.0));
        let mut raster = Raster::over(&bounds);
        for (low, high) in [
            (corner(0.0, 0.0), corner(200.0, 20.0)),
            (corner(0.0, 180.0), corner(200.0, 200.0)),
            (corner(0.0, 0.0), corner(20.0, 200.0)),
            (corner(180.0, 0.0), corner(200.0, 200.0)),
        ] {
            raster.fill(&[low, corner(high.x, low.y), high, corner(low.x, high.y)]);
        }
        let found = outlines(&raster);
        assert_eq!(found.len(), 2, "{found:#?}");
        assert!(!found[0].hole && found[1].hole);
        // corners are cut by half a cell; nothing else is left of the sides
        assert!(
            found[0].points.len() <= 8 && found[1].points.len() <= 8,
            "{found:#?}"
        );
        for point in &found[0].points {
            let place = Point::from(*point);
            let off = [place.x, place.y, 200.0 - place.x, 200.0 - place.y]
                .into_iter()
                .fold(f64::INFINITY, crate::geometry::smaller);
            assert!(off.abs() < 0.51, "{point:?}");
        }
    }

    #[test]
    fn cells_that_meet_at_a_corner_stay_apart() {
        let mut raster = Raster::over(&Bounds::about(&square(0.0, 20.0)));
        raster.fill(&square(0.0, 10.0));
        raster.fill(&square(10.0, 20.0));
        let found = outlines(&raster);
        assert_eq!(found.len(), 2);
        assert!(found.iter().all(|outline| !outline.hole));
    }

    #[test]
    fn a_disc_keeps_its_shape() {
        let middle = corner(100.0, 100.0);
        let round: Vec<Point> = (0..720)
            .map(|step| {
                let bearing = (f64::from(step) / 2.0).to_radians();
                middle + crate::geometry::Vector::along_bearing(-bearing) * 80.0
            })
            .collect();
        let mut raster = Raster::over(&Bounds::about(&round));
        raster.fill(&round);
        let found = outlines(&raster);
        assert_eq!(found.len(), 1);
        for point in &found[0].points {
            let off = Point::from(*point).distance_to(middle) - 80.0;
            assert!(off.abs() < 0.8, "{off}");
        }
        assert!(found[0].points.len() < 200);
    }
}

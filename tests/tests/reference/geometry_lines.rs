//! Crossings of lines on a whole-number grid, where tapes pass through bends, run along legs
//! and start and stop on the line all the time. Reference: crate `geo` 0.33 with exact
//! predicates (`intersects`, `coordinate_position`, `relate`).

use fieldpost_rules::geometry::{ContactKind, Path, Point, Polyline, Side, crossings};
use geo::coordinate_position::{CoordPos, CoordinatePosition};
use geo::dimensions::Dimensions;
use geo::{Coord, Distance, Euclidean, Intersects, Line, LineString, Relate};

use super::geometry_random::{CASES, Random, Worst, coord, geo_line};

/// A line drawn from west to east, every bend on the grid, and all that lies on its left.
fn grid_line(random: &mut Random) -> (Polyline, geo::Polygon<f64>) {
    let grid = |random: &mut Random| f64::from(random.below(7)) * 10.0;
    let mut x = 0.0;
    let mut points = vec![Point::new(-1000.0, grid(random))];
    while x <= 60.0 {
        points.push(Point::new(x, grid(random)));
        x += 10.0 + f64::from(random.below(3)) * 10.0;
    }
    points.push(Point::new(1000.0, grid(random)));
    let line = Polyline::new(points).expect("points run east");
    let mut north = geo_line(&line).into_inner();
    north.push(Coord {
        x: 1000.0,
        y: 500.0,
    });
    north.push(Coord {
        x: -1000.0,
        y: 500.0,
    });
    (line, geo::Polygon::new(LineString::new(north), Vec::new()))
}

fn side(point: Point, north: &geo::Polygon<f64>) -> Option<Side> {
    match north.coordinate_position(&coord(point)) {
        CoordPos::Inside => Some(Side::Left),
        CoordPos::Outside => Some(Side::Right),
        CoordPos::OnBoundary => None,
    }
}

#[test]
fn straight_tapes_on_the_grid() {
    let mut random = Random::seeded(31);
    let mut worst = Worst::default();
    let mut kinds = [0_u32; 4];
    for _ in 0..CASES {
        let (line, north) = grid_line(&mut random);
        let course = geo_line(&line);
        let mut grid = || {
            Point::new(
                f64::from(random.below(7)) * 10.0,
                f64::from(random.below(7)) * 10.0,
            )
        };
        let (from, mut to) = (grid(), grid());
        if from == to {
            to.x += 10.0;
        }
        let path = Path::Straight { from, to };
        let tape = Line::new(coord(from), coord(to));
        let contacts = crossings(&path, &line);
        let shown = || format!("{path:?} {line:?}: {contacts:?}");

        assert_eq!(
            contacts.is_empty(),
            !tape.intersects(&course),
            "{}",
            shown()
        );
        let matrix = tape.relate(&north);
        let both_sides = matrix.get(CoordPos::Inside, CoordPos::Inside) != Dimensions::Empty
            && matrix.get(CoordPos::Inside, CoordPos::Outside) != Dimensions::Empty;
        let crosses = |kind: ContactKind| contacts.iter().filter(|c| c.kind == kind).count();
        assert_eq!(crosses(ContactKind::Crosses) > 0, both_sides, "{}", shown());
        let starts_on = course.intersects(&coord(from));
        assert_eq!(crosses(ContactKind::StartsOn) > 0, starts_on, "{}", shown());
        let whole = contacts.len() == 1 && starts_on && contacts[0].leaves_share >= 1.0;
        let ends_on = course.intersects(&coord(to)) && !whole;
        assert_eq!(crosses(ContactKind::EndsOn) > 0, ends_on, "{}", shown());

        // between contacts the tape is clear of the line and on the side they say
        let mut last = (0.0, None);
        for contact in &contacts {
            kinds[contact.kind as usize] += 1;
            worst.take(
                Euclidean.distance(&geo::Point(coord(contact.at)), &course),
                shown,
            );
            clear_between(&path, (last.0, contact.share), &course, &shown);
            if contact.share > 0.0 {
                let middle = path.at(f64::midpoint(last.0, contact.share));
                assert_eq!(contact.from_side, side(middle, &north), "{}", shown());
                if last.0 > 0.0 {
                    assert_eq!(last.1, contact.from_side, "{}", shown());
                }
            }
            last = (contact.leaves_share, contact.to_side);
        }
        if last.0 < 1.0 {
            clear_between(&path, (last.0, 1.0), &course, &shown);
            if !contacts.is_empty() {
                let middle = path.at(f64::midpoint(last.0, 1.0));
                assert_eq!(last.1, side(middle, &north), "{}", shown());
            }
        }
    }
    worst.report("straight tape over a line");
    println!("crosses, touches, starts on, ends on: {kinds:?}");
    assert!(kinds.iter().all(|count| *count > CASES / 100), "{kinds:?}");
}

/// The tape between two shares, drawn in by a hundredth of a millimetre, meets no line.
fn clear_between(
    path: &Path,
    (from, to): (f64, f64),
    course: &LineString<f64>,
    shown: &impl Fn() -> String,
) {
    let inset = 0.01 / path.length_mm();
    if to - from > 2.0 * inset {
        let piece = Line::new(coord(path.at(from + inset)), coord(path.at(to - inset)));
        assert!(!piece.intersects(course), "{from} to {to}: {}", shown());
    }
}

/// Arcs about grid points with whole radii: many are tangent to level legs or pass bends.
#[test]
fn arcs_on_the_grid() {
    let mut random = Random::seeded(32);
    let mut worst = Worst::default();
    let mut kinds = [0_u32; 4];
    for _ in 0..CASES {
        let (line, north) = grid_line(&mut random);
        let course = geo_line(&line);
        let mut grid = |count: u32| f64::from(random.below(count)) * 10.0;
        let centre = Point::new(grid(7), grid(7));
        let radius = 10.0 + grid(4);
        let quarter = [(0.0, 1.0), (1.0, 0.0), (0.0, -1.0), (-1.0, 0.0)][random.below(4) as usize];
        let path = Path::Arc {
            centre,
            from: Point::new(centre.x + quarter.0 * radius, centre.y + quarter.1 * radius),
            clockwise_rad: (f64::from(random.below(25)) - 12.0) * std::f64::consts::PI / 6.0 + 0.01,
        };
        let contacts = crossings(&path, &line);
        let shown = || format!("{path:?} {line:?}: {contacts:?}");
        for contact in &contacts {
            kinds[contact.kind as usize] += 1;
            let off = Euclidean.distance(&geo::Point(coord(contact.at)), &course);
            worst.take(off, shown);
        }
        // at sampled shares the side is the one that the contacts before them left to
        for _ in 0..12 {
            let share = random.between(0.0, 1.0);
            let point = path.at(share);
            if Euclidean.distance(&geo::Point(coord(point)), &course) < 0.002 {
                continue;
            }
            let here = side(point, &north);
            let before = contacts
                .iter()
                .rfind(|contact| contact.leaves_share < share);
            let after = contacts.iter().find(|contact| contact.share > share);
            if let Some(contact) = before {
                assert_eq!(
                    contact.to_side,
                    here,
                    "after a contact, {share}: {}",
                    shown()
                );
            }
            if let Some(contact) = after {
                assert_eq!(
                    contact.from_side,
                    here,
                    "before a contact, {share}: {}",
                    shown()
                );
            }
            if contacts.is_empty() {
                assert_eq!(side(path.start(), &north), here, "no contact: {}", shown());
            }
        }
    }
    worst.report("arc over a line");
    println!("crosses, touches, starts on, ends on: {kinds:?}");
}

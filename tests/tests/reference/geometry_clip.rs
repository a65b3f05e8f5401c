//! Lengths of tape in patches. Reference: crate `geo` 0.33, `BooleanOps::clip` for straight
//! tapes (itself up to 7e-4 mm off at corners) and `coordinate_position` for arcs, which it
//! doesn't know.

use fieldpost_rules::geometry::{Path, Point, Polygon, spans_inside, spans_near};
use geo::coordinate_position::{CoordPos, CoordinatePosition};
use geo::{BooleanOps, Distance, Euclidean, Length, LineString, MultiLineString};

use super::geometry_random::{CASES, Random, Worst, coord, geo_line, geo_polygon};

#[test]
fn straight_tapes_in_patches() {
    let mut random = Random::seeded(21);
    let mut worst = Worst::default();
    let mut along = 0;
    let mut polygon = random.patch();
    for case in 0..CASES {
        if case % 20 == 0 {
            polygon = random.patch();
        }
        let corners = polygon.outer();
        let any_corner = corners[random.below(3) as usize];
        // every fourth tape passes through a corner exactly, every fourth ends on one
        let from = random.point(200.0);
        let to = match random.below(4) {
            0 => from.towards(any_corner, 2.0),
            1 => any_corner,
            _ => random.point(200.0),
        };
        let path = Path::Straight { from, to };
        let ours = spans_inside(&path, &polygon)
            .iter()
            .fold(0.0, |sum, span| sum + span.length())
            * path.length_mm();
        let tape = MultiLineString::new(vec![LineString::new(vec![coord(from), coord(to)])]);
        let reference = Euclidean.length(&geo_polygon(&polygon).clip(&tape, false));
        if runs_along(&tape, &polygon) {
            along += 1;
            continue;
        }
        worst.take(ours - reference, || {
            format!("{path:?} {polygon:?}: {ours} {reference}")
        });
    }
    worst.report("straight tape in a patch");
    println!("{along} ran along an edge within the band and were not compared");
    assert!(along < 20, "chance alone makes a handful");
}

/// Whether both ends of some edge lie within the band about the tape, by geo: then whether the
/// tape is inside is for our law to say, not for a predicate.
fn runs_along(tape: &MultiLineString<f64>, polygon: &Polygon) -> bool {
    let near = |point: Point| Euclidean.distance(&geo::Point(coord(point)), &tape.0[0]) < 0.001;
    let rings = polygon.holes().iter().map(Vec::as_slice);
    rings.chain([polygon.outer()]).any(|ring| {
        let near: Vec<bool> = ring.iter().map(|point| near(*point)).collect();
        (0..near.len()).any(|index| near[index] && near[(index + 1) % near.len()])
    })
}

/// Distance of a point from the rings of a polygon, by geo.
fn from_edge(point: Point, polygon: &geo::Polygon<f64>) -> f64 {
    let point = geo::Point(coord(point));
    polygon
        .interiors()
        .iter()
        .chain([polygon.exterior()])
        .map(|ring| Euclidean.distance(&point, ring))
        .fold(f64::INFINITY, f64::min)
}

fn judge_arc(path: &Path, polygon: &Polygon, random: &mut Random, worst: &mut Worst) {
    let reference = geo_polygon(polygon);
    let spans = spans_inside(path, polygon);
    let mut shares: Vec<f64> = (0..8).map(|_| random.between(0.0, 1.0)).collect();
    let mut last = 0.0;
    for span in &spans {
        for end in [span.from, span.to] {
            if end > 0.0 && end < 1.0 {
                worst.take(from_edge(path.at(end), &reference), || {
                    format!("end {end} of {path:?} in {polygon:?}")
                });
            }
            shares.push(f64::midpoint(last, end));
            last = end;
        }
    }
    shares.push(f64::midpoint(last, 1.0));
    for share in shares {
        let point = path.at(share);
        let inside = spans.iter().any(|span| span.holds(share));
        let position = reference.coordinate_position(&coord(point));
        if inside != (position == CoordPos::Inside) {
            let near = from_edge(point, &reference);
            assert!(
                near < 0.001,
                "{share} of {path:?} in {polygon:?}: {spans:?} {near}"
            );
        }
    }
}

#[test]
fn arcs_in_patches() {
    let mut random = Random::seeded(22);
    let mut worst = Worst::default();
    let mut polygon = random.patch();
    for case in 0..CASES {
        if case % 20 == 0 {
            polygon = random.patch();
        }
        let mut path = random.arc();
        // every fourth passes through a corner exactly
        if random.below(4) == 0
            && let Path::Arc {
                centre,
                clockwise_rad,
                ..
            } = path
        {
            let corner = polygon.outer()[random.below(3) as usize];
            path = Path::Arc {
                centre,
                from: corner.turned_about(centre, -clockwise_rad / 2.0),
                clockwise_rad,
            };
        }
        judge_arc(&path, &polygon, &mut random, &mut worst);
    }
    worst.report("arc in a patch");
}

/// Parts of tapes near a road. Reference: geo's distance of a point from a line string.
#[test]
fn tapes_near_roads() {
    let mut random = Random::seeded(23);
    let mut worst = Worst::default();
    for _ in 0..CASES {
        let count = 2 + random.below(5);
        let points = (0..count).map(|_| random.point(150.0)).collect();
        let line = fieldpost_rules::geometry::Polyline::new(points).expect("random points differ");
        let reference = geo_line(&line);
        let half_width = random.between(0.5, 40.0);
        let path = if random.below(2) == 0 {
            random.arc()
        } else {
            Path::Straight {
                from: random.point(200.0),
                to: random.point(200.0),
            }
        };
        let spans = spans_near(&path, &line, half_width);
        let far = |share: f64| {
            Euclidean.distance(&geo::Point(coord(path.at(share))), &reference) - half_width
        };
        for span in &spans {
            for end in [span.from, span.to] {
                if end > 0.0 && end < 1.0 {
                    worst.take(far(end), || format!("{path:?} {line:?} {half_width}"));
                }
            }
        }
        for _ in 0..4 {
            let share = random.between(0.0, 1.0);
            let inside = spans.iter().any(|span| span.holds(share));
            let beyond = far(share);
            assert!(
                inside == (beyond <= 0.0) || beyond.abs() < 0.0011,
                "{share} of {path:?} at {line:?}, {half_width}: {spans:?} {beyond}"
            );
        }
    }
    worst.report("tape near a road");
}

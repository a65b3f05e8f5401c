//! Polygons: their faults, what lies in them, what covers them, and cutting a tape by them.

use proptest::prelude::*;

use super::{moved, patch, path};
use crate::{
    EPS_MM, Footprint, Location, Motion, Path, Point, Polygon, PolygonFault, Ring, Vector,
    footprint_astride, overlap_depth_mm, spans_inside, spans_over,
};

fn points(places: &[(f64, f64)]) -> Vec<Point> {
    places.iter().map(|&(x, y)| Point::new(x, y)).collect()
}

fn square(x: f64, y: f64, side: f64) -> Vec<Point> {
    points(&[(x, y), (x + side, y), (x + side, y + side), (x, y + side)])
}

fn total_mm(path: &Path, polygon: &Polygon) -> f64 {
    spans_inside(path, polygon)
        .iter()
        .fold(0.0, |sum, span| sum + span.length())
        * path.length_mm()
}

fn straight(from: (f64, f64), to: (f64, f64)) -> Path {
    Path::Straight {
        from: Point::new(from.0, from.1),
        to: Point::new(to.0, to.1),
    }
}

#[test]
fn every_fault_is_reported_with_its_place() {
    let faults = Polygon::new(
        points(&[(0.0, 0.0), (1.0, 0.0)]),
        vec![square(0.0, f64::NAN, 1.0)],
    )
    .unwrap_err();
    assert_eq!(
        faults[0],
        PolygonFault::TooFewPoints {
            ring: Ring::Outer,
            count: 2
        }
    );
    assert_eq!(
        faults[1],
        PolygonFault::NotFinite {
            ring: Ring::Hole(0),
            point: 0
        }
    );
    assert_eq!(faults.len(), 5);

    let bow_tie = points(&[(0.0, 0.0), (10.0, 10.0), (10.0, 0.0), (0.0, 10.0)]);
    let faults = Polygon::new(bow_tie, Vec::new()).unwrap_err();
    assert_eq!(
        faults,
        [PolygonFault::CrossesItself {
            ring: Ring::Outer,
            first_edge: 0,
            second_edge: 2,
            at: Point::new(5.0, 5.0)
        }]
    );
    assert_eq!(
        faults[0].to_string(),
        "the outline crosses or touches itself near (5.0, 5.0): the edge after point 1 and the edge after point 3"
    );

    let closed = points(&[(0.0, 0.0), (10.0, 0.0), (10.0, 10.0), (0.0, 0.0)]);
    assert_eq!(
        Polygon::new(closed, Vec::new()).unwrap_err(),
        [PolygonFault::RepeatedPoint {
            ring: Ring::Outer,
            point: 0
        }]
    );

    let flat = points(&[(0.0, 0.0), (10.0, 0.0), (20.0, 0.0)]);
    assert_eq!(
        Polygon::new(flat, Vec::new()).unwrap_err(),
        [PolygonFault::NoArea { ring: Ring::Outer }]
    );

    let spiked = points(&[
        (0.0, 0.0),
        (10.0, 0.0),
        (10.0, 10.0),
        (10.0, 2.0),
        (0.0, 10.0),
    ]);
    assert!(matches!(
        Polygon::new(spiked, Vec::new()).unwrap_err()[..],
        [PolygonFault::CrossesItself { .. }, ..]
    ));
}

#[test]
fn holes_must_lie_inside_and_apart() {
    let outer = square(0.0, 0.0, 100.0);
    let outside = Polygon::new(outer.clone(), vec![square(200.0, 0.0, 10.0)]).unwrap_err();
    assert_eq!(outside, [PolygonFault::HoleOutside { hole: 0 }]);
    let across = Polygon::new(outer.clone(), vec![square(95.0, 40.0, 10.0)]).unwrap_err();
    assert!(
        across
            .iter()
            .all(|fault| matches!(fault, PolygonFault::HoleMeetsOutline { hole: 0, .. }))
    );
    let nested = vec![square(10.0, 10.0, 50.0), square(20.0, 20.0, 10.0)];
    let nested = Polygon::new(outer.clone(), nested).unwrap_err();
    assert!(matches!(
        nested[..],
        [PolygonFault::HolesOverlap {
            first: 0,
            second: 1,
            ..
        }]
    ));
    let sound = Polygon::new(outer, vec![square(10.0, 10.0, 20.0)]).unwrap();
    assert!((sound.area_mm2() - 9600.0).abs() < 1e-9);
    assert_eq!(sound.locate(Point::new(20.0, 20.0)), Location::Outside);
    assert_eq!(sound.locate(Point::new(10.0004, 20.0)), Location::Edge);
    assert_eq!(sound.locate(Point::new(50.0, 50.0)), Location::Inside);
    // the most room is beside the hole, towards the far corner
    let label = sound.label_point();
    assert!(sound.distance_to_edge_mm(label) > 34.0, "{label:?}");
}

#[test]
fn either_order_of_corners_is_the_same_patch() {
    let mut turned = square(0.0, 0.0, 10.0);
    turned.reverse();
    let polygon = Polygon::new(turned, Vec::new()).unwrap();
    assert!((polygon.area_mm2() - 100.0).abs() < 1e-12);
}

#[test]
fn a_tape_along_an_edge_is_outside_and_one_through_a_corner_counts_once() {
    let wood = Polygon::new(square(0.0, 0.0, 100.0), Vec::new()).unwrap();
    for offset in [-0.0005, 0.0, 0.0005] {
        assert_eq!(
            total_mm(&straight((-20.0, offset), (120.0, offset)), &wood),
            0.0
        );
        assert_eq!(
            total_mm(&straight((10.0, offset), (60.0, offset)), &wood),
            0.0
        );
    }
    assert!((total_mm(&straight((-20.0, 0.002), (120.0, 0.002)), &wood) - 100.0).abs() < 1e-9);
    // across the diagonal, through two corners
    let diagonal = straight((-10.0, -10.0), (110.0, 110.0));
    assert!((total_mm(&diagonal, &wood) - 20_000.0_f64.sqrt()).abs() < 1e-6);
    // touching one corner from outside
    assert_eq!(
        total_mm(&straight((-10.0, 10.0), (10.0, -10.0)), &wood),
        0.0
    );
    // leaving the edge at a shallow angle is not running along it
    let shallow = straight((0.0, 0.0), (90.0, 0.05));
    assert!((total_mm(&shallow, &wood) - 90.0).abs() < 1e-3);
}

#[test]
fn a_tape_along_the_bottom_of_a_notch_is_outside_there_only() {
    let notched = Polygon::new(
        points(&[
            (0.0, 0.0),
            (100.0, 0.0),
            (100.0, 50.0),
            (70.0, 50.0),
            (70.0, 20.0),
            (30.0, 20.0),
            (30.0, 50.0),
            (0.0, 50.0),
        ]),
        Vec::new(),
    )
    .unwrap();
    let tape = straight((-10.0, 20.0002), (110.0, 20.0002));
    assert!((total_mm(&tape, &notched) - 60.0).abs() < 1e-6);
    let tape = straight((-10.0, 19.9998), (110.0, 19.9998));
    assert!((total_mm(&tape, &notched) - 60.0).abs() < 1e-6);
}

#[test]
fn an_arc_through_a_square_has_the_handbook_length() {
    // radius 50 about a corner of the square: a quarter circle inside
    let wood = Polygon::new(square(0.0, 0.0, 100.0), Vec::new()).unwrap();
    let arc = Path::Arc {
        centre: Point::new(0.0, 0.0),
        from: Point::new(-50.0, 0.0),
        clockwise_rad: std::f64::consts::TAU,
    };
    assert!((total_mm(&arc, &wood) - 25.0 * std::f64::consts::PI).abs() < 1e-9);
    // tangent to an edge from outside
    let touching = Path::Arc {
        centre: Point::new(-50.0, 50.0),
        from: Point::new(-100.0, 50.0),
        clockwise_rad: std::f64::consts::TAU,
    };
    assert!(total_mm(&touching, &wood) < 1e-3);
}

#[test]
fn depth_of_a_footprint_in_a_patch() {
    let wood = Polygon::new(square(0.0, 0.0, 100.0), Vec::new()).unwrap();
    let at = |x: f64, y: f64| Footprint {
        centre: Point::new(x, y),
        ahead: Vector::new(0.0, 1.0),
        half_frontage: 20.0,
        half_depth: 10.0,
    };
    assert_eq!(overlap_depth_mm(&at(-20.0, 50.0), &wood), 0.0);
    assert!((overlap_depth_mm(&at(-17.0, 50.0), &wood) - 3.0).abs() < 1e-12);
    // wholly inside: its left corners stand 30 mm deep
    assert!((overlap_depth_mm(&at(50.0, 50.0), &wood) - 30.0).abs() < 1e-12);
    // a narrow strip under the middle of the footprint, no corner inside
    let strip = Polygon::new(
        points(&[(48.0, 0.0), (52.0, 0.0), (52.0, 100.0), (48.0, 100.0)]),
        Vec::new(),
    )
    .unwrap();
    assert!((overlap_depth_mm(&at(50.0, 50.0), &strip) - 10.0).abs() < 1e-12);
}

#[test]
fn a_march_into_a_pond_begins_at_the_shore() {
    let pond = Polygon::new(square(100.0, -50.0, 100.0), Vec::new()).unwrap();
    let start = Footprint {
        centre: Point::new(0.0, 0.0),
        ahead: Vector::new(1.0, 0.0),
        half_frontage: 20.0,
        half_depth: 10.0,
    };
    let motion = Motion::Straight {
        by: Vector::new(400.0, 0.0),
    };
    let spans = spans_over(&start, &motion, &pond);
    assert_eq!(spans.len(), 1);
    assert!((spans[0].from * 400.0 - 90.001).abs() < 1e-9);
    assert!((spans[0].to * 400.0 - 209.999).abs() < 1e-9);
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(1_000))]

    #[test]
    fn spans_over_agree_with_dense_sampling((start, motion) in moved(), polygon in patch()) {
        let spans = spans_over(&start, &motion, &polygon);
        for pair in spans.windows(2) {
            prop_assert!(pair[0].to < pair[1].from);
        }
        for index in 0..=300 {
            let share = f64::from(index) / 300.0;
            let depth = overlap_depth_mm(&motion.footprint_at(&start, share), &polygon);
            let inside = spans.iter().any(|span| span.holds(share));
            if (depth - EPS_MM).abs() > EPS_MM / 2.0 {
                prop_assert_eq!(inside, depth > EPS_MM, "at {}: {} {:?}", share, depth, spans);
            }
        }
        for span in &spans {
            for end in [span.from, span.to] {
                if end > 0.0 && end < 1.0 {
                    let depth = overlap_depth_mm(&motion.footprint_at(&start, end), &polygon);
                    prop_assert!((depth - EPS_MM).abs() < EPS_MM / 2.0, "{} at {}", depth, end);
                }
            }
        }
    }

    /// Ditches a few thousandths of a millimetre wide, which no corner can be EPS inside.
    #[test]
    fn slivers_are_crossed_when_deeper_than_eps(
        (start, motion) in moved(),
        from in (-100.0..100.0_f64, -100.0..100.0_f64),
        bearing in 0.0..6.0_f64,
        width in 0.0011..0.01_f64,
    ) {
        let from = Point::new(from.0, from.1);
        let along = Vector::along_bearing(bearing);
        let across = along.quarter_right() * width;
        let to = from + along * 60.0;
        let sliver = Polygon::new(vec![from, to, to + across, from + across], Vec::new());
        prop_assume!(sliver.is_ok());
        let sliver = sliver.unwrap();
        let spans = spans_over(&start, &motion, &sliver);
        for span in &spans {
            for end in [span.from, span.to] {
                if end > 0.0 && end < 1.0 {
                    let depth = overlap_depth_mm(&motion.footprint_at(&start, end), &sliver);
                    prop_assert!((depth - EPS_MM).abs() < EPS_MM / 2.0, "{} at {}", depth, end);
                }
            }
        }
        for index in 0..=300 {
            let share = f64::from(index) / 300.0;
            let depth = overlap_depth_mm(&motion.footprint_at(&start, share), &sliver);
            let inside = spans.iter().any(|span| span.holds(share));
            if (depth - EPS_MM).abs() > EPS_MM / 2.0 {
                prop_assert_eq!(inside, depth > EPS_MM, "at {}: {} {:?}", share, depth, spans);
            }
        }
    }

    #[test]
    fn depth_is_no_less_than_any_sampled_proof(
        (start, _) in moved(), polygon in patch(), u in -1.0..1.0_f64, v in -1.0..1.0_f64,
    ) {
        let point = start.at(u * start.half_frontage, v * start.half_depth);
        let room = crate::smaller(
            start.half_frontage * (1.0 - u.abs()),
            start.half_depth * (1.0 - v.abs()),
        );
        if polygon.locate(point) == Location::Inside {
            prop_assert!(overlap_depth_mm(&start, &polygon) >= room - 1e-9);
        }
    }

    #[test]
    fn spans_inside_agree_with_dense_sampling(tape in path(), polygon in patch()) {
        let spans = spans_inside(&tape, &polygon);
        for index in 0..=500 {
            let share = f64::from(index) / 500.0;
            let inside = spans.iter().any(|span| span.holds(share));
            match polygon.locate(tape.at(share)) {
                Location::Inside => prop_assert!(inside, "missed at {}: {:?}", share, spans),
                Location::Outside => prop_assert!(!inside, "false at {}: {:?}", share, spans),
                Location::Edge => {}
            }
        }
        for span in &spans {
            for end in [span.from, span.to] {
                if end > 0.0 && end < 1.0 {
                    prop_assert!(polygon.distance_to_edge_mm(tape.at(end)) < 1e-7);
                }
            }
        }
    }

    #[test]
    fn the_label_stands_inside_with_room(polygon in patch(), east in 0.0..1.0_f64, north in 0.0..1.0_f64) {
        let label = polygon.label_point();
        prop_assert_eq!(polygon.locate(label), Location::Inside);
        let bounds = polygon.bounds();
        let any = Point::new(
            bounds.low.x + east * (bounds.high.x - bounds.low.x),
            bounds.low.y + north * (bounds.high.y - bounds.low.y),
        );
        if polygon.locate(any) == Location::Inside {
            prop_assert!(polygon.distance_to_edge_mm(any) <= polygon.distance_to_edge_mm(label) + 1.0);
        }
    }

    #[test]
    fn a_line_round_a_patch_is_under_the_footprint_where_the_edge_is(
        (start, _) in moved(), polygon in patch(),
    ) {
        let mut round = polygon.outer().to_vec();
        round.extend(polygon.outer().first().copied());
        let line = crate::Polyline::new(round).unwrap();
        let sampled = (0..2000).any(|index| {
            let along = f64::from(index) / 2000.0 * line.length_mm();
            let (x, y) = start.local(line.at_along(along));
            x.abs() < start.half_frontage - EPS_MM && y.abs() < start.half_depth - EPS_MM
        });
        if sampled {
            prop_assert!(footprint_astride(&start, &line));
        }
    }
}

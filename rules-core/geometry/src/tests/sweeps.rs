//! Swept contact against dense sampling.

use proptest::prelude::*;

use super::{agrees_with_samples, footprint, moved};
use crate::{
    Footprint, Motion, Point, Polyline, Vector, distance_point_footprint_mm, is_near_line,
    separation_ahead, signed_distance_mm, spans_near_line, spans_within, spans_within_ahead,
};

fn upright(x: f64, y: f64, frontage: f64, depth: f64) -> Footprint {
    Footprint {
        centre: Point::new(x, y),
        ahead: Vector::new(0.0, 1.0),
        half_frontage: frontage / 2.0,
        half_depth: depth / 2.0,
    }
}

/// Whether two stretches cross in their insides.
fn cross(a: Point, b: Point, c: Point, d: Point) -> bool {
    let side = |from: Point, to: Point, point: Point| (to - from).cross(point - from);
    side(a, b, c) * side(a, b, d) < 0.0 && side(c, d, a) * side(c, d, b) < 0.0
}

/// The contact a general nonlinear cast missed: the corner that leads is not the one that hits.
#[test]
fn the_pinned_turn_touches_at_36_870_degrees() {
    let moving = upright(0.0, 0.0, 80.0, 40.0);
    let obstacle = upright(-10.0, -70.0, 40.0, 20.0);
    let mut contacts = Vec::new();
    for sense in [1.0, -1.0] {
        let motion = Motion::Turn {
            pivot: Point::new(40.0, 20.0),
            clockwise_rad: sense * std::f64::consts::PI,
        };
        let spans = spans_within(&moving, &motion, &obstacle, 0.0);
        contacts.extend(spans.first().map(|span| (sense, span.from * 180.0)));
    }
    let (sense, degrees) = contacts
        .iter()
        .copied()
        .min_by(|a, b| a.1.total_cmp(&b.1))
        .unwrap();
    // acos(0.8): a 3-4-5 triangle, the arc of radius 100 about the pivot meeting y = -60 at x = -20
    assert!((degrees - 36.869_897_645_844).abs() < 1e-9, "{contacts:?}");
    // counter-clockwise, as mathematics counts angles: the far corners lie west and swing south
    assert!(sense < 0.0, "{contacts:?}");
}

#[test]
fn sliding_along_a_touching_edge_is_not_overlap() {
    let moving = upright(0.0, 0.0, 40.0, 20.0);
    let obstacle = upright(40.0, 0.0, 40.0, 20.0);
    let motion = Motion::Straight {
        by: Vector::new(0.0, 100.0),
    };
    assert_eq!(spans_within(&moving, &motion, &obstacle, -0.001), []);
    let parted = spans_within(&moving, &motion, &obstacle, 1.0);
    assert_eq!(parted.len(), 1);
    assert!(parted[0].from == 0.0 && (parted[0].to - 0.21).abs() < 1e-12);
}

#[test]
fn spinning_crossed_bars_never_part_where_no_corner_is_inside() {
    let moving = upright(0.0, 0.0, 100.0, 4.0);
    let obstacle = upright(0.0, 0.0, 4.0, 100.0);
    let motion = Motion::Turn {
        pivot: Point::new(0.0, 0.0),
        clockwise_rad: std::f64::consts::TAU,
    };
    for reach in [-0.001, 0.0, 0.5] {
        let spans = spans_within(&moving, &motion, &obstacle, reach);
        assert_eq!(spans.len(), 1, "{spans:?}");
        assert!(spans[0].from == 0.0 && spans[0].to == 1.0);
    }
}

#[test]
fn crossed_bars_overlap_all_along_with_every_corner_outside() {
    let moving = upright(0.0, 0.0, 100.0, 4.0);
    let obstacle = upright(0.0, 0.0, 4.0, 100.0);
    let motion = Motion::Turn {
        pivot: Point::new(1.0, 1.0),
        clockwise_rad: 0.1,
    };
    for reach in [-0.001, 0.0, 0.5] {
        let spans = spans_within(&moving, &motion, &obstacle, reach);
        assert_eq!(spans, [crate::Span::WHOLE]);
    }
}

#[test]
fn a_turn_away_from_touch_about_the_touching_corner_is_free() {
    let moving = upright(0.0, 0.0, 40.0, 20.0);
    let obstacle = upright(40.0, 0.0, 40.0, 20.0);
    let motion = Motion::Turn {
        pivot: moving.front_right(),
        clockwise_rad: std::f64::consts::FRAC_PI_2,
    };
    // the edge leaves the neighbour's edge at once
    assert_eq!(spans_within(&moving, &motion, &obstacle, -0.001), []);
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(2_000))]

    #[test]
    fn sweeps_agree_with_dense_sampling(
        (start, motion) in moved(),
        obstacle in footprint(),
        reach in prop_oneof![
            Just(-0.001), Just(0.0), -5.0..0.0_f64, 0.0..1.0_f64, 1.0..60.0_f64, 60.0..400.0_f64
        ],
    ) {
        let spans = spans_within(&start, &motion, &obstacle, reach);
        agrees_with_samples(&spans, 400, reach, |share| {
            signed_distance_mm(&motion.footprint_at(&start, share), &obstacle)
        })?;
    }

    #[test]
    fn sweeps_ahead_agree_with_dense_sampling(
        (start, motion) in moved(),
        obstacle in footprint(),
        reach in prop_oneof![0.01..1.0_f64, 1.0..60.0_f64, 60.0..400.0_f64],
    ) {
        let spans = spans_within_ahead(&start, &motion, &obstacle, reach);
        let measured = |share: f64| {
            separation_ahead(&motion.footprint_at(&start, share), &obstacle)
                .map_or(f64::INFINITY, |separation| separation.distance_mm)
        };
        for index in 0..=400 {
            let share = f64::from(index) / 400.0;
            let inside = spans.iter().any(|span| span.holds(share));
            let near_end = spans.iter().any(|span| {
                (span.from - share).abs() < 1e-9 || (span.to - share).abs() < 1e-9
            });
            let value = measured(share);
            // crossing the front line makes the distance jump, so an end is excused by its place
            if !near_end && (value - reach).abs() > 1e-6 {
                prop_assert_eq!(inside, value < reach, "at {}: {} {:?}", share, value, spans);
            }
        }
        for span in &spans {
            prop_assert!(measured(span.middle()) < reach + 1e-6);
        }
    }

    #[test]
    fn spans_near_a_line_agree_with_dense_sampling(
        (start, motion) in moved(),
        points in prop::collection::vec((-200.0..200.0_f64, -200.0..200.0_f64), 2..5),
        reach in prop_oneof![Just(0.005), 0.01..1.0_f64, 1.0..60.0_f64],
    ) {
        let points: Vec<Point> = points.into_iter().map(|(x, y)| Point::new(x, y)).collect();
        let Ok(line) = Polyline::new(points.clone()) else {
            return Ok(());
        };
        // from corners to the line, from the line's points to the block, or across it
        let measured = |share: f64| {
            let block = motion.footprint_at(&start, share);
            let corners = block.corners();
            let crosses = points.windows(2).any(|leg| {
                (0..4).any(|at| cross(leg[0], leg[1], corners[at], corners[(at + 1) % 4]))
            });
            let from_corners = corners.map(|corner| line.distance_mm(corner));
            let from_points = points.iter().map(|point| distance_point_footprint_mm(*point, &block));
            let apart = from_points.chain(from_corners).fold(f64::INFINITY, crate::smaller);
            if crosses { 0.0 } else { apart }
        };
        let spans = spans_near_line(&start, &motion, &line, reach);
        agrees_with_samples(&spans, 400, reach, measured)?;
        prop_assert_eq!(is_near_line(&start, &line, reach), measured(0.0) < reach);
    }

    #[test]
    fn a_mirrored_turned_and_shifted_table_gives_the_same_spans(
        (start, motion) in moved(),
        obstacle in footprint(),
        reach in -2.0..80.0_f64,
        shift_x in -1000.0..1000.0_f64,
        turn in 0.0..6.0_f64,
        mirror in any::<bool>(),
    ) {
        let flip = if mirror { -1.0 } else { 1.0 };
        let point = |p: Point| Point::new(p.x * flip + shift_x, p.y - shift_x)
            .turned_about(Point::new(3.0, 4.0), turn);
        let vector = |v: Vector| Vector::new(v.x * flip, v.y).turned(turn);
        let block = |f: Footprint| Footprint {
            centre: point(f.centre),
            ahead: vector(f.ahead),
            ..f
        };
        let other = match motion {
            Motion::Straight { by } => Motion::Straight { by: vector(by) },
            Motion::Turn { pivot, clockwise_rad } => Motion::Turn {
                pivot: point(pivot),
                clockwise_rad: clockwise_rad * flip,
            },
        };
        let here = spans_within(&start, &motion, &obstacle, reach);
        let there = spans_within(&block(start), &other, &block(obstacle), reach);
        let share = |spans: &[crate::Span]| {
            spans.iter().map(|span| span.length()).fold(0.0, |sum, length| sum + length)
        };
        prop_assert!((share(&here) - share(&there)).abs() < 1e-7, "{:?} {:?}", here, there);
        prop_assert!((signed_distance_mm(&start, &obstacle)
            - signed_distance_mm(&block(start), &block(obstacle))).abs() < 1e-9);
    }
}

//! Lines: contacts of a tape with them, and the tape near them.

use proptest::prelude::*;

use super::path;
use crate::{
    ContactKind, Path, Point, Polyline, PolylineFault, Side, Span, crossings,
    distance_point_stretch_mm, spans_near,
};

fn line(places: &[(f64, f64)]) -> Polyline {
    Polyline::new(places.iter().map(|&(x, y)| Point::new(x, y)).collect()).unwrap()
}

fn straight(from: (f64, f64), to: (f64, f64)) -> Path {
    Path::Straight {
        from: Point::new(from.0, from.1),
        to: Point::new(to.0, to.1),
    }
}

fn kinds(path: &Path, line: &Polyline) -> Vec<ContactKind> {
    crossings(path, line)
        .iter()
        .map(|contact| contact.kind)
        .collect()
}

#[test]
fn faults_name_the_point() {
    let point = Point::new;
    assert_eq!(
        Polyline::new(vec![point(0.0, 0.0)]),
        Err(PolylineFault::TooFewPoints { count: 1 })
    );
    assert_eq!(
        Polyline::new(vec![point(0.0, 0.0), point(5.0, 0.0), point(5.0, 0.0)]),
        Err(PolylineFault::RepeatedPoint { point: 2 })
    );
    assert_eq!(
        Polyline::new(vec![point(0.0, 0.0), point(f64::INFINITY, 0.0)]),
        Err(PolylineFault::NotFinite { point: 1 })
    );
}

#[test]
fn a_plain_crossing_tells_sides_and_place() {
    let brook = line(&[(0.0, 0.0), (0.0, 50.0), (0.0, 100.0)]);
    let contacts = crossings(&straight((-30.0, 70.0), (10.0, 70.0)), &brook);
    assert_eq!(contacts.len(), 1);
    let contact = contacts[0];
    assert_eq!(contact.kind, ContactKind::Crosses);
    // drawn northward, west is its left
    assert_eq!(
        (contact.from_side, contact.to_side),
        (Some(Side::Left), Some(Side::Right))
    );
    assert!((contact.share - 0.75).abs() < 1e-12 && contact.share == contact.leaves_share);
    assert_eq!(contact.leg, 1);
    assert!((contact.along_mm - 70.0).abs() < 1e-12);
}

#[test]
fn a_bend_passed_through_counts_once() {
    let bent = line(&[(0.0, 0.0), (0.0, 50.0), (30.0, 100.0)]);
    assert_eq!(
        kinds(&straight((-30.0, 50.0), (30.0, 50.0)), &bent),
        [ContactKind::Crosses]
    );
    // through the bend along the bisector of the narrow side and out of the wide one
    assert_eq!(
        kinds(&straight((-30.0, 60.0), (30.0, 40.0)), &bent),
        [ContactKind::Crosses]
    );
    let peak = line(&[(-50.0, -50.0), (0.0, 0.0), (50.0, -50.0)]);
    assert_eq!(
        kinds(&straight((-30.0, 0.0), (30.0, 0.0)), &peak),
        [ContactKind::Touches]
    );
    assert_eq!(
        kinds(&straight((0.0, 30.0), (0.0, -30.0)), &peak),
        [ContactKind::Crosses]
    );
}

#[test]
fn ends_of_the_tape_on_the_line() {
    let brook = line(&[(0.0, 0.0), (0.0, 100.0)]);
    let onto = crossings(&straight((-30.0, 50.0), (0.0, 50.0)), &brook);
    assert_eq!(onto[0].kind, ContactKind::EndsOn);
    assert_eq!(
        (onto[0].from_side, onto[0].to_side),
        (Some(Side::Left), None)
    );
    let off = crossings(&straight((0.0, 50.0), (30.0, 50.0)), &brook);
    assert_eq!(off[0].kind, ContactKind::StartsOn);
    assert_eq!(
        (off[0].from_side, off[0].to_side),
        (None, Some(Side::Right))
    );
    let upon = crossings(&straight((0.0, 20.0), (0.0, 80.0)), &brook);
    assert_eq!(upon.len(), 1);
    assert_eq!(upon[0].kind, ContactKind::StartsOn);
    assert_eq!((upon[0].share, upon[0].leaves_share), (0.0, 1.0));
    // a quantum short of the line is on it; two hundredths of a millimetre short is not
    assert_eq!(
        kinds(&straight((-30.0, 50.0), (-0.0005, 50.0)), &brook),
        [ContactKind::EndsOn]
    );
    assert!(kinds(&straight((-30.0, 50.0), (-0.02, 50.0)), &brook).is_empty());
}

#[test]
fn a_run_along_the_line_is_one_contact() {
    let wall = line(&[(0.0, 0.0), (40.0, 0.0), (100.0, 0.0), (100.0, 50.0)]);
    for offset in [-0.0004, 0.0, 0.0004] {
        // comes in line with the wall's beginning, runs along, goes on where the wall turns north
        let contacts = crossings(&straight((-50.0, offset), (150.0, offset)), &wall);
        assert_eq!(contacts.len(), 1, "{contacts:?}");
        let contact = contacts[0];
        assert!((contact.share - 0.25).abs() < 1e-4, "{contact:?}");
        assert!((contact.leaves_share - 0.75).abs() < 1e-4, "{contact:?}");
        assert_eq!(contact.to_side, Some(Side::Right));
    }
    // from below onto it, along, and off above: one crossing
    let zig = line(&[(0.0, -50.0), (0.0, 0.0), (60.0, 0.0), (60.0, 50.0)]);
    let along = crossings(&straight((-30.0, 0.0), (90.0, 0.0)), &zig);
    assert_eq!(along.len(), 1);
    assert_eq!(along[0].kind, ContactKind::Crosses);
    assert_eq!(
        (along[0].from_side, along[0].to_side),
        (Some(Side::Left), Some(Side::Right))
    );
}

#[test]
fn past_its_end_is_no_crossing() {
    let stub = line(&[(0.0, 0.0), (0.0, 50.0)]);
    assert!(crossings(&straight((-30.0, 50.01), (30.0, 50.01)), &stub).is_empty());
    assert_eq!(
        kinds(&straight((-30.0, 49.99), (30.0, 49.99)), &stub),
        [ContactKind::Crosses]
    );
}

#[test]
fn a_tangent_arc_touches_once_and_a_secant_crosses_twice() {
    let wall = line(&[(-100.0, 0.0), (100.0, 0.0)]);
    let arc = |height: f64| Path::Arc {
        centre: Point::new(0.0, height),
        from: Point::new(0.0, height + 50.0),
        clockwise_rad: std::f64::consts::TAU,
    };
    for height in [50.0, 50.0005, 49.9995] {
        assert_eq!(
            kinds(&arc(height), &wall),
            [ContactKind::Touches],
            "{height}"
        );
    }
    assert_eq!(
        kinds(&arc(49.9), &wall),
        [ContactKind::Crosses, ContactKind::Crosses]
    );
    assert!(kinds(&arc(50.1), &wall).is_empty());
}

#[test]
fn the_verge_belongs_to_the_road() {
    let road = line(&[(0.0, 0.0), (100.0, 0.0)]);
    assert_eq!(
        spans_near(&straight((10.0, 15.0), (90.0, 15.0)), &road, 15.0),
        [Span::WHOLE]
    );
    let onto = spans_near(&straight((50.0, 100.0), (50.0, -100.0)), &road, 15.0);
    assert!(
        (onto[0].from * 200.0 - 85.0).abs() < 0.002 && (onto[0].to * 200.0 - 115.0).abs() < 0.002
    );
}

#[test]
fn places_along_the_line() {
    let bent = line(&[(0.0, 0.0), (30.0, 40.0), (30.0, 140.0)]);
    assert!((bent.length_mm() - 150.0).abs() < 1e-12);
    assert!(bent.at_along(25.0).distance_to(Point::new(15.0, 20.0)) < 1e-12);
    assert_eq!(bent.at_along(-1.0), Point::new(0.0, 0.0));
    assert_eq!(bent.at_along(1e9), Point::new(30.0, 140.0));
    let near = bent.nearest(Point::new(40.0, 90.0));
    assert_eq!(near.leg, 1);
    assert!((near.along_mm - 100.0).abs() < 1e-12 && (near.distance_mm - 10.0).abs() < 1e-12);
}

/// A winding line across the field from west to east, so that north and south are its sides.
fn winding() -> impl Strategy<Value = Vec<f64>> {
    prop::collection::vec(-80.0..80.0_f64, 2..9)
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(2_000))]

    /// The line is a function of x that reaches beyond every path, so the side is the sign of
    /// a height, and crossings must be exactly its changes of sign.
    #[test]
    fn crossings_are_the_changes_of_side(tape in path(), heights in winding()) {
        let count = heights.len();
        #[expect(clippy::cast_precision_loss, reason = "a handful of points")]
        let place = |index: usize| -1000.0 + 2000.0 * index as f64 / (count - 1) as f64;
        let course = Polyline::new(
            heights.iter().enumerate().map(|(index, y)| Point::new(place(index), *y)).collect()
        ).unwrap();
        let above = |point: Point| {
            let index = (0..count - 1).find(|index| point.x <= place(index + 1)).unwrap();
            let share = (point.x - place(index)) / (place(index + 1) - place(index));
            point.y - heights[index] - (heights[index + 1] - heights[index]) * share
        };
        let contacts = crossings(&tape, &course);
        for contact in &contacts {
            prop_assert!(course.distance_mm(contact.at) < 0.001_001, "{:?}", contact);
            prop_assert!((course.at_along(contact.along_mm).distance_to(contact.at)) < 0.001_001);
        }
        let samples = 1000;
        for index in 0..samples {
            let (from, to) = (f64::from(index) / f64::from(samples), f64::from(index + 1) / f64::from(samples));
            let (before, after) = (above(tape.at(from)), above(tape.at(to)));
            if before.abs() < 0.01 || after.abs() < 0.01 {
                continue;
            }
            let crossed = contacts.iter().filter(|contact| {
                contact.share > from && contact.share <= to && contact.kind == ContactKind::Crosses
            }).count();
            prop_assert_eq!(crossed % 2 == 1, (before > 0.0) != (after > 0.0),
                "between {} and {}: {:?}", from, to, contacts);
            for contact in contacts.iter().filter(|contact| contact.share > from && contact.share <= to) {
                if crossed == 1 && contact.kind == ContactKind::Crosses {
                    // drawn eastward, north is left
                    let side = if before > 0.0 { Side::Left } else { Side::Right };
                    prop_assert_eq!(contact.from_side, Some(side));
                }
            }
        }
    }

    #[test]
    fn spans_near_agree_with_dense_sampling(
        tape in path(), heights in winding(), half_width in 0.5..60.0_f64,
    ) {
        #[expect(clippy::cast_precision_loss, reason = "a handful of points")]
        let course = Polyline::new(
            heights.iter().enumerate().map(|(index, y)| Point::new(index as f64 * 30.0 - 100.0, *y)).collect()
        ).unwrap();
        let spans = spans_near(&tape, &course, half_width);
        for index in 0..=500 {
            let share = f64::from(index) / 500.0;
            let inside = spans.iter().any(|span| span.holds(share));
            let distance = course.distance_mm(tape.at(share));
            if (distance - half_width).abs() > 0.002 {
                prop_assert_eq!(inside, distance < half_width, "at {}: {} {:?}", share, distance, spans);
            }
        }
    }
}

proptest! {
    #[test]
    fn a_point_is_as_far_from_a_stretch_as_from_the_line_of_that_leg(
        point in (-100.0..100.0_f64, -100.0..100.0_f64),
        from in (-100.0..100.0_f64, -100.0..100.0_f64),
        by in (1.0..100.0_f64, 0.0..std::f64::consts::TAU),
    ) {
        let [point, from] = [point, from].map(|(x, y)| Point::new(x, y));
        let to = Point::new(from.x + by.0 * libm::cos(by.1), from.y + by.0 * libm::sin(by.1));
        let leg = Polyline::new(vec![from, to]).unwrap();
        let off_mm = distance_point_stretch_mm(point, from, to);
        prop_assert!((off_mm - leg.distance_mm(point)).abs() < 1e-9);
        prop_assert_eq!(distance_point_stretch_mm(point, from, from), point.distance_to(from));
    }
}

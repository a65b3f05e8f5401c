//! Distance, its symmetry and its witnesses.

use proptest::prelude::*;

use super::footprint;
use crate::{
    EPS_MM, Footprint, Point, Vector, distance_point_footprint_mm, separation, separation_ahead,
    signed_distance_mm,
};

fn upright(x: f64, y: f64, frontage: f64, depth: f64) -> Footprint {
    Footprint {
        centre: Point::new(x, y),
        ahead: Vector::new(0.0, 1.0),
        half_frontage: frontage / 2.0,
        half_depth: depth / 2.0,
    }
}

#[test]
fn facing_edges_are_joined_at_the_middle_of_what_faces() {
    let between = separation(
        &upright(0.0, 0.0, 80.0, 40.0),
        &upright(30.0, 50.0, 40.0, 20.0),
    );
    assert!((between.distance_mm - 20.0).abs() < 1e-12);
    assert_eq!(between.normal, Vector::new(0.0, 1.0));
    assert!(between.on_first.distance_to(Point::new(25.0, 20.0)) < 1e-9);
    assert!(between.on_second.distance_to(Point::new(25.0, 40.0)) < 1e-9);
}

#[test]
fn touching_edges_have_the_edge_normal() {
    let touching = separation(
        &upright(0.0, 0.0, 80.0, 40.0),
        &upright(60.0, 5.0, 40.0, 20.0),
    );
    assert_eq!(touching.distance_mm, 0.0);
    assert_eq!(touching.normal, Vector::new(1.0, 0.0));
    assert!(touching.on_first.distance_to(Point::new(40.0, 5.0)) < 1e-9);
}

#[test]
fn overlap_is_the_least_way_out() {
    let depth = signed_distance_mm(
        &upright(0.0, 0.0, 80.0, 40.0),
        &upright(50.0, 0.0, 40.0, 20.0),
    );
    assert!((depth + 10.0).abs() < 1e-12);
}

#[test]
fn corner_to_corner_is_pythagoras() {
    let between = separation(
        &upright(0.0, 0.0, 20.0, 20.0),
        &upright(33.0, 44.0, 40.0, 40.0),
    );
    // corners (10,10) and (13,24): 3 and 14
    assert!((between.distance_mm - 205.0_f64.sqrt()).abs() < 1e-12);
    assert!(between.on_first.distance_to(Point::new(10.0, 10.0)) < 1e-12);
    assert!(between.on_second.distance_to(Point::new(13.0, 24.0)) < 1e-12);
}

#[test]
fn only_the_part_ahead_of_the_front_line_counts() {
    let obstacle = upright(0.0, 0.0, 40.0, 20.0);
    // beside, level and behind: nothing ahead
    assert_eq!(
        separation_ahead(&upright(60.0, 0.0, 40.0, 20.0), &obstacle),
        None
    );
    // beside, half of it ahead: nearest is on the line, 20 mm from the front corner
    let beside = separation_ahead(&upright(60.0, 10.0, 40.0, 20.0), &obstacle).unwrap();
    assert!((beside.distance_mm - 20.0).abs() < 1e-6);
    assert!(beside.on_second.distance_to(Point::new(20.0, 10.0)) < 1e-9);
    // straight ahead
    let ahead = separation_ahead(&upright(0.0, 50.0, 40.0, 20.0), &obstacle).unwrap();
    assert!((ahead.distance_mm - 30.0).abs() < 1e-12);
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(5_000))]

    #[test]
    fn distance_is_the_same_from_either_side(a in footprint(), b in footprint()) {
        prop_assert_eq!(signed_distance_mm(&a, &b), signed_distance_mm(&b, &a));
    }

    #[test]
    fn the_witnesses_stand_on_their_footprints_that_far_apart(a in footprint(), b in footprint()) {
        let found = separation(&a, &b);
        prop_assert!((found.normal.length() - 1.0).abs() < 1e-9);
        prop_assert!(distance_point_footprint_mm(found.on_first, &a) < 1e-9);
        prop_assert!(distance_point_footprint_mm(found.on_second, &b) < 1e-9);
        if found.distance_mm > 0.0 {
            let apart = found.on_second - found.on_first;
            prop_assert!((apart.length() - found.distance_mm).abs() < EPS_MM);
            prop_assert!((apart.dot(found.normal) - found.distance_mm).abs() < EPS_MM);
            // moving apart along the normal is the fastest way to gain distance
            let gained = signed_distance_mm(&a, &b.shifted(found.normal));
            prop_assert!((gained - found.distance_mm - 1.0).abs() < 1e-6);
        } else {
            // a shift by the depth parts them
            let parted = b.shifted(found.normal * (1e-9 - found.distance_mm));
            prop_assert!(signed_distance_mm(&a, &parted) >= 0.0);
        }
    }

    #[test]
    fn no_sampled_pair_of_points_is_nearer(
        a in footprint(), b in footprint(),
        u in -1.0..1.0_f64, v in -1.0..1.0_f64, s in -1.0..1.0_f64, t in -1.0..1.0_f64,
    ) {
        let p = a.at(u * a.half_frontage, v * a.half_depth);
        let q = b.at(s * b.half_frontage, t * b.half_depth);
        prop_assert!(p.distance_to(q) >= signed_distance_mm(&a, &b) - 1e-9);
        // the part ahead of b's front line, seen from b's front edge
        if b.local(p).1 > b.half_depth + EPS_MM {
            let front = b.at(s * b.half_frontage, b.half_depth);
            let ahead = separation_ahead(&a, &b);
            prop_assert!(ahead.is_some_and(|found| found.distance_mm <= p.distance_to(front) + 1e-9));
        }
    }
}

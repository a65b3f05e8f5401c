//! Distances of rectangles. Reference: crate `geo` 0.33, `Euclidean` distance of polygons.

use fieldpost_rules::geometry::{
    Footprint, Vector, distance_mm, distance_point_footprint_mm, separation, separation_ahead,
    signed_distance_mm,
};
use geo::{Distance, Euclidean};

use super::geometry_random::{CASES, Random, Worst, coord, geo_footprint};

fn compare(a: &Footprint, b: &Footprint, worst: &mut Worst, witnesses: &mut Worst) {
    let reference = Euclidean.distance(&geo_footprint(a), &geo_footprint(b));
    let ours = distance_mm(a, b);
    worst.take(ours - reference, || {
        format!("{a:?} {b:?}: {ours} {reference}")
    });
    let found = separation(a, b);
    assert_eq!(found.distance_mm, signed_distance_mm(b, a));
    if found.distance_mm > 0.0 {
        let apart = found.on_first.distance_to(found.on_second);
        witnesses.take(apart - reference, || format!("witnesses of {a:?} {b:?}"));
    }
}

#[test]
fn random_rectangles() {
    let mut random = Random::seeded(1);
    let mut worst = Worst::default();
    let mut witnesses = Worst::default();
    for _ in 0..CASES {
        let (a, b) = (random.footprint(150.0), random.footprint(150.0));
        compare(&a, &b, &mut worst, &mut witnesses);
    }
    worst.report("distance, random rectangles");
    witnesses.report("between their nearest places");
}

/// Edges that touch or face each other, exactly or within a few quanta of place and bearing.
#[test]
fn touching_and_nearly_parallel_edges() {
    let mut random = Random::seeded(2);
    let mut worst = Worst::default();
    let mut witnesses = Worst::default();
    for _ in 0..CASES {
        let a = random.footprint(150.0);
        let gap = [0.0, 1e-6, 5e-4, 0.001, 0.5, 20.0][random.below(6) as usize];
        let lean = f64::from(random.below(5)) * 1e-6 - 2e-6;
        let quarter = f64::from(random.below(4)) * std::f64::consts::FRAC_PI_2;
        let mut b = random.footprint(0.0);
        b.ahead = a.ahead.turned(quarter + lean.to_radians());
        let half = b.right().dot(a.ahead).abs() * b.half_frontage
            + b.ahead.dot(a.ahead).abs() * b.half_depth;
        b.centre = a.at(random.between(-150.0, 150.0), a.half_depth + half + gap);
        compare(&a, &b, &mut worst, &mut witnesses);
    }
    worst.report("distance, touching and nearly parallel edges");
    witnesses.report("between their nearest places");
}

#[test]
fn points_and_the_part_ahead() {
    let mut random = Random::seeded(3);
    let mut worst = Worst::default();
    for _ in 0..CASES {
        let (a, b) = (random.footprint(100.0), random.footprint(100.0));
        let point = random.point(200.0);
        let reference = Euclidean.distance(&geo::Point(coord(point)), &geo_footprint(&a));
        let ours = distance_point_footprint_mm(point, &a);
        worst.take(ours - reference, || format!("{point:?} {a:?}"));
        // a footprint wholly ahead of the front line is measured to the front edge
        let lowest = a
            .corners()
            .map(|corner| b.local(corner).1 - b.half_depth)
            .into_iter()
            .fold(f64::INFINITY, f64::min);
        let Some(ahead) = separation_ahead(&a, &b) else {
            let highest = a
                .corners()
                .map(|corner| b.local(corner).1 - b.half_depth)
                .into_iter()
                .fold(f64::NEG_INFINITY, f64::max);
            assert!(highest < 0.002, "{a:?} {b:?}");
            continue;
        };
        if lowest > 0.001 {
            let front = geo::Line::new(coord(b.front_left()), coord(b.front_right()));
            let reference = Euclidean.distance(&front, &geo_footprint(&a));
            worst.take(ahead.distance_mm - reference, || {
                format!("ahead: {a:?} {b:?}")
            });
        } else {
            // otherwise the part is cut off by a wide box, with geo's own clipping
            worst.take(ahead.distance_mm - cut_off(&a, &b), || {
                format!("cut off: {a:?} {b:?}")
            });
        }
    }
    worst.report("distance of points, and to the part ahead");
}

/// The distance to the part ahead by `geo`'s intersection with a box ahead of the line.
fn cut_off(a: &Footprint, b: &Footprint) -> f64 {
    use geo::BooleanOps;
    let ahead = Footprint {
        centre: b.at(0.0, b.half_depth + 1000.0 + 0.001),
        ahead: Vector::new(b.ahead.x, b.ahead.y),
        half_frontage: 2000.0,
        half_depth: 1000.0,
    };
    let front = geo::Line::new(coord(b.front_left()), coord(b.front_right()));
    geo_footprint(a)
        .intersection(&geo_footprint(&ahead))
        .iter()
        .map(|part| Euclidean.distance(&front, part))
        .fold(f64::INFINITY, f64::min)
}

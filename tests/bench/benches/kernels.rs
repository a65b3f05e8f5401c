//! Distances and sweeps, in nanoseconds, beside general libraries on the same pairs: the crate geo for
//! distances, the crate parry2d-f64 for distances and straight and turning casts.

use std::hint::black_box;

use criterion::{Criterion, criterion_group, criterion_main};
use fieldpost_commander::Chance;
use fieldpost_rules::geometry::{
    Block, Footprint, Motion, Path, Placement, Point, Polygon, Vector, separation,
    signed_distance_mm, spans_inside, spans_within,
};
use geo::{BooleanOps, Distance, Euclidean, Length};
use parry2d_f64::math::{Pose, Vector as Arrow};
use parry2d_f64::query::{self, NonlinearRigidMotion, ShapeCastOptions};
use parry2d_f64::shape::Cuboid;

const PAIRS: usize = 512;

/// A pair of rectangles near each other, with the first one's motion.
struct Pair {
    moving: Footprint,
    standing: Footprint,
    by: Vector,
    clockwise_rad: f64,
}

fn pairs() -> Vec<Pair> {
    let mut chance = Chance::new(42);
    let mut footprint = |spread_mm: f64| {
        let anchor = Point::new(chance.share() * spread_mm, chance.share() * spread_mm);
        let ahead = Vector::along_bearing(chance.share() * std::f64::consts::TAU);
        let block = Block {
            frontage_mm: 40.0 + 120.0 * chance.share(),
            depth_mm: 20.0 + 40.0 * chance.share(),
        };
        (
            Footprint::new(&Placement { anchor, ahead }, block),
            chance.share(),
        )
    };
    (0..PAIRS)
        .map(|_| {
            let (moving, turn) = footprint(50.0);
            let (standing, _) = footprint(400.0);
            let by = (standing.centre - moving.centre) * 1.2;
            Pair {
                moving,
                standing,
                by,
                clockwise_rad: (turn - 0.5) * 3.0,
            }
        })
        .collect()
}

fn parry(footprint: &Footprint) -> (Cuboid, Pose) {
    let turned = -footprint.ahead.bearing_rad();
    let place = Pose::new(Arrow::new(footprint.centre.x, footprint.centre.y), turned);
    (
        Cuboid::new(Arrow::new(footprint.half_frontage, footprint.half_depth)),
        place,
    )
}

fn outline(footprint: &Footprint) -> geo::Polygon {
    let corners = footprint.corners().map(|corner| (corner.x, corner.y));
    geo::Polygon::new(corners.to_vec().into(), vec![])
}

fn distances(criterion: &mut Criterion) {
    let pairs = pairs();
    let mut group = criterion.benchmark_group(format!("distance of {PAIRS} pairs"));
    group.bench_function("ours, signed", |b| {
        b.iter(|| {
            pairs
                .iter()
                .map(|p| signed_distance_mm(&p.moving, &p.standing))
                .sum::<f64>()
        });
    });
    group.bench_function("ours, with nearest places", |b| {
        b.iter(|| {
            pairs
                .iter()
                .map(|p| separation(&p.moving, &p.standing).distance_mm)
                .sum::<f64>()
        });
    });
    let theirs: Vec<_> = pairs
        .iter()
        .map(|p| (parry(&p.moving), parry(&p.standing)))
        .collect();
    group.bench_function("parry", |b| {
        b.iter(|| {
            let distance = |((a, at_a), (c, at_c)): &((Cuboid, Pose), (Cuboid, Pose))| {
                query::distance(at_a, a, at_c, c).map_or(0.0, |found| found.distance)
            };
            theirs.iter().map(distance).sum::<f64>()
        });
    });
    let polygons: Vec<_> = pairs
        .iter()
        .map(|p| (outline(&p.moving), outline(&p.standing)))
        .collect();
    group.bench_function("geo", |b| {
        b.iter(|| {
            polygons
                .iter()
                .map(|(a, c)| Euclidean.distance(a, c))
                .sum::<f64>()
        });
    });
    group.finish();
}

fn sweeps(criterion: &mut Criterion) {
    let pairs = pairs();
    let mut group = criterion.benchmark_group(format!("first contact of {PAIRS} pairs"));
    group.bench_function("ours, straight", |b| {
        b.iter(|| {
            let hit = |p: &&Pair| {
                !spans_within(&p.moving, &Motion::Straight { by: p.by }, &p.standing, 20.0)
                    .is_empty()
            };
            pairs.iter().filter(hit).count()
        });
    });
    group.bench_function("ours, turning", |b| {
        b.iter(|| {
            let hit = |p: &&Pair| {
                let motion = Motion::Turn {
                    pivot: p.moving.front_left(),
                    clockwise_rad: p.clockwise_rad,
                };
                !spans_within(&p.moving, &motion, &p.standing, 20.0).is_empty()
            };
            pairs.iter().filter(hit).count()
        });
    });
    let theirs: Vec<_> = pairs
        .iter()
        .map(|p| (parry(&p.moving), parry(&p.standing), p))
        .collect();
    let options = ShapeCastOptions {
        target_distance: 20.0,
        max_time_of_impact: 1.0,
        ..ShapeCastOptions::default()
    };
    group.bench_function("parry, straight", |b| {
        b.iter(|| {
            let hit = |((a, at_a), (c, at_c), p): &&((Cuboid, Pose), (Cuboid, Pose), &Pair)| {
                let by = Arrow::new(p.by.x, p.by.y);
                query::cast_shapes(at_a, by, a, at_c, Arrow::ZERO, c, options)
                    .ok()
                    .flatten()
                    .is_some()
            };
            theirs.iter().filter(hit).count()
        });
    });
    group.bench_function("parry, turning (contact only)", |b| {
        b.iter(|| {
            let hit = |((a, at_a), (c, at_c), p): &&((Cuboid, Pose), (Cuboid, Pose), &Pair)| {
                let pivot = Arrow::new(-p.moving.half_frontage, p.moving.half_depth);
                let turning =
                    NonlinearRigidMotion::new(*at_a, pivot, Arrow::ZERO, -p.clockwise_rad);
                let standing = NonlinearRigidMotion::constant_position(*at_c);
                query::cast_shapes_nonlinear(&turning, a, &standing, c, 0.0, 1.0, true)
                    .ok()
                    .flatten()
                    .is_some()
            };
            theirs.iter().filter(hit).count()
        });
    });
    group.finish();
}

fn cuts(criterion: &mut Criterion) {
    let corners: Vec<Point> = [
        (40.0, 0.0),
        (150.0, 10.0),
        (180.0, 60.0),
        (110.0, 40.0),
        (60.0, 80.0),
        (20.0, 50.0),
    ]
    .map(|(x, y)| Point::new(x, y))
    .to_vec();
    let theirs = geo::Polygon::new(
        corners
            .iter()
            .map(|c| (c.x, c.y))
            .collect::<Vec<_>>()
            .into(),
        vec![],
    );
    let ours = Polygon::new(corners, Vec::new()).expect("a good outline");
    let mut chance = Chance::new(7);
    let mut point = || Point::new(200.0 * chance.share(), 90.0 * chance.share());
    let tapes: Vec<(Point, Point)> = (0..PAIRS).map(|_| (point(), point())).collect();
    let mut group = criterion.benchmark_group(format!("{PAIRS} tapes cut by a patch"));
    group.bench_function("ours", |b| {
        b.iter(|| {
            let inside = |&(from, to): &(Point, Point)| -> f64 {
                let spans = spans_inside(&Path::Straight { from, to }, black_box(&ours));
                spans.iter().map(|span| span.to - span.from).sum::<f64>() * from.distance_to(to)
            };
            tapes.iter().map(inside).sum::<f64>()
        });
    });
    group.bench_function("geo", |b| {
        b.iter(|| {
            let inside = |(from, to): &(Point, Point)| {
                let line = geo::LineString::from(vec![(from.x, from.y), (to.x, to.y)]);
                let cut = theirs.clip(&geo::MultiLineString::new(vec![line]), false);
                Euclidean.length(&cut)
            };
            tapes.iter().map(inside).sum::<f64>()
        });
    });
    group.finish();
}

criterion_group!(benches, distances, sweeps, cuts);
criterion_main!(benches);

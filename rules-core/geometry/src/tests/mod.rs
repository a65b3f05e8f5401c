//! Properties of the kernels, each judged by dense sampling of the plain measurement.

mod distances;
mod extremes;
mod lines;
mod patches;
mod sweeps;
mod tables;

use proptest::prelude::*;

use super::{Footprint, Motion, Path, Point, Polygon, Span, Vector};

/// How far a sampled value must be from the limit before a sample counts as evidence.
const BAND_MM: f64 = 1e-6;

fn footprint() -> impl Strategy<Value = Footprint> {
    (
        -150.0..150.0_f64,
        -150.0..150.0_f64,
        bearing(),
        2.0..60.0_f64,
        2.0..40.0_f64,
    )
        .prop_map(|(x, y, bearing_deg, half_frontage, half_depth)| Footprint {
            centre: Point::new(x, y),
            ahead: Vector::along_bearing(bearing_deg.to_radians()),
            half_frontage,
            half_depth,
        })
}

/// Any bearing, and often one that makes edges parallel.
fn bearing() -> impl Strategy<Value = f64> {
    prop_oneof![
        2 => 0.0..360.0_f64,
        1 => (0_u8..24).prop_map(|step| f64::from(step) * 15.0),
    ]
}

fn straight() -> impl Strategy<Value = Motion> {
    (-300.0..300.0_f64, -300.0..300.0_f64).prop_map(|(x, y)| Motion::Straight {
        by: Vector::new(x, y),
    })
}

/// A turn about a corner, the centre, the anchor or any place, up to a full turn either way.
fn turn(of: Footprint) -> impl Strategy<Value = Motion> {
    let corners = of.corners();
    let pivot = prop_oneof![
        (0_usize..4).prop_map(move |index| corners[index]),
        Just(of.centre),
        Just(of.anchor()),
        (-200.0..200.0_f64, -200.0..200.0_f64).prop_map(|(x, y)| Point::new(x, y)),
    ];
    (pivot, -std::f64::consts::TAU..=std::f64::consts::TAU).prop_map(|(pivot, clockwise_rad)| {
        Motion::Turn {
            pivot,
            clockwise_rad,
        }
    })
}

fn moved() -> impl Strategy<Value = (Footprint, Motion)> {
    footprint().prop_flat_map(|start| {
        (
            Just(start),
            prop_oneof![straight().boxed(), turn(start).boxed()],
        )
    })
}

/// Every sample of `value` clearly below `limit` lies in a span, every one clearly above in none.
fn agrees_with_samples(
    spans: &[Span],
    samples: u32,
    limit: f64,
    value: impl Fn(f64) -> f64,
) -> Result<(), TestCaseError> {
    for pair in spans.windows(2) {
        prop_assert!(
            pair[0].to < pair[1].from,
            "not sorted and disjoint: {spans:?}"
        );
    }
    for index in 0..=samples {
        let share = f64::from(index) / f64::from(samples);
        let measured = value(share);
        let inside = spans.iter().any(|span| span.holds(share));
        if measured < limit - BAND_MM {
            prop_assert!(inside, "missed at {share}: {measured} < {limit}, {spans:?}");
        } else if measured > limit + BAND_MM {
            prop_assert!(!inside, "false at {share}: {measured} > {limit}, {spans:?}");
        }
    }
    for span in spans {
        prop_assert!(
            value(span.middle()) < limit + BAND_MM,
            "false middle of {span:?}"
        );
        for (end, bound) in [(span.from, 0.0), (span.to, 1.0)] {
            if (end - bound).abs() > 1e-9 {
                let measured = value(end);
                prop_assert!(
                    (measured - limit).abs() < BAND_MM,
                    "end {end} of {span:?} measures {measured}, limit {limit}"
                );
            }
        }
    }
    Ok(())
}

/// A star-shaped patch about a centre, seldom convex, often with a star-shaped hole.
fn patch() -> impl Strategy<Value = Polygon> {
    (
        -100.0..100.0_f64,
        -100.0..100.0_f64,
        prop::collection::vec(0.25..1.0_f64, 3..12),
        20.0..150.0_f64,
        any::<bool>(),
    )
        .prop_filter_map("rings must be sound", |(x, y, radii, size, holed)| {
            let ring = |scale: f64| -> Vec<Point> {
                let count = radii.len();
                radii
                    .iter()
                    .enumerate()
                    .map(|(index, radius)| {
                        #[expect(clippy::cast_precision_loss, reason = "a dozen corners")]
                        let angle = index as f64 / count as f64 * std::f64::consts::TAU;
                        Point::new(x, y) + Vector::along_bearing(angle) * (radius * scale)
                    })
                    .collect()
            };
            let holes = if holed {
                vec![ring(size * 0.4)]
            } else {
                Vec::new()
            };
            Polygon::new(ring(size), holes).ok()
        })
}

fn path() -> impl Strategy<Value = Path> {
    let place = || (-200.0..200.0_f64, -200.0..200.0_f64).prop_map(|(x, y)| Point::new(x, y));
    prop_oneof![
        (place(), place()).prop_map(|(from, to)| Path::Straight { from, to }),
        (
            place(),
            place(),
            -std::f64::consts::TAU..=std::f64::consts::TAU
        )
            .prop_map(|(centre, from, clockwise_rad)| Path::Arc {
                centre,
                from,
                clockwise_rad,
            }),
    ]
}

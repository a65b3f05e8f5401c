//! Sweeps over patches. Reference: crate `geo` 0.33, `intersects` of polygons at random shares.

use fieldpost_rules::geometry::{Footprint, overlap_depth_mm, spans_over};
use geo::Intersects;

use super::geometry_random::{CASES, Random, Worst, geo_footprint, geo_polygon};

/// The band in which touching and overlapping are the same.
const BAND_MM: f64 = 0.003;

fn shrunk(footprint: &Footprint) -> Footprint {
    Footprint {
        half_frontage: footprint.half_frontage - BAND_MM,
        half_depth: footprint.half_depth - BAND_MM,
        ..*footprint
    }
}

#[test]
fn footprints_over_patches() {
    let mut random = Random::seeded(41);
    let mut worst = Worst::default();
    let mut polygon = random.patch();
    let mut reference = geo_polygon(&polygon);
    for case in 0..CASES {
        if case % 20 == 0 {
            polygon = random.patch();
            reference = geo_polygon(&polygon);
        }
        let moving = random.footprint(200.0);
        let motion = if random.below(2) == 0 {
            random.straight()
        } else {
            random.turn(&moving)
        };
        let spans = spans_over(&moving, &motion, &polygon);
        let shown = || format!("{moving:?} {motion:?} {polygon:?}: {spans:?}");
        for span in &spans {
            for end in [span.from, span.to] {
                if end > 0.0 && end < 1.0 {
                    let there = motion.footprint_at(&moving, end);
                    worst.take(overlap_depth_mm(&there, &polygon), shown);
                }
            }
        }
        for index in 0..4 {
            let share = if index == 0 {
                0.0
            } else {
                random.between(0.0, 1.0)
            };
            let there = motion.footprint_at(&moving, share);
            let inside = spans.iter().any(|span| span.holds(share));
            if inside {
                assert!(
                    reference.intersects(&geo_footprint(&there)),
                    "false at {share}: {}",
                    shown()
                );
            } else {
                assert!(
                    !reference.intersects(&geo_footprint(&shrunk(&there))),
                    "missed at {share}: {}",
                    shown()
                );
            }
            let depth = overlap_depth_mm(&there, &polygon);
            assert!(
                (depth > 0.001) == inside || (depth - 0.001).abs() < 1e-6,
                "{share}: {}",
                shown()
            );
        }
    }
    worst.report("footprint over a patch");
}

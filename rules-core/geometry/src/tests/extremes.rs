//! Any numbers at all: an answer may be worthless, but there is one.

use proptest::prelude::*;

use crate::{
    Footprint, Motion, Path, Point, Polygon, Polyline, Table, Vector, crossings, footprint_astride,
    least, overlap_depth_mm, separation, separation_ahead, spans_inside, spans_near, spans_over,
    spans_within, spans_within_ahead,
};

/// Every kind of float, and often an everyday one.
fn number() -> impl Strategy<Value = f64> {
    prop_oneof![
        2 => -200.0..200.0_f64,
        1 => prop::num::f64::ANY,
        1 => prop::sample::select(vec![0.0, -0.0, 1e17, -1e300, f64::NAN, f64::INFINITY]),
    ]
}

fn point() -> impl Strategy<Value = Point> {
    (number(), number()).prop_map(|(x, y)| Point::new(x, y))
}

fn footprint() -> impl Strategy<Value = Footprint> {
    (point(), point(), number(), number()).prop_map(|(centre, ahead, wide, deep)| Footprint {
        centre,
        ahead: Vector::new(ahead.x, ahead.y),
        half_frontage: wide,
        half_depth: deep,
    })
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(3_000))]

    #[test]
    fn nothing_panics_or_hangs(
        a in footprint(), b in footprint(), by in point(), pivot in point(), angle in number(),
        reach in number(), ring in prop::collection::vec(point(), 0..7),
    ) {
        let polygon = Polygon::new(ring.clone(), Vec::new());
        let line = Polyline::new(ring);
        let table = Table { width_mm: by.x, depth_mm: by.y };
        let _ = separation(&a, &b);
        let _ = separation_ahead(&a, &b);
        for motion in [
            Motion::Straight { by: Vector::new(by.x, by.y) },
            Motion::Turn { pivot, clockwise_rad: angle },
        ] {
            let _ = spans_within(&a, &motion, &b, reach);
            let _ = spans_within_ahead(&a, &motion, &b, reach);
            let _ = table.spans_off(&a, &motion, reach);
            let _ = least(|share| table.margin_mm(&motion.footprint_at(&a, share)), 0.0, 1.0);
            let path: Path = motion.track_of(by);
            if let Ok(polygon) = &polygon {
                let _ = spans_over(&a, &motion, polygon);
                let _ = overlap_depth_mm(&a, polygon);
                let _ = spans_inside(&path, polygon);
                let _ = polygon.label_point();
            }
            if let Ok(line) = &line {
                let _ = crossings(&path, line);
                let _ = spans_near(&path, line, reach);
                let _ = footprint_astride(&a, line);
            }
        }
    }
}

//! Going off the table, against dense sampling.

use proptest::prelude::*;

use super::{agrees_with_samples, moved};
use crate::{Footprint, Motion, Point, Table, Vector};

#[test]
fn a_march_off_the_north_edge_is_off_from_the_edge() {
    let table = Table {
        width_mm: 1000.0,
        depth_mm: 600.0,
    };
    let start = Footprint {
        centre: Point::new(500.0, 550.0),
        ahead: Vector::new(0.0, 1.0),
        half_frontage: 40.0,
        half_depth: 20.0,
    };
    assert!((table.margin_mm(&start) - 30.0).abs() < 1e-12);
    let motion = Motion::Straight {
        by: Vector::new(0.0, 100.0),
    };
    let spans = table.spans_off(&start, &motion, 0.5);
    assert_eq!(spans.len(), 1);
    assert!((spans[0].from - 0.305).abs() < 1e-12 && spans[0].to == 1.0);
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(1_000))]

    #[test]
    fn spans_off_agree_with_dense_sampling(
        (start, motion) in moved(),
        width_mm in 50.0..200.0_f64,
        depth_mm in 50.0..200.0_f64,
        beyond in prop_oneof![Just(0.0), Just(0.001), 0.0..20.0_f64],
    ) {
        let table = Table { width_mm, depth_mm };
        let spans = table.spans_off(&start, &motion, beyond);
        agrees_with_samples(&spans, 400, -beyond, |share| {
            table.margin_mm(&motion.footprint_at(&start, share))
        })?;
    }

    #[test]
    fn a_straight_way_leaves_the_table_where_its_first_span_off_begins(
        (start, motion) in moved(),
        width_mm in 50.0..200.0_f64,
        depth_mm in 50.0..200.0_f64,
        beyond in prop_oneof![Just(0.001), 0.0..20.0_f64],
    ) {
        let table = Table { width_mm, depth_mm };
        let Motion::Straight { by } = motion else { return Ok(()) };
        prop_assume!(table.margin_mm(&start) > -beyond);
        let first = table.spans_off(&start, &motion, beyond).first().map(|span| span.from);
        let leaves = table.leaves_at(&start, by, beyond);
        prop_assert_eq!(first.is_some(), leaves.is_some());
        for (first, leaves) in first.into_iter().zip(leaves) {
            prop_assert!((first - leaves).abs() < 1e-9, "{first} {leaves}");
        }
    }
}

//! Names stand beside the units that they name, and nothing runs through them.

use crate::sample;
use crate::svg::{Clashes, SvgOptions, clashes};

proptest::proptest! {
    #![proptest_config(proptest::prelude::ProptestConfig::with_cases(40))]

    /// Wherever units stand, crowded or not, no name stands where it could be taken for another unit's.
    #[test]
    fn no_name_stands_beside_another_unit(
        places in proptest::collection::vec((240.0..960.0_f64, 240.0..760.0_f64, 0.0..360.0_f64), 17)
    ) {
        let mut scenario = sample::scenario();
        let standing = scenario.unit.iter_mut().filter(|unit| unit.at.is_some());
        for (unit, (x, y, bearing)) in standing.zip(places) {
            unit.at = Some([x, y, bearing]);
        }
        let found = clashes(&sample::open(scenario), &SvgOptions::default());
        proptest::prop_assert_eq!(found.names_beside_others, 0);
    }
}

#[test]
fn no_line_runs_through_a_name_where_there_is_room() {
    assert_eq!(
        clashes(&sample::game(), &SvgOptions::default()),
        Clashes::default()
    );
}

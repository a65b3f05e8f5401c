//! Ties: what counts as equally far, and who comes first of equals.
//!
//! Distances between stored poses are only as exact as storing, and a table seen in a mirror differs in
//! the last bit. So two distances are equal when they differ by no more than storing can do
//! ([`TOUCH_MM`]), and of equals the first named comes first.

use crate::geometry::TOUCH_MM;

/// The nearest of some offers, the first named of equals.
pub(super) fn first_nearest<T>(offers: Vec<(f64, T)>) -> Option<(f64, T)> {
    let least = offers
        .iter()
        .map(|(distance_mm, _)| *distance_mm)
        .reduce(crate::geometry::smaller)?;
    offers
        .into_iter()
        .find(|(distance_mm, _)| *distance_mm <= least + TOUCH_MM)
}

/// Some things by how far they are, the farthest first, the first named of equals.
pub(super) fn farthest_first<T>(mut things: Vec<(f64, T)>) -> Vec<T> {
    let mut sorted = Vec::with_capacity(things.len());
    while let Some(most) = things
        .iter()
        .map(|(distance_mm, _)| *distance_mm)
        .reduce(crate::geometry::larger)
    {
        let first = things
            .iter()
            .position(|(distance_mm, _)| *distance_mm >= most - TOUCH_MM)
            .unwrap_or(0);
        sorted.push(things.remove(first).1);
    }
    sorted
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn of_equals_the_first_named() {
        let offers = vec![(5.0, 'a'), (3.000_000_1, 'b'), (3.0, 'c'), (3.01, 'd')];
        assert_eq!(first_nearest(offers.clone()), Some((3.000_000_1, 'b')));
        assert_eq!(farthest_first(offers), ['a', 'd', 'b', 'c']);
        assert_eq!(first_nearest::<char>(vec![]), None);
    }
}

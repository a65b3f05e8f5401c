//! All units of a battle, sorted by id and side by side in memory, so that going through them all is quick.

use std::collections::BTreeMap;

use super::Unit;
use crate::orders::UnitId;

/// The units of both orders of battle. Nobody joins or leaves it.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Muster(Vec<Unit>);

impl Muster {
    pub(super) fn get(&self, id: &UnitId) -> Option<&Unit> {
        self.place(id).map(|place| &self.0[place])
    }

    pub(super) fn get_mut(&mut self, id: &UnitId) -> Option<&mut Unit> {
        self.place(id).map(|place| &mut self.0[place])
    }

    pub(super) fn values(&self) -> impl Iterator<Item = &Unit> {
        self.0.iter()
    }

    pub(super) fn values_mut(&mut self) -> impl Iterator<Item = &mut Unit> {
        self.0.iter_mut()
    }

    fn place(&self, id: &UnitId) -> Option<usize> {
        self.0.binary_search_by(|unit| unit.id.cmp(id)).ok()
    }
}

impl FromIterator<Unit> for Muster {
    /// Of units with the same id, which a checked scenario never has, the last is kept.
    fn from_iter<I: IntoIterator<Item = Unit>>(units: I) -> Self {
        let by_id: BTreeMap<UnitId, Unit> = units
            .into_iter()
            .map(|unit| (unit.id.clone(), unit))
            .collect();
        Self(by_id.into_values().collect())
    }
}

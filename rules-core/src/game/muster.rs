//! All units of a battle, sorted by id and side by side in memory, so that going through them all is quick.

use std::collections::BTreeMap;

use super::Unit;
use crate::geometry::Footprint;
use crate::orders::UnitId;

/// The units of both orders of battle. Nobody joins or leaves it.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Muster(Vec<Unit>);

impl Muster {
    pub(super) fn get(&self, id: &UnitId) -> Option<&Unit> {
        self.place(id).map(|place| &self.0[place])
    }

    /// Changes a unit, if there is one, and keeps the ground that it then covers.
    pub(super) fn change(&mut self, id: &UnitId, change: impl FnOnce(&mut Unit)) {
        if let Some(place) = self.place(id) {
            change(&mut self.0[place]);
            self.0[place].keep_ground();
        }
    }

    /// Changes every unit, and keeps the ground that each then covers.
    pub(super) fn change_all(&mut self, change: impl Fn(&mut Unit)) {
        for unit in &mut self.0 {
            change(unit);
            unit.keep_ground();
        }
    }

    pub(super) fn values(&self) -> impl Iterator<Item = &Unit> {
        self.0.iter()
    }

    /// Those on the table, each with the ground that it covers.
    pub(super) fn grounds(&self) -> impl Iterator<Item = (&Unit, &Footprint)> {
        self.0
            .iter()
            .filter_map(|unit| Some((unit, unit.kept_ground()?)))
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

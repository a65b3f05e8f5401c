//! The price of getting farther from an enemy in whose halt zone a move began (laws of measurement, §5).

use crate::geometry::{Footprint, Motion, distance_mm, gaps, spans_within};

use super::slack::{ARITHMETIC_MM, STORED_MM};

/// What one unit pays for getting farther, once a move.
#[derive(Debug, Clone, Default)]
pub(super) struct Exit {
    /// Enemies in whose halt zone it began its move, each with the distance then; none once it has paid, or where
    /// leaving is free or forbidden.
    held: Vec<(Footprint, f64)>,
    charge_mm: f64,
}

/// When the price is due during a motion.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Due {
    /// The share at which the unit is farther by more than storing a pose can do.
    pub(super) share: f64,
    /// The last share before it at which nothing is due.
    pub(super) last: f64,
    pub(super) charge_mm: f64,
}

impl Exit {
    /// The price for a unit that began there, in the halt zones of these enemies.
    pub(super) fn of(began: &Footprint, enemies: Vec<Footprint>, charge_mm: f64) -> Self {
        let held = enemies
            .into_iter()
            .map(|enemy| (enemy, distance_mm(began, &enemy)))
            .collect();
        Self { held, charge_mm }
    }

    /// When it is due during a motion that sweeps, if it is.
    pub(super) fn due(&self, moving: &Footprint, motion: &Motion) -> Option<Due> {
        let first = |(enemy, began_mm): &(Footprint, f64)| {
            let near = spans_within(moving, motion, enemy, began_mm + STORED_MM);
            let share = gaps(&near).first()?.from;
            let free = spans_within(moving, motion, enemy, began_mm + STORED_MM - ARITHMETIC_MM);
            let last = free
                .iter()
                .take_while(|span| span.from < share)
                .last()
                .map_or(0.0, |span| span.to);
            Some(Due {
                share,
                last,
                charge_mm: self.charge_mm,
            })
        };
        let dues = self.held.iter().filter_map(first);
        dues.reduce(|one, other| if other.share < one.share { other } else { one })
    }

    /// What a unit pays that was set down there by a leg that lifts.
    pub(super) fn due_at(&self, end: &Footprint) -> f64 {
        let is_farther = self
            .held
            .iter()
            .any(|(enemy, began_mm)| distance_mm(end, enemy) > began_mm + STORED_MM);
        if is_farther { self.charge_mm } else { 0.0 }
    }

    /// It has been paid.
    pub(super) fn pay(&mut self) {
        self.held.clear();
    }

    /// Whether anything can still be due.
    pub(super) fn may_be_due(&self) -> bool {
        !self.held.is_empty()
    }
}

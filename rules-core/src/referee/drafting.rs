//! A turn sheet in the making: orders are offered one at a time, and only those that stand stay.

use std::collections::BTreeMap;

use crate::game::Game;
use crate::orders::{Order, TurnSheet, UnitId};
use crate::verdict::{BattleVerdict, Code, Reason, Ruling};

use super::attacks;
use super::remedies::Sought;
use super::turn::Judging;

/// A turn sheet for the side to move, all of whose orders would be accepted.
#[derive(Debug, Clone)]
pub struct Drafting {
    judging: Judging,
    sheet: TurnSheet,
    refused: BTreeMap<Code, u32>,
}

impl Drafting {
    /// An empty sheet for the player turn being played.
    #[must_use]
    pub fn begin(game: &Game) -> Self {
        let mut judging = Judging::begin(game);
        judging.remedies = Sought::Nothing;
        Self {
            judging,
            sheet: TurnSheet {
                game_turn: game.game_turn(),
                side: game.player_side(),
                orders: Vec::new(),
            },
            refused: BTreeMap::new(),
        }
    }

    /// The table as the orders so far would leave it.
    #[must_use]
    pub fn table(&self) -> &Game {
        &self.judging.table
    }

    /// The orders so far.
    #[must_use]
    pub fn orders(&self) -> &[Order] {
        &self.sheet.orders
    }

    /// How many offers were refused so far, each under its headline.
    #[must_use]
    pub fn refused(&self) -> &BTreeMap<Code, u32> {
        &self.refused
    }

    /// Takes an order for a move, an arrival, a withdrawal or a departure if it would stand after those
    /// taken before, and says whether it did. Battles are for [`Self::offer_battle`].
    pub fn offer(&mut self, order: Order) -> bool {
        let before = self.judging.mark(&order);
        self.judging.order(self.sheet.orders.len(), &order);
        if let Some(code) = headline(self.judging.reasons_since(&before)) {
            *self.refused.entry(code).or_default() += 1;
            self.judging.undo(before);
            return false;
        }
        self.sheet.orders.push(order);
        true
    }

    /// Adds the battles that must be fought after the moves so far. `false` when no declaration that
    /// is looked for would be accepted; nothing is added then.
    pub fn declare(&mut self) -> bool {
        let Some(battles) = attacks::completion(self.table(), &self.sheet) else {
            return false;
        };
        self.sheet
            .orders
            .retain(|order| !matches!(order, Order::Battle { .. } | Order::Fire { .. }));
        self.sheet.orders.extend(battles);
        true
    }

    /// What would be said of a battle or of gun fire beside those taken before; `None` when it, or one of
    /// those because of it, would be refused.
    #[must_use]
    pub fn preview(&self, order: &Order) -> Option<BattleVerdict> {
        let mut tried = self.sheet.clone();
        tried.orders.push(order.clone());
        self.judged(&tried).ok()?.pop()
    }

    /// Takes a battle or gun fire if it would stand beside those taken before, and says whether it did.
    pub fn offer_battle(&mut self, order: Order) -> bool {
        let mut tried = self.sheet.clone();
        tried.orders.push(order);
        self.take(tried)
    }

    /// Lets guns bombard in the battle at a place among the orders so far, if that would stand, and says
    /// whether it did.
    pub fn join_guns(&mut self, battle: usize, gun: &UnitId) -> bool {
        let mut tried = self.sheet.clone();
        let Some(Order::Battle { guns, .. }) = tried.orders.get_mut(battle) else {
            return false;
        };
        guns.push(gun.clone());
        self.take(tried)
    }

    fn take(&mut self, tried: TurnSheet) -> bool {
        match self.judged(&tried) {
            Ok(_) => {
                self.sheet = tried;
                true
            }
            Err(code) => {
                *self.refused.entry(code).or_default() += 1;
                false
            }
        }
    }

    /// The verdicts on a sheet's battles, or the headline of the first refusal.
    fn judged(&self, tried: &TurnSheet) -> Result<Vec<BattleVerdict>, Code> {
        let (verdicts, _) = attacks::judge(self.table(), tried);
        match headline(verdicts.iter().flat_map(|battle| &battle.reasons)) {
            Some(code) => Err(code),
            None => Ok(verdicts),
        }
    }

    /// The sheet, if the referee would accept it as a whole.
    #[must_use]
    pub fn finish(mut self) -> Option<TurnSheet> {
        if self.table().ending().is_some() {
            return None;
        }
        // its moves were judged one after another as they were taken, as in a whole sheet
        self.judging.declare(&self.sheet);
        let (verdict, _) = self.judging.conclude();
        (verdict.verdict != Ruling::Refused).then_some(self.sheet)
    }
}

/// The code of the first refusal among reasons.
fn headline<'a>(reasons: impl IntoIterator<Item = &'a Reason>) -> Option<Code> {
    let refused = |reason: &&Reason| reason.ruling() == Ruling::Refused;
    reasons.into_iter().filter(refused).map(Reason::code).min()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::orders::{Extent, Leg};
    use crate::referee::testing::{game, pair, rules};

    #[test]
    fn refused_offers_are_counted_and_leave_nothing_behind() {
        let units = vec![
            pair("r1", "foot", (500.0, 500.0, 0.0)),
            pair("b1", "foot", (500.0, 1000.0, 180.0)),
        ];
        let game = game(rules(), units);
        let mut drafting = Drafting::begin(&game);
        let order = |distance_mm: f64| Order::Move {
            unit: UnitId::from("r1"),
            legs: vec![Leg::Forward {
                distance_mm: Extent::Exactly(distance_mm),
            }],
        };
        // foot has 120 mm
        assert!(!drafting.offer(order(130.0)) && !drafting.offer(order(140.0)));
        assert_eq!(
            drafting.refused(),
            &BTreeMap::from([(Code::OverAllowance, 2)])
        );
        assert!(drafting.offer(order(110.0)));
        assert_eq!(drafting.orders(), [order(110.0)]);
        let there = drafting
            .table()
            .unit(&UnitId::from("r1"))
            .and_then(|unit| unit.pose());
        assert_eq!(there.expect("it stands").y_mm(), 610.0);
    }
}

//! A turn sheet in the making: orders are offered one at a time, and only those that stand stay.

use crate::game::Game;
use crate::orders::{Order, TurnSheet};
use crate::verdict::Ruling;

use super::turn::Judging;
use super::{attacks, judge_sheet};

/// A turn sheet for the side to move, all of whose orders would be accepted.
#[derive(Debug, Clone)]
pub struct Drafting<'a> {
    game: &'a Game,
    judging: Judging,
    sheet: TurnSheet,
}

impl<'a> Drafting<'a> {
    /// An empty sheet for the player turn being played.
    #[must_use]
    pub fn begin(game: &'a Game) -> Self {
        let mut judging = Judging::begin(game);
        judging.with_remedies = false;
        Self {
            game,
            judging,
            sheet: TurnSheet {
                game_turn: game.game_turn(),
                side: game.player_side(),
                orders: Vec::new(),
            },
        }
    }

    /// The table as the orders so far would leave it.
    #[must_use]
    pub fn table(&self) -> &Game {
        &self.judging.table
    }

    /// Takes an order for a move, an arrival, a withdrawal or a departure if it would stand after those
    /// taken before, and says whether it did. Battles come with [`Self::finish`].
    pub fn offer(&mut self, order: Order) -> bool {
        let before = self.judging.clone();
        self.judging.order(self.sheet.orders.len(), &order);
        let judged = &self.judging.verdict;
        let refused = judged
            .all_reasons()
            .any(|reason| reason.ruling() == Ruling::Refused);
        if refused {
            self.judging = before;
            return false;
        }
        self.sheet.orders.push(order);
        true
    }

    /// The sheet with the battles that must be fought. `None` when no declaration that is looked for would
    /// be accepted after these moves.
    #[must_use]
    pub fn finish(mut self) -> Option<TurnSheet> {
        let battles = attacks::completion(&self.judging.table, &self.sheet)?;
        self.sheet.orders.extend(battles);
        let verdict = judge_sheet(self.game, &self.sheet);
        (verdict.verdict != Ruling::Refused).then_some(self.sheet)
    }
}

//! Verdicts, orders and news as prose.

mod agreement;
mod by_post;
mod charges;
mod figures;
mod moves;
mod news;
mod orders;
mod score;
mod sentence;
mod verdicts;

use fieldpost_rules::game::Game;

use super::places;

pub use agreement::agreed;
pub(super) use agreement::points;
pub(super) use figures::{leg_name, whose_tape};
pub use news::{event, news};
pub use orders::{leg_in_words, order_in_words, orders_in_words};
pub(super) use score::worth_of_losses;
pub use score::{attacks_due, score, situation, still_worth};
pub use verdicts::{battle_verdict, move_verdict, sheet_verdict};
pub(super) use verdicts::{sentence as reason, standing};

/// Whose turn it is, in a line.
#[must_use]
pub fn turn_line(game: &Game) -> String {
    let scenario = game.scenario();
    match game.ending() {
        Some(ending) => match &ending.winner {
            Some(side) => {
                let name = news::named(side, game);
                let has = agreed(&name, "has", "have");
                format!("The battle is over: {name} {has} won")
            }
            None => "The battle is over: a draw".to_owned(),
        },
        None => format!(
            "Game turn {} of {}, {} to move",
            game.game_turn(),
            scenario.game_turns,
            places::side_name(game, game.player())
        ),
    }
}

#[cfg(test)]
mod explained;
#[cfg(test)]
mod read_back;
#[cfg(test)]
mod sums;
#[cfg(test)]
mod tests;

//! Trials of coming, going and breaking contact, and of every setting.

mod arrivals;
mod completing;
mod leaving;
mod settings;
mod telling;
mod withdrawal;

use crate::game::Game;
use crate::orders::{Extent, Leg, Order};
use crate::referee::judge_sheet;
use crate::referee::testing::sheet;

/// `ruling headline; charge of allowance; x y bearing` of the one move that is ordered.
fn answer(game: &Game, order: Order) -> String {
    let mut orders = sheet(vec![order]);
    orders.game_turn = game.game_turn();
    orders.side = game.player_side();
    let verdict = judge_sheet(game, &orders);
    let moved = &verdict.moves[0];
    let headline = moved.reasons.first().map_or(String::new(), |reason| {
        format!(" {}", reason.code().as_str())
    });
    let end = moved.end.map_or("nowhere".to_owned(), |end| {
        format!("{:.1} {:.1} {:.1}", end.x_mm, end.y_mm, end.bearing_deg)
    });
    format!(
        "{}{headline}; {:.1} of {:.1}; {end}",
        moved.verdict.word(),
        moved.charge_mm,
        moved.allowance_mm
    )
}

fn forward(distance_mm: f64) -> Leg {
    Leg::Forward {
        distance_mm: Extent::Exactly(distance_mm),
    }
}

fn back(distance_mm: f64) -> Leg {
    Leg::Back {
        distance_mm: Extent::Exactly(distance_mm),
    }
}

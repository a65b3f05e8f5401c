//! The table as the orders of a sheet find it, one after another: what each was measured on.

use crate::game::{Cause, Game, State};
use crate::geometry::Pose;
use crate::orders::{Order, TurnSheet};
use crate::verdict::{MoveVerdict, Ruling, SheetVerdict};

/// The table that an order of a judged sheet was measured on, counted from 0: every move, arrival and departure
/// ordered before it is supposed made, a refused one as far as it is legal. Battles are measured after every move,
/// on what [`table_after_moves`] gives.
#[must_use]
pub fn table_before(game: &Game, sheet: &TurnSheet, verdict: &SheetVerdict, order: usize) -> Game {
    let mut table = game.clone();
    for moved in verdict.moves.iter().filter(|moved| moved.order < order) {
        suppose(&mut table, sheet.orders.get(moved.order), moved);
    }
    table
}

/// The table that the battles of a judged sheet were measured on: after all its moves, arrivals and departures.
#[must_use]
pub fn table_after_moves(game: &Game, sheet: &TurnSheet, verdict: &SheetVerdict) -> Game {
    table_before(game, sheet, verdict, usize::MAX)
}

/// Supposes a judged order carried out: a move to where it ends, or to its furthest legal place when it is refused,
/// so that what follows is judged as near to what was meant as can be.
pub(super) fn suppose(table: &mut Game, order: Option<&Order>, moved: &MoveVerdict) {
    let is_refused = moved.verdict == Ruling::Refused;
    if let Some(Order::Leave { .. }) = order {
        if !is_refused {
            table.suppose(&moved.unit, State::Gone(Cause::Exited), moved.files);
        }
        return;
    }
    let furthest = || {
        let place = moved.furthest?;
        Pose::from_mm_deg(place.x_mm, place.y_mm, place.bearing_deg)
    };
    let pose = match moved.end_pose {
        // nothing was measured: the unit stays where it is
        None if moved.legs.is_empty() => None,
        _ if is_refused => furthest(),
        end => end,
    };
    if let Some(pose) = pose {
        table.suppose(&moved.unit, State::Standing(pose), moved.files);
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::referee::judge_sheet;
    use crate::referee::testing::sheet;
    use crate::referee::turn::judge;
    use crate::referee::wild::{Draws, wild_game, wild_orders};

    /// What is drawn is what was measured on: the table that judging left, to the bit, whatever was refused.
    #[test]
    fn the_table_after_the_moves_is_the_one_that_judging_left() {
        let mut moved = 0;
        for seed in 0..60 {
            let mut draws = Draws::new(seed);
            let game = wild_game(&mut draws);
            let sheet = sheet(wild_orders(&mut draws, &game));
            let (verdict, table) = judge(&game, &sheet);
            let told = table_after_moves(&game, &sheet, &verdict);
            assert_eq!(told, table, "seed {seed}");
            assert_eq!(verdict, judge_sheet(&game, &sheet));
            moved += usize::from(table != game);
            // each order was measured on what those before it left: alone on that table it is told the same
            for (index, order) in sheet.orders.iter().enumerate() {
                let before = table_before(&game, &sheet, &verdict, index);
                for unit in order.units() {
                    let stood = game.unit(unit).map(|unit| &unit.state);
                    assert_eq!(
                        before.unit(unit).map(|unit| &unit.state),
                        stood,
                        "seed {seed}"
                    );
                }
            }
        }
        assert!(moved > 40, "{moved}");
    }
}

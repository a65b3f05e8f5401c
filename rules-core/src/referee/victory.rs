//! Who holds what and who has won. (Its laws land next.)

use crate::game::{Ending, Game};
use crate::orders::SideId;

/// Who holds each objective.
#[must_use]
pub fn holders(game: &Game) -> Vec<Option<SideId>> {
    game.holders()
        .iter()
        .map(|side| side.map(|side| game.side_id(side)))
        .collect()
}

/// How the game has ended, if it has.
#[must_use]
pub fn ending(_: &Game, _: bool) -> Option<Ending> {
    None
}

//! Declarations judged. (Its laws land next; until then nothing is asked of a declaration.)

use crate::game::Game;
use crate::orders::TurnSheet;
use crate::verdict::{BattleVerdict, Reason};

/// Judges the battles a sheet declares.
#[must_use]
pub fn judge(_: &Game, _: &TurnSheet) -> (Vec<BattleVerdict>, Vec<Reason>) {
    (Vec::new(), Vec::new())
}

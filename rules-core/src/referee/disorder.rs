//! Disorder. (Its law lands next.)

use crate::game::{Event, Game};

/// Units that shed a turn of disorder as the player turn ends.
#[must_use]
pub fn recovered(_: &Game) -> Vec<Event> {
    Vec::new()
}

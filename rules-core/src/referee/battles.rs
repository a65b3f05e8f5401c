//! Battles fought. (Its laws land next.)

use crate::dice::Throws;
use crate::game::{Event, Game, Standing};
use crate::orders::{Instructions, TurnSheet};

/// What came of a sheet's battles.
#[derive(Debug, Default)]
pub struct Fought {
    /// Events in order, already applied.
    pub events: Vec<Event>,
    /// What waiting units had been told when asked.
    pub asked: Vec<Standing>,
}

/// Fights the battles of a sheet.
pub fn fight(_: &mut Game, _: &TurnSheet, _: &Instructions, _: &mut Throws) -> Fought {
    Fought::default()
}

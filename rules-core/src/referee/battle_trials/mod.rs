//! Trials of the battle laws: one line a ruling, worked fights, properties over random tables.

mod fights;
mod rulings;
mod strings;
mod weights;
mod winning;

//! Trials of the battle laws: one line a ruling, worked fights, properties over random tables.

mod crowds;
mod fights;
mod mirrors;
mod optional_laws;
mod properties;
mod rulings;
mod strings;
mod ties;
mod weights;
mod winning;

//! What trials of several crates need.

pub mod postgres;
pub mod programs;
pub mod receivers;

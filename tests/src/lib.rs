//! What trials of several crates need.

pub mod postgres;

//! The same trials as in `main.rs` with the games kept in PostgreSQL: all of them but those of connections,
//! the demonstration and a file's own.
//!
//! Where there is no PostgreSQL this says so, loudly, and ends.

mod at_hand;
mod clocks;
mod games;
#[allow(dead_code, reason = "some of it serves trials in main.rs only")]
mod host;
mod hostile;
mod instructions;
mod keeping;
mod members;
mod notices;
mod reading;
mod restart;
mod seats;
mod secrets;
mod sheets;
mod watching;

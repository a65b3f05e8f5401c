//! The same tests as in `main.rs` with the games kept in PostgreSQL: all of them but those of connections,
//! the demonstration and a file's own.
//!
//! Where there is no PostgreSQL this says so, loudly, and ends.

mod browser;
mod cache;
mod clocks;
mod drafts;
mod drawings;
mod event_stream;
mod games;
#[allow(dead_code, reason = "some of it serves tests in main.rs only")]
mod host;
mod hostile;
mod instructions;
mod maintenance;
mod members;
mod middleware;
mod notices;
mod reads;
mod restart;
mod seats;
mod secrets;
mod sessions;
mod sheets;
mod signed;

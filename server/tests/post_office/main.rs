//! The real server, started on a free port and driven over real HTTP.

mod at_hand;
mod clocks;
mod connections;
mod demonstration;
mod files;
mod games;
mod host;
mod hostile;
mod instructions;
mod keeping;
mod limits;
mod members;
mod notices;
mod reading;
mod restart;
mod rude;
mod seats;
mod secrets;
mod sheets;
#[cfg(unix)]
mod tls;
mod watching;
